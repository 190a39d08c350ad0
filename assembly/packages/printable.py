"""Whether the label of a package can be printed, asked before it is on record.

Labels are drawn by an app above this one: it registers here when it starts.
"""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest

from assembly.ledger import Refused
from assembly.models import Package
from assembly.persons import STOCK

WHY_NOT: list[Callable[[Package, str], str]] = []
"""Each says why a package has no label on the stock of this key; "" where it has one."""

LABEL_SIZES: list[Callable[[str], tuple[float, float]]] = []
"""Each says how wide and high (mm) a label of the stock of this key is."""


def label_size(request: HttpRequest) -> tuple[float, float] | None:
    """The size of the labels that this workstation prints (mm); None where nothing prints any."""
    stock = request.COOKIES.get(STOCK, "")
    return next((size(stock) for size in LABEL_SIZES), None)


def check_printable(package: Package, stock: str) -> None:
    """Refused where its label cannot be drawn on the workstation's ``stock``: a package without
    one is found by no scan."""
    for why_not in WHY_NOT:
        if words := why_not(package, stock):
            raise Refused(f"{words} Nothing was recorded.")

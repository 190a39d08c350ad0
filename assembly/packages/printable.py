"""Whether the label of a package can be printed, asked before it is on record.

Labels are drawn by an app above this one: it registers here when it starts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from assembly.ledger import Refused
from assembly.models import Package
from assembly.persons import STOCK
from assembly.rules.policy.values import Policy

WHY_NOT: list[Callable[[Package, str], str]] = []
"""Each says why a package has no label on the stock of this key; "" where it has one."""

LABEL_SIZES: list[Callable[[str], tuple[float, float]]] = []
"""Each says how wide and high (mm) a label of the stock of this key is."""


@dataclass(frozen=True, slots=True)
class NoPlace:
    """Why a label of the workstation's stock does not stick on what is taken; the stocks that do,
    each with its key and name."""

    why: str
    fit: tuple[tuple[str, str], ...]


NO_PLACE: list[Callable[[Sequence[dict[str, Any]], str, Policy], NoPlace | None]] = []
"""Each says it of supplies on record and the stock of this key; None where its labels stick."""


def no_place(
    request: HttpRequest, around: Sequence[dict[str, Any]], policy: Policy
) -> NoPlace | None:
    """Why this workstation's labels do not stick ``around`` it, before a check is answered."""
    stock = request.COOKIES.get(STOCK, "")
    return next((found for one in NO_PLACE if (found := one(around, stock, policy))), None)


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

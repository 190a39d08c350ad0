"""Whether the label of a package can be printed, asked before it is on record.

Labels are drawn by an app above this one: it registers here when it starts.
"""

from __future__ import annotations

from collections.abc import Callable

from assembly.ledger import Refused
from assembly.models import Package

WHY_NOT: list[Callable[[Package, str], str]] = []
"""Each says why a package has no label on the stock of this key; "" where it has one."""


def check_printable(package: Package, stock: str) -> None:
    """Refused where its label cannot be drawn on the workstation's ``stock``: a package without
    one is found by no scan."""
    for why_not in WHY_NOT:
        if words := why_not(package, stock):
            raise Refused(f"{words} Nothing was recorded.")

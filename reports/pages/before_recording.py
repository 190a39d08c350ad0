"""The label of what is to be recorded, tried on the workstation's stock before it is."""

from __future__ import annotations

from assembly.models import Package
from assembly.packages.printable import WHY_NOT
from reports.drawing.fitting import PrintRefused
from reports.gathering.labels.packages import fitting_label
from reports.pages.workstation import stock_named


def why_no_label(package: Package, stock: str) -> str:
    """Why its label does not fit there, and what to do; "" where it does. What only has to be
    filled in is asked for when it is printed."""
    try:
        fitting_label(package, stock_named(stock), stuck=bool(stock))
    except PrintRefused as problem:
        return f"Its label cannot be printed. {problem.field.capitalize()}: {problem.reason}"
    return ""


WHY_NOT.append(why_no_label)

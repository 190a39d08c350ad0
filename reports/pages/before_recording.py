"""The label of what is to be recorded, tried on the workstation's stock before it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assembly.models import Package
from assembly.packages.printable import NoPlace
from assembly.rules.policy.values import Policy
from reports.drawing.fitting import PrintRefused
from reports.gathering.labels.packages import film_around, fitting_label, no_place_on
from reports.pages.workstation import OUT_OF_USE, stock_named


def why_no_label(package: Package, stock: str) -> str:
    """Why its label does not fit there, and what to do; "" where it does. What only has to be
    filled in is asked for when it is printed."""
    on = stock_named(stock)
    if stock and on.key != stock:
        return OUT_OF_USE.format(key=stock)
    try:
        fitting_label(package, on)
    except PrintRefused as problem:
        return (f"Its label cannot be printed. {problem.field.capitalize()}: {problem.reason} "
                "The page Papers keeps another stock for this workstation.")  # fmt: skip
    return ""


def label_size(stock: str) -> tuple[float, float]:
    """How wide and high a label of this stock is (mm), of the common one where it is none."""
    on = stock_named(stock)
    return on.width_mm, on.height_mm


def no_place(around: Sequence[dict[str, Any]], stock: str, policy: Policy) -> NoPlace | None:
    """Why a label of this stock does not stick on what is ``around`` it."""
    return no_place_on(stock_named(stock), film_around(around), policy)

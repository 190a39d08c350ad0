"""What the rules about room are held to: distances in a pouch, the least sheet that closes."""

from __future__ import annotations

import math


def sheet_clearance(opened_width: float, width: float, height: float) -> float:
    """Sheet left at each side once it has run down to mid-height (mm): what the rule asks.

    >>> sheet_clearance(100, 20, 8)
    36.0
    """
    return (opened_width - width - height) / 2


def ruler_distance(opened_width: float, width: float) -> float:
    """Distance from the instrument to each seal, on the sheet laid flat (mm).

    >>> ruler_distance(100, 20)
    40.0
    """
    return (opened_width - width) / 2


def seal_distance_midheight(opened_width: float, width: float, height: float) -> float | None:
    """Level distance from instrument to seal, the seal at mid-height (mm); None: too tight.

    >>> round(seal_distance_midheight(100, 20, 8), 1)
    39.8
    """
    return _leg(ruler_distance(opened_width, width), height / 2)


def seal_distance_on_table(opened_width: float, width: float, height: float) -> float | None:
    """The same with the seal lying on the table, the upper sheet taut (mm); None: too tight.

    >>> round(seal_distance_on_table(100, 20, 8), 1)
    39.2
    """
    return _leg(ruler_distance(opened_width, width), height)


def _leg(sheet: float, rise: float) -> float | None:
    return None if sheet < rise else math.sqrt(sheet * sheet - rise * rise)


def closure_side(length: float, width: float, height: float, overlap: float = 0.0) -> float:
    """Side (mm) of the least square sheet that closes at all, folded as an envelope.

    A cube of edge 1 needs 2 x root 2 (American Mathematical Monthly, problem 10716).

    >>> round(closure_side(1, 1, 1), 6)
    2.828427
    """
    return (length + width + 2 * height) / math.sqrt(2) + overlap


def square_closure(
    length: float, width: float, height: float, overlap: float = 0.0
) -> tuple[float, float]:
    """The least sheet (mm) that closes at all in the square fold: round the pack, along it.

    >>> square_closure(480, 250, 50)
    (600.0, 530.0)
    """
    return 2.0 * (width + height) + overlap, float(length + height) + overlap

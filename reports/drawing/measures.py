"""Millimetres, points and printer dots.

Drawings are planned in PDF points (1/72 inch) and described in millimetres.
"""

from __future__ import annotations

import math

MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0
_ALMOST = 1e-6


def points(mm: float) -> float:
    """``mm`` millimetres in points.

    >>> round(points(25.4), 6)
    72.0
    """
    return mm * POINTS_PER_INCH / MM_PER_INCH


def millimetres(pt: float) -> float:
    """``pt`` points in millimetres.

    >>> round(millimetres(72), 6)
    25.4
    """
    return pt * MM_PER_INCH / POINTS_PER_INCH


def dots_mm(count: int, dpi: int) -> float:
    """The width of ``count`` printer dots in mm at ``dpi`` dots per inch.

    >>> round(dots_mm(4, 203), 3)
    0.5
    """
    return count * MM_PER_INCH / dpi


def down_to_dot(pt: float, dpi: int) -> float:
    """``pt`` points, lowered to a whole printer dot; a whole dot stays where it is.

    >>> down_to_dot(1.0, 72), down_to_dot(1.9, 72)
    (1.0, 1.0)
    """
    dot = POINTS_PER_INCH / dpi
    return math.floor(pt / dot + _ALMOST) * dot

"""Whether a rectangle goes into another, turned as need be.

A rectangle that is longer than the other may still go in at an angle; how long it may be is
known exactly (Carver 1957; Wetzel, Mathematics Magazine 73, 2000). Real instruments have
width and reach less far than the bare diagonal.
"""

from __future__ import annotations

import math

from assembly.rules.findings import CLOSE_MM, CLOSE_RATIO


def fits_at_any_angle(p: float, q: float, long: float, wide: float) -> bool:
    """Whether a rectangle ``p`` x ``q`` goes into ``long`` x ``wide``, turned as need be.

    All in one unit; the order of the sides does not matter; equal fits. Exact in both
    directions. Source: Carver 1957; Wetzel, Mathematics Magazine 73 (2000).

    >>> fits_at_any_angle(520, 20, 480, 250), fits_at_any_angle(530, 20, 480, 250)
    (True, False)
    """
    p, q = max(p, q), min(p, q)
    long, wide = max(long, wide), min(long, wide)
    if q > wide + CLOSE_MM:
        return False
    if p <= long + CLOSE_MM:
        return True
    return ((long + wide) / (p + q)) ** 2 + ((long - wide) / (p - q)) ** 2 >= 2 - CLOSE_RATIO


def longest_at_any_angle(q: float, long: float, wide: float) -> float:
    """The longest rectangle of width ``q`` that goes into ``long`` x ``wide`` at some angle.

    0 where ``q`` is wider than the container. Found by halving, to a thousandth.

    >>> round(longest_at_any_angle(20, 480, 250), 1), round(longest_at_any_angle(0, 480, 250), 1)
    (525.2, 541.2)
    """
    if q > min(long, wide) + CLOSE_MM:
        return 0.0
    least, most = max(long, wide), math.hypot(long, wide)
    while most - least > CLOSE_MM / 10:
        middle = (least + most) / 2
        if fits_at_any_angle(middle, q, long, wide):
            least = middle
        else:
            most = middle
    return least


def angle_in(length: float, width: float, long: float, wide: float) -> float | None:
    """The angle (radians) at which a rectangle lies in another: 0 straight, None at none.

    In the middle of the angles at which it does. Worked by hand: with the diagonal r at an angle
    a to its length it needs r cos(angle - a) along and r sin(angle + a) across.

    >>> angle_in(200, 50, 400, 250), angle_in(530, 20, 480, 250)
    (0.0, None)
    >>> round(math.degrees(angle_in(520, 20, 480, 250)))
    26
    """
    if length <= long + CLOSE_MM and width <= wide + CLOSE_MM:
        return 0.0
    if not fits_at_any_angle(length, width, long, wide):
        return None
    if length < width or long < wide:
        turned = (width, length, long, wide) if length < width else (length, width, wide, long)
        other = angle_in(*turned)
        return None if other is None else math.pi / 2 - other
    reach, own = math.hypot(length, width), math.atan2(width, length)
    least = own + math.acos(min(long / reach, 1.0))
    most = math.asin(min(wide / reach, 1.0)) - own
    return (least + most) / 2

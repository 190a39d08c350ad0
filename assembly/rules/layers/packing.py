"""Rectangles beside each other in one layer: shelves and the largest free rectangles.

Sizes in mm, each piece with its gap in it already. Textbook heuristics: shelves first fit
decreasing; MaxRects by the shorter side left over (Jylänki 2010, as commonly told). None is
reliable alone, so that several are tried (:mod:`layers`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from assembly.rules.findings import CLOSE_MM

Item = tuple[int, float, float]
"""Which piece, how long and how wide."""
Laid = tuple[int, float, float, bool]
"""Which piece, its corner, whether it lies across."""
Free = tuple[float, float, float, float]
"""A free rectangle: its corner, how long and how wide."""


@dataclass(frozen=True, slots=True)
class Way:
    """One heuristic with the order in which it takes pieces."""

    lay: Callable[[Sequence[Item], float, float, bool], list[Laid]]
    order: Callable[[float, float], float]
    turns: bool
    tallest_first: bool


def shelves(items: Sequence[Item], long: float, wide: float, turns: bool) -> list[Laid]:
    """Pieces on shelves across the layer, each on the first with room for it.

    >>> [which for which, *_ in shelves([(n, 240, 125) for n in range(5)], 480, 250, False)]
    [0, 1, 2, 3]
    """
    found: list[Laid] = []
    rows: list[tuple[float, float, float]] = []  # where it begins, used up to, how wide
    for which, length, width in items:
        top = rows[-1][0] + rows[-1][2] if rows else 0.0
        places = (
            (n, start, used, a, b, across)
            for n, (start, used, deep) in enumerate([*rows, (top, 0.0, wide - top)])
            for a, b, across in _ways(length, width, turns)
            if used + a <= long + CLOSE_MM and b <= deep + CLOSE_MM
        )
        if place := next(places, None):
            n, start, used, a, b, across = place
            found.append((which, used, start, across))
            rows[n : n + 1] = [(start, used + a, rows[n][2] if n < len(rows) else b)]
    return found


def _ways(length: float, width: float, turns: bool) -> list[tuple[float, float, bool]]:
    return [(length, width, False), (width, length, True)][: 2 if turns else 1]


def max_rects(items: Sequence[Item], long: float, wide: float, turns: bool) -> list[Laid]:
    """Each piece into the free rectangle that it fills best along one side."""
    free: list[Free] = [(0.0, 0.0, long, wide)]
    found: list[Laid] = []
    too_large: set[tuple[float, float]] = set()
    for which, length, width in items:
        if (length, width) in too_large:
            continue
        best = None
        for a, b, across in _ways(length, width, turns):
            for x, y, w, h in free:
                over_x, over_y = w - a, h - b
                if over_x >= -CLOSE_MM and over_y >= -CLOSE_MM:
                    key = (min(over_x, over_y), max(over_x, over_y), y, x, across, a, b)
                    if best is None or key < best:
                        best = key
        if best is None:
            too_large.add((length, width))
            continue
        _, _, y, x, across, a, b = best
        found.append((which, x, y, across))
        free = _left(free, (x, y, a, b))
    return found


def _left(free: Sequence[Free], taken: Free) -> list[Free]:
    """The free rectangles without what is taken, none inside another.

    One that nothing was taken of lies in no part of another: only the parts are looked at.
    """
    x, y, w, h = taken
    right, bottom = x + w, y + h
    whole: list[Free] = []
    parts: dict[Free, None] = {}
    for one in free:
        a, b, c, d = one
        if (x >= a + c - CLOSE_MM or a >= right - CLOSE_MM
                or y >= b + d - CLOSE_MM or b >= bottom - CLOSE_MM):  # fmt: skip
            whole.append(one)
            continue
        for part in ((a, b, x - a, d), (right, b, a + c - right, d),
                     (a, b, c, y - b), (a, bottom, c, b + d - bottom)):  # fmt: skip
            if part[2] > CLOSE_MM and part[3] > CLOSE_MM:
                parts[part] = None
    every = [*whole, *parts]
    for part in parts:
        if not any(other != part and _inside(part, other) for other in every):
            whole.append(part)
    return whole


def _inside(one: Free, other: Free) -> bool:
    return (
        other[0] <= one[0]
        and other[1] <= one[1]
        and one[0] + one[2] <= other[0] + other[2]
        and one[1] + one[3] <= other[1] + other[3]
    )


def _long_side(a: float, b: float) -> float:
    return -max(a, b)


def _short_side(a: float, b: float) -> float:
    return -min(a, b)


def _area(a: float, b: float) -> float:
    return -a * b


def _round(a: float, b: float) -> float:
    return -(a + b)


WAYS = tuple(
    Way(lay, order, turns, tallest)
    for tallest in (True, False)
    for turns in (False, True)
    for lay, order in (
        (shelves, _short_side), (max_rects, _long_side), (max_rects, _area), (max_rects, _round)
    )
)  # fmt: skip
"""What is tried, in this order."""

"""What is written on a scene: dimensions, the rule, and how much room words take."""

from __future__ import annotations

from assembly.rules.drawing.shapes import CONTROL_RULE_MM, Polyline, Shape, Text
from assembly.rules.findings import Show

LETTER = 0.52
"""The mean width of a letter, as a share of its height."""


def wide(words: str, text: float) -> float:
    """About how wide words stand (mm) in letters ``text`` mm high."""
    return len(words) * text * LETTER


def bar_along(start: float, end: float, y: float, text: float) -> list[Shape]:
    """A line with a tick at either end; a heavy one where ``end`` lies before ``start``."""
    role = "dimension" if end >= start else "dimension-over"
    return [
        Polyline(((start, y), (end, y)), role),
        *(Polyline(((x, y - text * 0.3), (x, y + text * 0.3)), role) for x in (start, end)),
    ]


def dimension_along(start: float, end: float, y: float, text: float, show: Show) -> list[Shape]:
    """A length with its figure under its middle."""
    figure = Text((start + end) / 2, y + text * 1.25, show(end - start, "mm"), "figure")
    return [*bar_along(start, end, y, text), figure]


def gaps_along(
    places: tuple[float, float, float, float], limit: float, y: float, text: float, show: Show
) -> list[Shape]:
    """Room, length, room: the figures of narrow rooms stand outward, none beyond ``limit``.

    ``places`` are the ends of the three. The length's figure is left out where it has no room.
    """
    a, b, c, d = places
    shapes: list[Shape] = []
    edges = []
    for start, end, side in ((a, b, -1), (c, d, 1)):
        words = show(end - start, "mm")
        long = wide(words, text)
        middle = (start + end) / 2
        if end - start < long + text * 0.6:
            middle = b - long / 2 if side < 0 else min(c, limit - long) + long / 2
        shapes += bar_along(start, end, y, text)
        shapes.append(Text(middle, y + text * 1.25, words, "figure"))
        edges.append(middle - side * (long + text * 0.6) / 2)
    words, middle = show(c - b, "mm"), (b + c) / 2
    shapes += bar_along(b, c, y, text)
    half = wide(words, text) / 2
    if edges[0] <= middle - half and middle + half <= edges[1]:
        shapes.append(Text(middle, y + text * 1.25, words, "figure"))
    return shapes


def gap_across(x: float, top: float, bottom: float, text: float, show: Show) -> list[Shape]:
    """A distance from top to bottom, its figure at the left of it."""
    words = Text(x - text * 0.5, (top + bottom) / 2 + text * 0.35, show(bottom - top, "mm"),
                 "figure", "end")  # fmt: skip
    ticks = [
        Polyline(((x - text * 0.3, y), (x + text * 0.3, y)), "dimension") for y in (top, bottom)
    ]
    return [Polyline(((x, top), (x, bottom)), "dimension"), *ticks, words]


def control_rule(x: float, y: float, text: float, show: Show) -> list[Shape]:
    """A rule of known length, to check the scale on paper; all of it has the role "rule"."""
    return [
        Polyline(((x, y), (x + CONTROL_RULE_MM, y)), "rule"),
        *[
            Polyline(((x + at, y - text * 0.4), (x + at, y)), "rule")
            for at in (0.0, 10.0, 20.0, 30.0, 40.0, CONTROL_RULE_MM)
        ],
        Text(x + CONTROL_RULE_MM + text * 0.5, y, show(CONTROL_RULE_MM, "mm"), "rule", "start"),
    ]

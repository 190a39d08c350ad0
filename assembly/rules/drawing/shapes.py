"""Plain shapes in millimetres: what a scene is made of, for the screen and for paper alike."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

Point = tuple[float, float]
Ring = tuple[Point, ...]
Limb = tuple[float, float, float]
"""A point on the middle line of a limb, and half of its width there (mm)."""

CONTROL_RULE_MM = 50.0
"""Length of the rule drawn in every scene, to check a print against."""
LINE = 26
"""A scene is so many letter heights wide: what is read at 320 px is then 10 px high."""
STEPS = 4
LARGE_CORNER_MM = 8.0
STEPS_OF_A_CIRCLE = (12, 48)
"""The fewest and the most corners of a circle, by its size."""


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    width: float
    height: float
    role: str
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed shape; each ring after the first is a hole in it."""

    rings: tuple[Ring, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Polyline:
    points: Ring
    role: str


@dataclass(frozen=True, slots=True)
class Text:
    x: float
    y: float
    words: str
    role: str
    anchor: str = "middle"


Outline = Polygon | Polyline
Shape = Rect | Polygon | Polyline | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """Shapes in drawing order on a sheet of ``width`` x ``height`` mm, with its words.

    ``lettering`` is the height of its letters (mm), ``legend`` what its caption says,
    ``layer`` which layer of a set it shows, from the bottom; 0 for anything else.
    """

    width: float
    height: float
    lettering: float
    shapes: tuple[Shape, ...]
    title: str
    description: str
    legend: tuple[str, ...] = ()
    layer: int = 0


def bounds(shapes: Iterable[Outline]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom (mm) of outlines."""
    points = [point for shape in shapes for point in points_of(shape)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def points_of(shape: Outline) -> Ring:
    """Every corner of an outline."""
    if isinstance(shape, Polyline):
        return shape.points
    return tuple(point for ring in shape.rings for point in ring)


def mapped(shapes: Iterable[Outline], to: Callable[[float, float], Point]) -> list[Outline]:
    """The outlines with each point where ``to`` puts it."""
    return [
        replace(shape, points=tuple(to(x, y) for x, y in shape.points))
        if isinstance(shape, Polyline)
        else replace(shape, rings=tuple(tuple(to(x, y) for x, y in one) for one in shape.rings))
        for shape in shapes
    ]


def stretched(shapes: Sequence[Outline], length: float, width: float) -> list[Outline]:
    """The outlines made exactly ``length`` x ``width`` (mm), their corner at 0, 0."""
    left, top, right, bottom = bounds(shapes)
    along, across = length / ((right - left) or 1), width / ((bottom - top) or 1)
    return mapped(shapes, lambda x, y: ((x - left) * along, (y - top) * across))


def smooth(knots: Sequence[tuple[float, ...]], closed: bool = False) -> list[tuple[float, ...]]:
    """A curve through the knots, as points close together (Catmull and Rom's spline).

    >>> len(smooth([(0, 0), (10, 5), (20, 0)]))
    9
    """
    if len(knots) < 3:
        return list(knots)
    count = len(knots)
    found: list[tuple[float, ...]] = []
    for n in range(count if closed else count - 1):
        near = [(n + k) % count if closed else min(max(n + k, 0), count - 1) for k in range(-1, 3)]
        a, b, c, d = (knots[place] for place in near)
        for step in range(STEPS):
            t = step / STEPS
            found.append(tuple(_between(t, *four) for four in zip(a, b, c, d, strict=True)))
    return found if closed else [*found, tuple(knots[-1])]


def curve(knots: Sequence[Point], closed: bool = False) -> Ring:
    """The points of a smooth curve through the knots."""
    return tuple((x, y) for x, y, *_ in smooth(knots, closed))


def _between(t: float, a: float, b: float, c: float, d: float) -> float:
    return b + t * ((c - a) + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a))) / 2


def limb(spine: Sequence[Limb], role: str = "instrument") -> Polygon:
    """A smooth, tapered bar round a middle line, its ends round."""
    line = smooth(spine)
    left, right = [], []
    for n, (x, y, half) in enumerate(line):
        (x0, y0, _), (x1, y1, _) = line[max(n - 1, 0)], line[min(n + 1, len(line) - 1)]
        far = math.hypot(x1 - x0, y1 - y0) or 1.0
        across, along = (y1 - y0) / far * half, (x1 - x0) / far * half
        left.append((x + across, y - along))
        right.append((x - across, y + along))
    start, end = _cap(line[1], line[0]), _cap(line[-2], line[-1])
    return Polygon(((*start, *left, *end, *reversed(right)),), role)


def _cap(before: tuple[float, ...], end: tuple[float, ...]) -> list[Point]:
    """The points that round the end of a limb, seen from the middle line its left one first."""
    x, y, half = end
    heading = math.atan2(y - before[1], x - before[0])
    turns = [heading + side * math.pi / 4 for side in (-1, 0, 1)]
    return [(x + half * 0.9 * math.cos(turn), y + half * 0.9 * math.sin(turn)) for turn in turns]


def oval(x: float, y: float, rx: float, ry: float) -> Ring:
    """The points of an ellipse round ``x``, ``y``."""
    least, most = STEPS_OF_A_CIRCLE
    count = min(max(least, round(5.5 * math.sqrt(max(abs(rx), abs(ry))))), most)
    turns = [2 * math.pi * n / count for n in range(count)]
    return tuple((x + rx * math.cos(turn), y + ry * math.sin(turn)) for turn in turns)


def disc(x: float, y: float, rx: float, ry: float, role: str = "instrument") -> Polygon:
    return Polygon((oval(x, y, rx, ry),), role)


def hoop(x: float, y: float, rx: float, ry: float, thick: float) -> Polygon:
    """A ring with an open middle: what a finger goes through."""
    return Polygon((oval(x, y, rx, ry), oval(x, y, rx - thick, ry - thick)), "instrument")


def block(x: float, y: float, width: float, height: float, role: str = "instrument",
          corner: float = 0.0) -> Polygon:  # fmt: skip
    """A box, its corners rounded by ``corner`` mm."""
    right, bottom = x + width, y + height
    middles = ((x + corner, y + corner, 2), (right - corner, y + corner, 3),
               (right - corner, bottom - corner, 0), (x + corner, bottom - corner, 1))  # fmt: skip
    count = 0 if not corner else 2 if corner < LARGE_CORNER_MM else 4
    points = [
        (a + corner * math.cos(turn), b + corner * math.sin(turn))
        for a, b, quarter in middles
        for turn in (math.pi / 2 * (quarter + n / (count or 1)) for n in range(count + 1))
    ]
    return Polygon((tuple(points),), role)

"""Instruments laid in a place: the outline of each, as it lies, in the room it takes up."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from assembly.rules.drawing.forms import outline_of
from assembly.rules.drawing.looks import look_of
from assembly.rules.drawing.shapes import Outline, Point, Rect, Shape, block, mapped, points_of
from assembly.rules.facts.instruments import Instrument

GAP_SHARE = 0.1
"""The gap drawn between instruments side by side, as a share of the pitch."""
OUTLINE_NOT_KNOWN = "outline not known"
NOT_KNOWN = "Outline not known: drawn as the room that it takes up."
SCHEMATIC = "The outline is schematic, its size to scale."
SAMPLE_MM = 4.0


@dataclass(frozen=True, slots=True)
class Lain:
    """An instrument as it lies: ``across`` what holds it, ``turned`` on its side.

    Its sizes are those that it takes up so, of all its pieces together (mm).
    """

    item: Instrument
    length: float
    width: float
    across: bool = False
    turned: bool = False

    @property
    def quarter_turned(self) -> Lain:
        """The same lying across instead of along, or the other way."""
        return replace(self, length=self.width, width=self.length, across=not self.across)

    @property
    def known(self) -> bool:
        """Whether its outline is known."""
        return look_of(self.item) is not None

    @property
    def legend(self) -> str:
        """What a caption says of its outline."""
        return SCHEMATIC if self.known else NOT_KNOWN

    def at(self, x: float, y: float) -> list[Shape]:
        """The room it takes up, with its outlines in it, the corner at ``x``, ``y``."""
        return [Rect(x, y, self.length, self.width, "box"), *self.outlines(x, y)]

    def outlines(self, x: float, y: float) -> list[Outline]:
        """The outline of each piece, side by side."""
        along, wide = (self.width, self.length) if self.across else (self.length, self.width)
        pitch = wide / (self.item.pieces - GAP_SHARE) if self.item.pieces > 1 else wide
        each = pitch * (1 - GAP_SHARE) if self.item.pieces > 1 else wide
        found: list[Outline] = []
        for n in range(self.item.pieces):
            one = self._one(along, each)
            found += mapped(one, lambda a, b, n=n: self._placed(a, b + n * pitch, x, y))  # type: ignore[misc]
        return found

    def _placed(self, along: float, across: float, x: float, y: float) -> Point:
        return (x + across, y + along) if self.across else (x + along, y + across)

    def _one(self, length: float, width: float) -> Sequence[Outline]:
        look = look_of(self.item)
        if look is None:
            return [block(0, 0, length, width, "unknown", min(length, width) * 0.1)]
        return outline_of(look, length, width, self.turned)


def lain(item: Instrument, across: bool = False, turned: bool = False) -> Lain | None:
    """An instrument as it lies with the sizes that it has so; None where one is unknown."""
    if item.length_mm is None or item.width_mm is None:
        return None
    return Lain(item, item.length_mm, item.width_mm, across, turned)


def rotated(piece: Lain, x: float, y: float, angle: float) -> list[Outline]:
    """The piece round its middle ``x``, ``y``, turned by ``angle`` radians, with its room."""
    cos, sin = math.cos(angle), math.sin(angle)
    room = block(0, 0, piece.length, piece.width, "box")
    middle = (piece.length / 2, piece.width / 2)

    def to(a: float, b: float) -> Point:
        a, b = a - middle[0], b - middle[1]
        return x + a * cos - b * sin, y + a * sin + b * cos

    return mapped([room, *piece.outlines(0, 0)], to)


def free_spot(
    room: Rect, long: float, thick: float, near: Point, outlines: Iterable[Outline],
    clear: float | None = None,
) -> Point | None:  # fmt: skip
    """The corner of the place nearest to ``near`` in ``room`` that no outline reaches (mm).

    For what lies beside an instrument, ``long`` x ``thick`` mm, ``clear`` of it (usually a third
    of its thickness). None where there is none.
    """
    edges = sorted(point for shape in outlines for point in _along(points_of(shape)))
    columns, heights = [a for a, _ in edges], [b for _, b in edges]
    steps_x, steps_y = 24, 16
    places = sorted(
        (
            (
                room.x + (room.width - long) * i / steps_x,
                room.y + (room.height - thick) * j / steps_y,
            )
            for i in range(steps_x + 1)
            for j in range(steps_y + 1)
        ),
        key=lambda at: (math.dist((at[0] + long / 2, at[1] + thick / 2), near), at),
    )
    if room.width < long or room.height < thick:
        return None
    margin = thick * 0.3 if clear is None else clear

    def free(at: Point) -> bool:
        x, y = at
        first, last = bisect_right(columns, x - margin), bisect_left(columns, x + long + margin)
        return not any(
            y - margin < b < y + thick + margin for b in heights[first:last]
        ) and not _covered((x + long / 2, y + thick / 2), outlines)

    return next((at for at in places if free(at)), None)


def strip(room: Rect, near: Point, outlines: Sequence[Outline], text: float) -> list[Shape]:
    """An indicator strip in ``room`` near a point, under no part of the outlines: smaller where
    it has to be, empty without a place."""
    for share in (1.0, 0.75, 0.5):
        long, thick = text * 3.4 * share, text * 0.9 * share
        if place := free_spot(room, long, thick, near, outlines):
            x, y = place
            bar = Rect(x + long * 0.68, y + thick * 0.22, long * 0.24, thick * 0.56, "mark")
            return [Rect(x, y, long, thick, "indicator", thick * 0.2), bar]
    return []


def _along(points: Sequence[Point]) -> list[Point]:
    """Points along a closed line, none farther from the next than the sample."""
    found: list[Point] = []
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        count = math.ceil(math.dist((x0, y0), (x1, y1)) / SAMPLE_MM)
        if count < 2:
            found.append((x0, y0))
            continue
        found += [(x0 + (x1 - x0) * n / count, y0 + (y1 - y0) * n / count) for n in range(count)]
    return found


def _covered(point: Point, outlines: Iterable[Outline]) -> bool:
    """Whether a point lies in one of the closed outlines, not in its holes."""
    x, y = point
    for shape in outlines:
        rings = getattr(shape, "rings", ())
        crossings = sum(
            (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
            for ring in rings
            for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True)
        )
        if crossings % 2:
            return True
    return False

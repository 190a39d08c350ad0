"""A container from the side: what stands in it, level by level, under its lid.

The inside is to scale. Lid, locks and label holder show that they are there, not their size.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assembly.rules.drawing.shapes import Polyline, Rect, Shape, Text
from assembly.rules.findings import Show

CAPTION, LID = 2.2, 0.5
"""In letter heights: from the drawing above down to the lid, and the lid."""
NUMBERED = 0.9
"""A level is numbered where it is so many letter heights high."""
SIDE = "Below: from the side, the inside to scale; black: the locks."
HOLDER = "Lined, at the end: the label holder; where it sits, the container's maker says."

Standing = tuple[float, float, float]
"""Where a piece begins, from the left end of the inside, how long it is and how high (mm)."""


@dataclass(frozen=True, slots=True)
class Side:
    """The inside of a container (mm) with its levels from the bottom up."""

    long: float
    high: float
    levels: tuple[tuple[Standing, ...], ...]
    basket: tuple[float, float, float] | None = None

    @property
    def under_the_lid(self) -> list[tuple[float, float, tuple[Standing, ...]]]:
        """Each level that stands under the lid on those below it: from where, to where, what."""
        found, low = [], 0.0
        for level in self.levels:
            high = low + max((tall for *_, tall in level), default=0.0)
            if high > self.high:
                break
            found.append((low, high, level))
            low = high
        return found

    def height(self, text: float) -> float:
        """How high its drawing is (mm) in letters ``text`` mm high."""
        return (CAPTION + LID) * text + self.high

    @property
    def words(self) -> tuple[str, ...]:
        """What the caption says of it."""
        drawn, every = len(self.under_the_lid), len(self.levels)
        left_out = f"From the side {drawn} of {every} layers: no more of them go under the lid."
        return (SIDE, left_out) if drawn < every else (SIDE,)


def side_view(side: Side, left: float, top: float, text: float, show: Show) -> list[Shape]:
    """The container from the side, its inside beginning at ``left``, all of it under ``top``."""
    lid = top + CAPTION * text
    floor = lid + LID * text + side.high
    lock = Rect(0, 0, text * 0.4, text * 0.9, "mark")
    return [
        Text(left, lid - text * 0.5, f"from the side, inside {show(side.high, 'mm')} high", "word",
             "start"),
        Rect(left, lid + LID * text, side.long, side.high, "paper"),
        Rect(left, lid, side.long, LID * text, "paper"),
        *(_at(lock, x, lid + text * 0.25) for x in (left - lock.width, left + side.long)),
        *_basket(side, left, floor),
        *(shape for n, one in enumerate(side.under_the_lid, 1)
          for shape in _level(n, one, side, (left, floor), text)),
    ]  # fmt: skip


def _at(rect: Rect, x: float, y: float) -> Rect:
    return Rect(x, y, rect.width, rect.height, rect.role)


def _basket(side: Side, left: float, floor: float) -> Iterator[Shape]:
    if side.basket:
        start, long, high = side.basket
        high = min(high, side.high)
        yield Rect(left + start, floor - high, long, high, "basket")


def _level(
    n: int, level: tuple[float, float, tuple[Standing, ...]], side: Side,
    corner: tuple[float, float], text: float,
) -> Iterator[Shape]:  # fmt: skip
    """What stands on one level, and its number at the right where there are several."""
    (low, high, pieces), (left, floor) = level, corner
    for start, long, tall in pieces:
        yield Rect(left + start, floor - low - tall, long, tall, "piece")
    if low:
        yield Polyline(((left, floor - low), (left + side.long, floor - low)), "detail")
    if len(side.levels) > 1 and high - low >= NUMBERED * text:
        middle = floor - (low + high) / 2
        yield Text(left + side.long + text * 0.3, middle + text * 0.35, str(n), "figure", "start")


def label_holder(left: float, top: float, wide: float, text: float) -> list[Shape]:
    """The label holder at the end of a container drawn from above: outside, in its middle."""
    x, y = left - text * 0.95, top + wide / 2 - text * 1.5
    lines = [
        Polyline(((x + at * text, y + text * 0.4), (x + at * text, y + to * text)), "detail")
        for at, to in ((0.22, 2.6), (0.45, 1.9))
    ]
    return [Rect(x, y, text * 0.7, text * 3, "label", text * 0.1), *lines]

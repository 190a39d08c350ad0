"""Pieces of a set laid beside each other for its drawing: sizes to be seen, no plan to follow.

What is tallest lies lowest, of equally tall layers the heavier; section by section, the
largest first, each goes into the first layer with room for it. Whether all of it really lies
in the basket is not asked here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.looks import STRUNG, look_of
from assembly.rules.drawing.pieces import Lain, lain
from assembly.rules.drawing.shapes import Outline, mapped
from assembly.rules.kinds.lying import ACROSS, ON_ITS_SIDE, ways_to_lie
from assembly.rules.policy.values import Policy

GAP_MM = 3.0
STEP_MM = 15.0
LEAST_PITCH_MM = 8.0
"""How far equal pieces that overlap lie apart, where they are thinner than this."""


@dataclass(frozen=True, slots=True)
class Heap:
    """Equal pieces drawn together: one, or several overlapping as on a stringer (mm)."""

    piece: Lain
    count: int
    pitch: float

    @property
    def width(self) -> float:
        return self.piece.width + (self.count - 1) * self.pitch

    @property
    def height(self) -> float:
        """How high it stands (mm); 0 where that is not known."""
        return self.piece.item.height_mm or 0.0

    @property
    def area(self) -> float:
        return self.piece.length * self.width

    def outlines(self, x: float, y: float) -> list[Outline]:
        one = self.piece.outlines(x, y)
        return [
            shape
            for n in range(self.count)
            for shape in mapped(one, lambda a, b, n=n: (a, b + n * self.pitch))  # type: ignore[misc]
        ]


@dataclass(frozen=True, slots=True)
class Spot:
    """A heap with its corner in the basket (mm)."""

    heap: Heap
    x: float
    y: float

    @property
    def right(self) -> float:
        return self.x + self.heap.piece.length

    @property
    def bottom(self) -> float:
        return self.y + self.heap.width


@dataclass(slots=True)
class Layer:
    """One layer of a basket."""

    spots: list[Spot] = field(default_factory=list)

    @property
    def height(self) -> float:
        """The height of the tallest piece in it (mm)."""
        return max((spot.heap.height for spot in self.spots), default=0.0)

    @property
    def weight(self) -> float:
        """What is known of its weight (g)."""
        return sum(spot.heap.count * (spot.heap.piece.item.weight_g or 0) for spot in self.spots)

    @property
    def used(self) -> tuple[float, float]:
        """Length and width of all that lies in it (mm)."""
        rights, bottoms = [s.right for s in self.spots], [s.bottom for s in self.spots]
        return max(rights, default=0.0), max(bottoms, default=0.0)

    def take(self, heap: Heap, long: float, wide: float) -> bool:
        """Lay the heap as far left, then as near, as there is room; whether there was any."""
        length, width = heap.piece.length, heap.width
        xs = sorted({0.0, *(spot.right + GAP_MM for spot in self.spots)})
        ys = sorted({0.0, *(spot.bottom + GAP_MM for spot in self.spots)})
        for x in (x for x in xs if x + length <= long):
            beside = [spot for spot in self.spots if spot.x < x + length and x < spot.right]
            for y in (y for y in ys if y + width <= wide):
                if all(y + width <= spot.y or spot.bottom <= y for spot in beside):
                    self.spots.append(Spot(heap, x, y))
                    return True
        return False


@dataclass(frozen=True, slots=True)
class Laying:
    """The layers from the bottom up, and the names of what is not in them, by why."""

    layers: tuple[Layer, ...]
    unknown: tuple[str, ...]
    too_large: tuple[str, ...]


def lay(lines: Iterable[SetLine], long: float, wide: float, policy: Policy) -> Laying:
    """The lines of a set laid into a basket of ``long`` x ``wide`` mm, in as many layers."""
    pieces = [(line, as_it_lies(line, policy)) for line in lines]
    unknown = tuple(line.instrument.name for line, piece in pieces if piece is None)
    known = [(line, piece, _fitting(piece, long, wide)) for line, piece in pieces if piece]
    too_large = tuple(line.instrument.name for line, _, fitting in known if fitting is None)
    tops: dict[str, int] = {}
    for line, piece, _ in known:
        tops[line.section] = max(tops.get(line.section, 0), _step(piece))
    heaps = [(line.section, heap) for line, _, fitting in known if fitting
             for heap in _heaps(fitting, line.quantity, wide)]  # fmt: skip
    heaps.sort(key=lambda one: (-tops[one[0]], one[0], -_step(one[1].piece), -one[1].area))
    layers: list[Layer] = []
    for _, heap in heaps:
        if not any(layer.take(heap, long, wide) for layer in layers):
            layers.append(Layer())
            layers[-1].take(heap, long, wide)
    layers.sort(key=lambda layer: (-max(_step(s.heap.piece) for s in layer.spots), -layer.weight))
    return Laying(tuple(layers), unknown, too_large)


def as_it_lies(line: SetLine, policy: Policy) -> Lain | None:
    """A piece of the line as it lies lowest, open where it is hinged; None for unknown sizes."""
    ways = [way for way in ways_to_lie(line.instrument, policy) if ACROSS not in way.how]
    way = min(ways, key=lambda way: way.item.height_mm or 0.0)
    return lain(way.item, turned=ON_ITS_SIDE in way.how)


def _step(piece: Lain) -> int:
    """How tall a piece is, in steps coarse enough to lay alike what is about as tall."""
    return int((piece.item.height_mm or 0.0) // STEP_MM)


def _fitting(piece: Lain, long: float, wide: float) -> Lain | None:
    """The piece along the basket, or across it where it is too long; None where neither is."""
    ways = (piece, piece.quarter_turned)
    return next((way for way in ways if way.length <= long and way.width <= wide), None)


def _heaps(piece: Lain, quantity: int, wide: float) -> Sequence[Heap]:
    """The pieces of one line: overlapping where they go on a stringer, else each for itself."""
    if piece.across or look_of(piece.item) not in STRUNG:
        return [Heap(piece, 1, 0.0)] * quantity
    pitch = max(piece.item.height_mm or 0.0, LEAST_PITCH_MM)
    most = 1 + int((wide - piece.width) / pitch)
    full, rest = divmod(quantity, most)
    return [Heap(piece, count, pitch) for count in [most] * full + [rest] * (rest > 0)]

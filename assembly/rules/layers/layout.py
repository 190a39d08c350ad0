"""Layers of a basket: where each block lies, how full each layer is, what each corner bears.

Found by a portfolio of heuristics: each alone over all layers, and the best of them layer by
layer; the layout with least left over, then lowest, is taken. Not finding one proves nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from assembly.rules.findings import CLOSE_MM
from assembly.rules.layers.blocks import Block, Room
from assembly.rules.layers.packing import WAYS, Item, Way
from assembly.rules.limits.plans import angle_in

STEP_MM = 15.0
"""What is about as tall is laid alike."""
CORNERS = ("left back", "right back", "left front", "right front")


@dataclass(frozen=True, slots=True)
class Place:
    """A block with its corner (mm), whether it lies across, and its angle where it lies diagonally.

    Seen from above, ``y`` runs from the back to the front. With an ``angle`` (radians) the corner
    is that of the room it lies in the middle of.
    """

    block: Block
    x: float
    y: float
    across: bool = False
    angle: float = 0.0

    @property
    def length(self) -> float:
        """How far it reaches along the basket (mm)."""
        long, wide = self._lying
        return long * math.cos(self.angle) + wide * math.sin(self.angle)

    @property
    def width(self) -> float:
        """How far it reaches across the basket (mm)."""
        long, wide = self._lying
        return long * math.sin(self.angle) + wide * math.cos(self.angle)

    @property
    def _lying(self) -> tuple[float, float]:
        sizes = self.block.length_mm, self.block.width_mm
        return sizes[::-1] if self.across else sizes

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.length / 2, self.y + self.width / 2

    @property
    def corners(self) -> list[tuple[float, float]]:
        """Its four corners, round it (mm)."""
        (x, y), (long, wide) = self.middle, self._lying
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return [
            (
                x + a * long / 2 * cos - b * wide / 2 * sin,
                y + a * long / 2 * sin + b * wide / 2 * cos,
            )
            for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]


Layer = tuple[Place, ...]


@dataclass(frozen=True)
class Layout:
    """The layers from the bottom up, and what found no place."""

    room: Room
    layers: tuple[Layer, ...]
    over: tuple[Block, ...] = ()

    @property
    def height(self) -> float:
        """How high the layers stand on each other (mm)."""
        return sum(tallest(layer) for layer in self.layers)

    @property
    def left_over(self) -> float:
        """The area of what found no place (mm²)."""
        return sum(one.length_mm * one.width_mm for one in self.over)

    @cached_property
    def fills(self) -> tuple[float, ...]:
        """The share of the floor that each layer takes; all of it under what lies diagonally."""
        floor = self.room.long * self.room.wide
        return tuple(
            1.0 if any(one.angle for one in layer)
            else sum(one.length * one.width for one in layer) / floor
            for layer in self.layers
        )  # fmt: skip

    @cached_property
    def corner_shares(self) -> tuple[float, ...]:
        """What each quarter of the basket bears of all that is weighed, as in :data:`CORNERS`."""
        borne = [0.0] * 4
        for one in (place for layer in self.layers for place in layer):
            for n, share in enumerate(quarters(one, self.room)):
                borne[n] += share * (one.block.weight_g or 0.0)
        every = sum(borne)
        return tuple(each / every for each in borne) if every else (0.0,) * 4

    def place_of(self, key: str) -> tuple[int, Place] | None:
        """The layer (from 1) and place of a block; None where it has none."""
        return next(((n, one) for n, layer in enumerate(self.layers, 1)
                     for one in layer if one.block.key == key), None)  # fmt: skip


def tallest(layer: Layer) -> float:
    """How high a layer is: its tallest piece (mm)."""
    return max((one.block.height_mm for one in layer), default=0.0)


def quarters(place: Place, room: Room) -> tuple[float, ...]:
    """How much of a block lies over each quarter, as in :data:`CORNERS`; it sums up to 1."""
    left = _share(place.x, place.length, room.long / 2)
    back = _share(place.y, place.width, room.wide / 2)
    if place.angle:
        # it runs through its middle from the left back to the right front
        both = min(left, back)
        return both, back - both, left - both, 1 - left - back + both
    return left * back, (1 - left) * back, left * (1 - back), (1 - left) * (1 - back)


def _share(start: float, size: float, middle: float) -> float:
    """How much of ``size`` from ``start`` on lies before the middle."""
    return min(max((middle - start) / size, 0.0), 1.0)


def arrange(blocks: Sequence[Block], room: Room, gap: float) -> Layout:
    """Blocks laid in layers, ``gap`` mm from each other, nothing higher than the room.

    What is longer than the basket lies diagonally in a layer of its own. The order of the
    blocks makes no difference.
    """
    straight, diagonal = [], []
    for block in sorted(blocks, key=lambda one: one.key):
        if block.height_mm > room.high + CLOSE_MM:
            continue
        if _straight(block, room):
            straight.append(block)
        elif place := _diagonally(block, room, gap):
            diagonal.append((place,))
    found = [layers_by(straight, room, gap, ways) for ways in (WAYS, *((way,) for way in WAYS))]
    layouts = [_stacked([*layers, *diagonal], room, blocks) for layers in found]
    best = min(layouts, key=lambda one: (sum(b.length_mm * b.width_mm for b in one.over),
                                         round(one.height), len(one.layers)))  # fmt: skip
    return replace(best, layers=_balanced(best.layers, room))


def _straight(block: Block, room: Room) -> bool:
    """Whether a block goes in along or across."""
    sizes, sides = sorted((block.length_mm, block.width_mm)), sorted((room.long, room.wide))
    return all(a <= b + CLOSE_MM for a, b in zip(sizes, sides, strict=True))


def _diagonally(block: Block, room: Room, gap: float) -> Place | None:
    """A block in the middle of the basket at the angle at which it lies; None where at none."""
    sizes = (block.length_mm, block.width_mm, room.long, room.wide)
    angle = angle_in(*(size + gap for size in sizes))
    if not angle:
        return None
    place = Place(block, 0.0, 0.0, angle=angle)
    return replace(place, x=(room.long - place.length) / 2, y=(room.wide - place.width) / 2)


def layers_by(blocks: Sequence[Block], room: Room, gap: float, ways: Sequence[Way]) -> list[Layer]:
    """Layer after layer, each by the way that fills it best, until every block lies in one."""
    left, found = list(blocks), []
    while left:
        tries = [_layer(left, room, gap, way) for way in ways]
        best = max(tries, key=lambda layer: (sum(one.length * one.width for one in layer),
                                             len(layer)))  # fmt: skip
        if not best:
            break
        found.append(best)
        lying = {one.block.key for one in best}
        left = [block for block in left if block.key not in lying]
    return found


def _layer(blocks: Sequence[Block], room: Room, gap: float, way: Way) -> Layer:
    """One layer filled in one way, the longer side of each block along the basket first."""

    def rank(block: Block) -> tuple[float, float, str]:
        step = block.height_mm // STEP_MM if way.tallest_first else 0.0
        return -step, way.order(block.length_mm, block.width_mm), block.key

    ordered = sorted(blocks, key=rank)
    items: list[Item] = []
    for n, block in enumerate(ordered):
        long, wide = sorted((block.length_mm, block.width_mm), reverse=True)
        items.append((n, long + gap, wide + gap))
    laid = way.lay(items, room.long + gap, room.wide + gap, way.turns)
    return tuple(
        Place(ordered[n], x, y, across != (ordered[n].width_mm > ordered[n].length_mm))
        for n, x, y, across in laid
    )


def _stacked(layers: Sequence[Layer], room: Room, blocks: Sequence[Block]) -> Layout:
    """The tallest layer lowest, of equally tall ones the heaviest, as many as the room is high."""

    def rank(layer: Layer) -> tuple[float, float]:
        return -(tallest(layer) // STEP_MM), -sum(one.block.weight_g or 0.0 for one in layer)

    kept: list[Layer] = []
    for layer in sorted(layers, key=rank):
        if sum(map(tallest, kept)) + tallest(layer) <= room.high + CLOSE_MM:
            kept.append(layer)
    lying = {one.block.key for layer in kept for one in layer}
    over = sorted((b for b in blocks if b.key not in lying), key=lambda one: one.key)
    return Layout(room, tuple(kept), tuple(over))


def _balanced(layers: Sequence[Layer], room: Room) -> tuple[Layer, ...]:
    """Each layer as found or mirrored, so that no quarter bears more than it must."""
    found: list[Layer] = []
    for layer in layers:
        ways = [layer] if any(one.angle for one in layer) else [
            tuple(_mirrored(one, room, along, across) for one in layer)
            for along in (False, True) for across in (False, True)
        ]  # fmt: skip
        found.append(min(ways, key=lambda one: max(Layout(room, (*found, one)).corner_shares)))
    return tuple(found)


def _mirrored(place: Place, room: Room, along: bool, across: bool) -> Place:
    x = room.long - place.x - place.length if along else place.x
    y = room.wide - place.y - place.width if across else place.y
    return replace(place, x=x, y=y)

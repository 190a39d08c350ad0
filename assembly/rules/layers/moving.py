"""A layout changed by hand: a block stays inside, on no other, under the rim; said in words.

A place that is taken gives way to the nearest free one of the layer. What is kept of a layout is
plain data, so that it is read back only where the blocks are still those of the record.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from assembly.rules.findings import CLOSE_MM, metric, rounded
from assembly.rules.layers.blocks import Block, Room
from assembly.rules.layers.layout import Layer, Layout, Place, tallest

SIZES = ("length_mm", "width_mm", "height_mm")


class NoRoomError(ValueError):
    """A block cannot lie there; says why in a sentence."""


def overlap(one: Place, other: Place) -> bool:
    """Whether two blocks of a layer lie on each other, at whatever angle.

    By the sides of both: where none of them parts the two, they meet.
    """
    return not any(
        _parted(one.corners, other.corners, place.angle + turn)
        for place in (one, other)
        for turn in (0.0, math.pi / 2)
    )


def _parted(
    ones: Iterable[tuple[float, float]], others: Iterable[tuple[float, float]], angle: float
) -> bool:
    """Whether two shapes lie apart, seen along a line at an angle (radians)."""
    cos, sin = math.cos(angle), math.sin(angle)
    one, other = ([x * cos + y * sin for x, y in each] for each in (ones, others))
    return max(one) <= min(other) + CLOSE_MM or max(other) <= min(one) + CLOSE_MM


def inside(place: Place, room: Room) -> bool:
    return (
        place.x >= -CLOSE_MM
        and place.y >= -CLOSE_MM
        and place.x + place.length <= room.long + CLOSE_MM
        and place.y + place.width <= room.wide + CLOSE_MM
    )


def moved(layout: Layout, key: str, layer: int, x: float, y: float, across: bool) -> Layout:
    """A block in another place (mm): there, else in the nearest free place of that layer.

    ``layer`` counts from 1 at the bottom; the next after the top is a new one. What lies
    diagonally keeps its place and its angle, in whatever layer. NoRoomError where it cannot.
    """
    if key not in {b.key for b in layout.over} and layout.place_of(key) is None:
        raise NoRoomError(f"There is no piece “{key}” in this layout: choose one of the list.")
    at = layout.place_of(key)
    block = at[1].block if at else next(one for one in layout.over if one.key == key)
    if not 1 <= layer <= len(layout.layers) + 1:
        raise NoRoomError(f"There is no layer {layer}: layers 1 to {len(layout.layers)} are there, "
                          f"and {len(layout.layers) + 1} would be new.")  # fmt: skip
    rest = [tuple(one for one in each if one.block.key != key) for each in layout.layers]
    rest += [()] * (layer > len(rest))
    wanted = at[1] if at and at[1].angle else Place(block, x, y, across)
    place = _free(wanted, rest[layer - 1], layout.room)
    if place is None:
        raise NoRoomError(f"{block.name} finds no room in layer {layer}, as it is turned.")
    rest[layer - 1] = (*rest[layer - 1], place)
    made = Layout(layout.room, tuple(each for each in rest if each),
                  tuple(one for one in layout.over if one.key != key))  # fmt: skip
    if made.height > layout.room.high + CLOSE_MM:
        raise NoRoomError(f"The layers would stand {metric(made.height, 'mm')} high; there is "
                          f"room for {metric(layout.room.high, 'mm')}.")  # fmt: skip
    return made


def _free(wanted: Place, others: Layer, room: Room) -> Place | None:
    """The place wanted, else the nearest at which it lies beside others or at a wall."""
    if wanted.angle:
        tries = [wanted]
    else:
        xs = {wanted.x, 0.0, room.long - wanted.length}
        ys = {wanted.y, 0.0, room.wide - wanted.width}
        for one in others:
            xs |= {one.x + one.length, one.x - wanted.length}
            ys |= {one.y + one.width, one.y - wanted.width}
        spots = sorted((math.hypot(x - wanted.x, y - wanted.y), x, y) for x in xs for y in ys)
        tries = [replace(wanted, x=x, y=y) for _, x, y in spots]
    return next((place for place in tries if inside(place, room)
                 and not any(overlap(place, one) for one in others)), None)  # fmt: skip


def where(layer: int, place: Place, room: Room) -> str:
    """Where a block lies, in words.

    >>> block = Block(key="1.1", name="x", length_mm=100, width_mm=20, height_mm=9)
    >>> where(2, Place(block, 0, 0), Room(long=480, wide=250, high=50))
    'layer 2, left back'
    """
    (x, y), parts = (
        place.middle,
        ("left", "", "right"),
    )
    side = parts[min(int(x / room.long * 3), 2)]
    depth = ("back", "", "front")[min(int(y / room.wide * 3), 2)]
    spot = " ".join(word for word in (side, depth) if word) or "middle"
    return f"layer {layer}, {'diagonally' if place.angle else spot}"


def kept(layout: Layout) -> list[dict[str, Any]]:
    """The places of a layout as plain data, with the sizes that they were found for."""
    return [
        {
            "key": one.block.key, "layer": n, "x": rounded(one.x), "y": rounded(one.y),
            "across": one.across, "angle": rounded(one.angle),
            "sizes": [rounded(getattr(one.block, name)) for name in SIZES],
            "holds": [list(each) for each in one.block.holds],
        }
        for n, layer in enumerate(layout.layers, 1)
        for one in layer
    ]  # fmt: skip


def read(places: Sequence[Mapping[str, Any]], blocks: Sequence[Block], room: Room) -> Layout:
    """A layout from what was kept of it, for the blocks as they are now.

    NoRoomError where it is of other blocks, or where one lies outside, on another or too high:
    what was sent is never believed.
    """
    by_key = {one.key: one for one in blocks}
    layers: dict[int, list[Place]] = {}
    try:
        for one in places:
            block = by_key.pop(str(one["key"]))
            held = [list(each) for each in block.holds]
            if (one["sizes"], one["holds"]) != ([rounded(getattr(block, n)) for n in SIZES], held):
                raise KeyError(block.key)
            x, y, angle = float(one["x"]), float(one["y"]), float(one["angle"])
            if not (math.isfinite(x + y) and 0 <= angle < math.pi / 2):
                raise KeyError(block.key)
            place = Place(block, x, y, one["across"] is True, angle)
            layers.setdefault(int(one["layer"]), []).append(place)
    except (KeyError, TypeError, ValueError) as wrong:
        raise NoRoomError("The record has changed since: lines, sizes or the basket.") from wrong
    made = Layout(room, tuple(tuple(layers[n]) for n in sorted(layers)), tuple(by_key.values()))
    for layer in made.layers:
        for n, place in enumerate(layer):
            if not inside(place, room) or any(overlap(place, one) for one in layer[:n]):
                raise NoRoomError(f"{place.block.name} lies outside, or on another piece.")
    if sum(map(tallest, made.layers)) > room.high + CLOSE_MM:
        raise NoRoomError("The layers stand higher than there is room.")
    return made

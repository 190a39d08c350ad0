"""A layout changed by hand: a block stays inside, on no other, under the rim; said in words.

A place that is taken gives way to the nearest free one of the layer. What is kept of a layout is
plain data, so that it is read back only where the blocks are still those of the record.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from assembly.rules.facts.instruments import SIZES
from assembly.rules.findings import CLOSE_MM, metric, rounded
from assembly.rules.layers.blocks import Block, Room
from assembly.rules.layers.layout import Layer, Layout, Place

STEPS = {"left": (-1, 0), "right": (1, 0), "back": (0, -1), "front": (0, 1)}
STEP_MM = 10.0
MOST_PLACES = 2
"""So many places of one line are said."""
CHANGED = "The record has changed since it was laid: lines, sizes or the basket."


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


Plan = Mapping[str, Any]
"""A layout as plain data: what it lies in, the room (mm), how stringers lean, the places."""


def kept(layout: Layout, into: str, levels: int) -> dict[str, Any]:
    """A layout as plain data, with the sizes that it was found for."""
    room = layout.room
    places = [
        {
            "key": one.block.key, "layer": n, "x": rounded(one.x), "y": rounded(one.y),
            "across": one.across, "angle": rounded(one.angle),
            "sizes": [rounded(getattr(one.block, name)) for name in SIZES],
            "holds": [list(each) for each in one.block.holds],
        }
        for n, layer in enumerate(layout.layers, 1)
        for one in layer
    ]  # fmt: skip
    inside = [rounded(size) for size in (room.long, room.wide, room.high)]
    return {"into": into, "room": inside, "levels": levels, "places": places}


def read(plan: Plan, blocks: Sequence[Block], room: Room) -> Layout:
    """A layout from what was kept of it, for the blocks as they are now.

    NoRoomError where it is of other blocks, or where one lies outside, on another or too high:
    what was sent is never believed.
    """
    by_key = {one.key: one for one in blocks}
    layers: dict[int, list[Place]] = {}
    try:
        for one in plan["places"]:
            block = by_key.pop(str(one["key"]))
            layers.setdefault(int(one["layer"]), []).append(_place(one, block))
    except (KeyError, TypeError, ValueError, OverflowError) as wrong:
        raise NoRoomError(CHANGED) from wrong
    made = Layout(room, tuple(tuple(layers[n]) for n in sorted(layers)), tuple(by_key.values()))
    for layer in made.layers:
        for n, place in enumerate(layer):
            if not inside(place, room) or any(overlap(place, one) for one in layer[:n]):
                raise NoRoomError(f"{place.block.name} lies outside, or on another piece.")
    if made.height > room.high + CLOSE_MM:
        raise NoRoomError("The layers stand higher than there is room.")
    return made


def _place(one: Mapping[str, Any], block: Block) -> Place:
    """One place as it was kept; ValueError where it is of another block, or none at all."""
    sizes = [rounded(getattr(block, name)) for name in SIZES]
    if (one["sizes"], one["holds"]) != (sizes, [list(each) for each in block.holds]):
        raise ValueError(block.key)
    x, y, angle = float(one["x"]), float(one["y"]), float(one["angle"])
    if not (math.isfinite(x + y) and 0 <= angle < math.pi / 2):
        raise ValueError(block.key)
    return Place(block, x, y, one["across"] is True, angle)


def as_kept(plan: Plan) -> Layout:
    """What was kept, as it was then: to be shown beside a line, whatever the record says now."""
    long, wide, high = plan["room"]
    layers: dict[int, list[Place]] = {}
    for one in plan["places"]:
        sizes = dict(zip(SIZES, one["sizes"], strict=True))
        holds = tuple((line, pieces) for line, pieces in one["holds"])
        block = Block(key=one["key"], name="", holds=holds, **sizes)
        place = Place(block, one["x"], one["y"], one["across"], one["angle"])
        layers.setdefault(one["layer"], []).append(place)
    return Layout(Room(long=long, wide=wide, high=high),
                  tuple(tuple(layers[n]) for n in sorted(layers)))  # fmt: skip


def here(plan: Plan, line: int) -> str:
    """Where the pieces of a line (from 1) lie in what was kept, in words; "" where nowhere."""
    layout, found = as_kept(plan), []
    for n, layer in enumerate(layout.layers, 1):
        for one in layer:
            if line in dict(one.block.holds):
                words = where(n, one, layout.room)
                stringer = f", stringer {one.block.label[1:]}" if one.block.strung else ""
                found.append(words + stringer)
    each = list(dict.fromkeys(found))
    return "; ".join(each[:MOST_PLACES]) + (" and elsewhere" if len(each) > MOST_PLACES else "")


def stepped(layout: Layout, key: str, step: str) -> Layout:
    """A block moved by one press: ``STEPS``, turned, a layer up or down, or laid where it goes.

    NoRoomError where there is no room, or no such press.
    """
    at = layout.place_of(key)
    if step == "lay" or at is None:
        return _laid_anywhere(layout, key)
    layer, place = at
    if step in STEPS:
        along, across = STEPS[step]
        x, y = place.x + along * STEP_MM, place.y + across * STEP_MM
        made = moved(layout, key, layer, x, y, place.across)
    elif step == "turn":
        (x, y), turned = place.middle, not place.across
        made = moved(layout, key, layer, x - place.width / 2, y - place.length / 2, turned)
    elif step in ("up", "down"):
        to = layer + (1 if step == "up" else -1)
        made = moved(layout, key, to, place.x, place.y, place.across)
    else:
        raise NoRoomError(f"“{step}” is no way to move a piece here.")
    if made.place_of(key) == at:
        raise NoRoomError(f"{place.block.name} has no room further there.")
    return made


def _laid_anywhere(layout: Layout, key: str) -> Layout:
    """A block without a place in the lowest layer that has room for it."""
    problem = NoRoomError("It lies somewhere already.")
    for layer in range(1, len(layout.layers) + 2):
        for across in (False, True):
            try:
                return moved(layout, key, layer, 0.0, 0.0, across)
            except NoRoomError as no:
                problem = no
    raise problem

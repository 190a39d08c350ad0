"""Baskets and containers to scale, with what lies in them: one instrument, or a set in layers.

A scene decides nothing. The drawing of a set shows sizes beside each other; it is no plan, and
says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.laying import Layer, Laying, lay
from assembly.rules.drawing.looks import look_of
from assembly.rules.drawing.measuring import control_rule, dimension_along
from assembly.rules.drawing.pieces import OUTLINE_NOT_KNOWN, Lain, rotated, strip
from assembly.rules.drawing.shapes import (
    LINE,
    Outline,
    Polygon,
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
)
from assembly.rules.drawing.sides import HOLDER, Side, label_holder, side_view
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import Show, metric
from assembly.rules.limits.plans import angle_in
from assembly.rules.policy.values import Policy
from assembly.rules.telling.indicators import in_corners

MARGIN, ABOVE, BELOW = 1.2, 1.7, 4.6
FROM_THE_WALL_MM = 6.0
PLAN = "Shows sizes, not a plan to follow; whether it all fits is not worked out here."
STRIPS = "Strips: indicators."
STRINGER = "Equal ring-handled pieces overlap, as on a stringer."


def container_scene(
    piece: Lain, container: Container, policy: Policy, show: Show = metric
) -> Scene | None:
    """The instrument lying in a container, turned where it must be; None for unknown sizes."""
    if container.inner_length_mm is None or container.inner_width_mm is None:
        return None
    long, wide = float(container.inner_length_mm), float(container.inner_width_mm)
    text = max(long, piece.length) / (LINE - 2 * MARGIN)
    left, top = MARGIN * text, ABOVE * text
    angle = angle_in(piece.length, piece.width, long, wide) or 0.0
    contents: Sequence[Shape] = (
        piece.at(left + (long - piece.length) / 2, top + (wide - piece.width) / 2)
        if not angle
        else rotated(piece, left + long / 2, top + wide / 2, angle)
    )
    lies = piece.length * math.cos(angle) + piece.width * math.sin(angle)
    stands = ((long - lies) / 2, lies, piece.item.height_mm or 0.0)
    high = container.inner_height_mm
    side = Side(long, float(high), ((stands,),)) if high is not None else None
    name = f"inside of {container.code}"
    if not piece.known:
        name += f", {OUTLINE_NOT_KNOWN}"
    room, outlines = Rect(left, top, long, wide, "tray", 6.0), list(_outlines(contents))
    below, bottom = _below(left, top + wide, long, side, text, show)
    return Scene(
        max(long, piece.length) + 2 * MARGIN * text,
        bottom,
        text,
        (
            room,
            *contents,
            *label_holder(left, top, wide, text),
            *_indicators(room, outlines, text, in_corners(policy)),
            Text(left, top - text * 0.5, name, "word", "start"),
            *below,
        ),
        f"{piece.item.name} in container {container.code}, to scale",
        f"Inside {show(long, 'mm')} by {show(wide, 'mm')}; the instrument is "
        f"{show(piece.length, 'mm')} by {show(piece.width, 'mm')}.",
        (STRIPS, HOLDER, *(side.words if side else ()), piece.legend),
    )


def _outlines(shapes: Sequence[Shape]) -> Iterator[Outline]:
    """The outlines of what lies there, without the room that it takes up."""
    for shape in shapes:
        if isinstance(shape, Polygon | Polyline) and shape.role != "box":
            yield shape


def _indicators(room: Rect, outlines: Sequence[Outline], text: float, corners: bool) -> list[Shape]:
    """Strips in two opposite corners, or one in the middle."""
    edge = text * 0.3
    free = Rect(room.x + edge, room.y + edge, room.width - 2 * edge, room.height - 2 * edge, "")
    right, bottom = room.x + room.width, room.y + room.height
    middle = ((room.x + right) / 2, (room.y + bottom) / 2)
    near = ((room.x, room.y), (right, bottom)) if corners else (middle,)
    return [shape for at in near for shape in strip(free, at, outlines, text)]


def _below(
    left: float, top: float, long: float, side: Side | None, text: float, show: Show
) -> tuple[list[Shape], float]:
    """What stands under a plan, and where it ends: the side view, the length and the rule."""
    shapes = side_view(side, left, top, text, show) if side else []
    top += side.height(text) if side else 0.0
    shapes += dimension_along(left, left + long, top + text * 0.8, text, show)
    shapes += control_rule(left, top + text * 3.9, text, show)
    return shapes, top + BELOW * text


@dataclass(frozen=True, slots=True)
class Inside:
    """What a set is drawn in: a name, its plan (mm), and the basket in it where there is one.

    ``rigid``: it is a container, drawn from the side as well.
    """

    name: str
    box: Box
    basket: Box | None = None
    rigid: bool = False

    @property
    def room(self) -> tuple[float, float] | None:
        """Length and width (mm) of where the pieces lie; None where one is unknown."""
        for box in (self.basket, self.box):
            if box and box.length_mm is not None and box.width_mm is not None:
                return box.length_mm, box.width_mm
        return None

    @property
    def plan(self) -> tuple[float, float] | None:
        """Length and width (mm) of what is drawn round them."""
        sizes = self.box.length_mm, self.box.width_mm
        return self.room if None in sizes else (float(sizes[0] or 0), float(sizes[1] or 0))

    def floor(self, left: float, top: float) -> Rect:
        """Where the pieces lie, in the middle of a plan whose corner is at ``left``, ``top``."""
        (long, wide), (inner, across) = self.plan or (0.0, 0.0), self.room or (0.0, 0.0)
        return Rect(left + (long - inner) / 2, top + (wide - across) / 2, inner, across, "basket",
                    4.0)  # fmt: skip

    def side(self, layers: Sequence[Layer]) -> Side | None:
        """The layers from the side; None for what is no container, or of unknown height."""
        if not self.rigid or self.plan is None or self.box.height_mm is None:
            return None
        floor = self.floor(0.0, 0.0)
        each = tuple(
            tuple((_corner(layer, floor)[0] + spot.x, spot.heap.piece.length, spot.heap.height)
                  for spot in layer.spots)
            for layer in layers
        )  # fmt: skip
        basket = self.basket
        tall = (floor.x, floor.width, basket.height_mm) if basket and basket.height_mm else None
        return Side(self.plan[0], self.box.height_mm, each, tall)


def _corner(layer: Layer, floor: Rect) -> tuple[float, float]:
    """Where the layer's pieces begin on the floor: in its middle, or near its wall."""
    (long, wide) = layer.used
    return (
        floor.x + min((floor.width - long) / 2, FROM_THE_WALL_MM),
        floor.y + min((floor.height - wide) / 2, FROM_THE_WALL_MM),
    )


def set_scenes(
    lines: Sequence[SetLine], inside: Inside, policy: Policy, show: Show = metric
) -> list[Scene]:
    """A set's basket to scale with its pieces, a scene for each layer; none if it is unknown."""
    if inside.room is None or inside.plan is None:
        return []
    laying = lay(lines, *inside.room, policy)
    layers = laying.layers or (Layer(),)
    scenes = [_layer(n, layers, inside, policy, show) for n in range(len(layers))]
    side = inside.side(layers)
    said = (STRIPS, *((HOLDER,) if inside.rigid else ()), *(side.words if side else ()))
    scenes[0] = replace(scenes[0], legend=(*_legend(laying), *said))
    return scenes


def fullest(lines: Sequence[SetLine], inside: Inside, policy: Policy) -> list[Outline]:
    """The layer with most in it in thin lines, the basket's corner at 0, 0."""
    if inside.room is None:
        return []
    layers = lay(lines, *inside.room, policy).layers
    most = max(layers, key=lambda layer: len(layer.spots), default=Layer())
    return [
        shape
        for spot in most.spots
        for shape in as_drawn("detail", spot.heap.outlines(spot.x, spot.y))
        if shape.role != "joint"
    ]


def as_drawn(role: str, outlines: Sequence[Outline]) -> list[Outline]:
    """The outlines drawn as ``role``: in finer lines, because there are many."""
    return [replace(one, role=role) if one.role == "instrument" else one for one in outlines]


def _layer(n: int, layers: Sequence[Layer], inside: Inside, policy: Policy, show: Show) -> Scene:
    """One layer from above; under the lowest one the side view, the length and the rule."""
    layer, (long, wide) = layers[n], inside.plan or (0.0, 0.0)
    text = long / (LINE - 2 * MARGIN)
    left, top = MARGIN * text, ABOVE * text
    floor = inside.floor(left, top)
    x, y = _corner(layer, floor)
    outlines = [
        shape for spot in layer.spots for shape in spot.heap.outlines(x + spot.x, y + spot.y)
    ]
    shapes: list[Shape] = [
        Text(left, top - text * 0.5, _called(n, layer, show), "word", "start"),
        Rect(left, top, long, wide, "tray", 6.0),
        *([floor] if (floor.width, floor.height) != (long, wide) else []),
        *as_drawn("piece", outlines),
    ]
    bottom = top + wide + text * 0.4
    if n == 0 or (inside.rigid and inside.basket is None):
        corners = inside.rigid and in_corners(policy)
        shapes += _indicators(floor, outlines, text, corners)
    if n == 0:
        shapes += label_holder(left, top, wide, text) if inside.rigid else []
        below, bottom = _below(left, top + wide, long, inside.side(layers), text, show)
        shapes += below
    return Scene(
        long + 2 * MARGIN * text,
        bottom,
        text,
        tuple(shapes),
        f"What lies in {inside.name}, layer {n + 1} from the bottom, to scale",
        f"Inside {show(long, 'mm')} by {show(wide, 'mm')}. {_listed(layer)}".strip(),
        layer=n + 1,
    )


def _called(n: int, layer: Layer, show: Show) -> str:
    """What stands over a layer: which it is, and how high its tallest piece stands."""
    name = "layer 1, bottom" if n == 0 else f"layer {n + 1}"
    if not layer.spots or not layer.height:
        return name
    return f"{name}, up to {show(layer.height, 'mm')} high"


def _listed(layer: Layer) -> str:
    """What lies in a layer, in words."""
    counts: dict[str, int] = {}
    for spot in layer.spots:
        name = spot.heap.piece.item.name
        counts[name] = counts.get(name, 0) + spot.heap.count
    return ", ".join(f"{count} {name}" for name, count in counts.items()) + "." if counts else ""


def _legend(laying: Laying) -> tuple[str, ...]:
    spots = [spot for layer in laying.layers for spot in layer.spots]
    plain = dict.fromkeys(s.heap.piece.item.name for s in spots if not look_of(s.heap.piece.item))
    said = (
        (PLAN, True),
        (STRINGER, any(spot.heap.count > 1 for spot in spots)),
        (f"Not drawn, a size is not known: {', '.join(laying.unknown)}.", laying.unknown),
        (f"Not drawn, larger than the inside: {', '.join(laying.too_large)}.", laying.too_large),
        (f"Outline not known: {', '.join(plain)}.", plain),
    )
    return tuple(words for words, true in said if true)

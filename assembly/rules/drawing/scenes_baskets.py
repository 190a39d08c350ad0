"""Baskets and containers to scale, with what lies in them: one instrument, or a set in layers.

A scene decides nothing. The drawing of a set shows sizes beside each other; it is no plan, and
says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.laying import Layer, Laying, lay
from assembly.rules.drawing.looks import look_of
from assembly.rules.drawing.measuring import control_rule, dimension_along
from assembly.rules.drawing.pieces import OUTLINE_NOT_KNOWN, Lain, rotated
from assembly.rules.drawing.shapes import LINE, Outline, Rect, Scene, Shape, Text
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import Show, metric
from assembly.rules.policy.values import Policy

STEPS_OF_A_TURN = 360
MARGIN, ABOVE, BELOW = 1.2, 1.7, 4.6
FROM_THE_WALL_MM = 6.0
PLAN = "Shows sizes, not a plan to follow; whether it all fits is not worked out here."
STRINGER = "Equal ring-handled pieces overlap, as on a stringer."


def container_scene(piece: Lain, container: Container, show: Show = metric) -> Scene | None:
    """The instrument lying in a container, turned where it must be; None for unknown sizes."""
    if container.inner_length_mm is None or container.inner_width_mm is None:
        return None
    long, wide = float(container.inner_length_mm), float(container.inner_width_mm)
    text = max(long, piece.length) / (LINE - 2 * MARGIN)
    left, top = MARGIN * text, ABOVE * text
    name = f"inside of {container.code}"
    if not piece.known:
        name += f", {OUTLINE_NOT_KNOWN}"
    angle = angle_to_fit(piece.length, piece.width, long, wide)
    contents: Sequence[Shape] = (
        piece.at(left + (long - piece.length) / 2, top + (wide - piece.width) / 2)
        if not angle
        else rotated(piece, left + long / 2, top + wide / 2, angle)
    )
    return Scene(
        max(long, piece.length) + 2 * MARGIN * text,
        top + wide + BELOW * text,
        text,
        (
            Rect(left, top, long, wide, "tray", 6.0),
            *contents,
            Text(left, top - text * 0.5, name, "word", "start"),
            *_below(left, top + wide, long, text, show),
        ),
        f"{piece.item.name} in container {container.code}, to scale",
        f"Inside {show(long, 'mm')} by {show(wide, 'mm')}; the instrument is "
        f"{show(piece.length, 'mm')} by {show(piece.width, 'mm')}.",
        ("The plan of the container's inside, to scale.", piece.legend),
    )


def _below(left: float, bottom: float, long: float, text: float, show: Show) -> list[Shape]:
    length = dimension_along(left, left + long, bottom + text * 0.8, text, show)
    return [*length, *control_rule(left, bottom + text * 3.9, text, show)]


@dataclass(frozen=True, slots=True)
class Inside:
    """What a set is drawn in: a name, its plan (mm), and the basket in it where there is one."""

    name: str
    box: Box
    basket: Box | None = None

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


def set_scenes(
    lines: Sequence[SetLine], inside: Inside, policy: Policy, show: Show = metric
) -> list[Scene]:
    """A set's basket to scale with its pieces, a scene for each layer; none if it is unknown."""
    if inside.room is None or inside.plan is None:
        return []
    laying = lay(lines, *inside.room, policy)
    layers = laying.layers or (Layer(),)
    scenes = [_layer(n, layer, inside, show) for n, layer in enumerate(layers)]
    scenes[0] = replace(scenes[0], legend=_legend(laying))
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
        for shape in _as("detail", spot.heap.outlines(spot.x, spot.y))
        if shape.role != "joint"
    ]


def _as(role: str, outlines: Sequence[Outline]) -> list[Outline]:
    """The outlines drawn as ``role``: in finer lines, because there are many."""
    return [replace(one, role=role) if one.role == "instrument" else one for one in outlines]


def _layer(n: int, layer: Layer, inside: Inside, show: Show) -> Scene:
    """One layer from above; the lowest one with the measure of the inside and the rule."""
    (long, wide), (inner_long, inner_wide) = inside.plan or (0, 0), inside.room or (0, 0)
    text = long / (LINE - 2 * MARGIN)
    left, top = MARGIN * text, ABOVE * text
    x, y = left + (long - inner_long) / 2, top + (wide - inner_wide) / 2
    shapes: list[Shape] = [
        Text(left, top - text * 0.5, _called(n, layer, show), "word", "start"),
        Rect(left, top, long, wide, "tray", 6.0),
    ]
    if (inner_long, inner_wide) != (long, wide):
        shapes.append(Rect(x, y, inner_long, inner_wide, "basket", 4.0))
    used = layer.used
    x += min((inner_long - used[0]) / 2, FROM_THE_WALL_MM)
    y += min((inner_wide - used[1]) / 2, FROM_THE_WALL_MM)
    for spot in layer.spots:
        shapes += _as("piece", spot.heap.outlines(x + spot.x, y + spot.y))
    if n == 0:
        shapes += _below(left, top + wide, long, text, show)
    return Scene(
        long + 2 * MARGIN * text,
        top + wide + (BELOW if n == 0 else 0.4) * text,
        text,
        tuple(shapes),
        f"What lies in {inside.name}, layer {n + 1} from the bottom, to scale",
        f"Inside {show(long, 'mm')} by {show(wide, 'mm')}. {_listed(layer)}".strip(),
        layer=n + 1,
    )


def _called(n: int, layer: Layer, show: Show) -> str:
    """What stands over a layer: which it is, and how high its tallest piece stands."""
    name = "bottom" if n == 0 else f"layer {n + 1}"
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


def angle_to_fit(length: float, width: float, long: float, wide: float) -> float:
    """The least angle (radians) at which a box lies in a tray (mm); 0 when straight or never.

    >>> angle_to_fit(200, 50, 400, 250)
    0.0
    >>> 0 < angle_to_fit(520, 20, 480, 250) < math.pi / 2
    True
    """
    for step in range(STEPS_OF_A_TURN + 1):
        angle = step / STEPS_OF_A_TURN * math.pi / 2
        across = length * math.cos(angle) + width * math.sin(angle)
        up = length * math.sin(angle) + width * math.cos(angle)
        if across <= long and up <= wide:
            return angle
    return 0.0

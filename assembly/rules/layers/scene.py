"""One layer of a layout from above, to scale: each block with its label and what is in it."""

from __future__ import annotations

from assembly.rules.drawing.laying import as_it_lies
from assembly.rules.drawing.pieces import rotated
from assembly.rules.drawing.scenes_baskets import as_drawn
from assembly.rules.drawing.shapes import LINE, Outline, Polygon, Polyline, Rect, Scene, Shape, Text
from assembly.rules.findings import Show, metric
from assembly.rules.layers.laid import Asked
from assembly.rules.layers.layout import Layout, Place, tallest
from assembly.rules.layers.moving import Plan, as_kept, where

MARGIN, ABOVE = 0.4, 1.6
"""Round the floor, in letter heights."""
FROM_ABOVE = "From above, the back at the top; figures are lines of the count sheet, S a stringer."
PLACES = (0.5, 0.2, 0.8)
"""Where the labels of pieces beside each other stand along them, so that they are told apart."""


def corner_of(layout: Layout) -> tuple[float, float, float]:
    """Where the floor begins in a scene, and how high its letters are (mm)."""
    text = layout.room.long / (LINE - 2 * MARGIN)
    return MARGIN * text, ABOVE * text, text


def layer_scene(
    layout: Layout, n: int, asked: Asked | None = None, show: Show = metric, chosen: str = "",
) -> Scene:  # fmt: skip
    """Layer ``n`` (from 1), the block with the key ``chosen`` marked. Outlines are drawn for the
    lines that it was ``asked`` with; without them boxes alone.
    """
    layer, room = layout.layers[n - 1], layout.room
    left, top, text = corner_of(layout)
    shapes: list[Shape] = [
        Text(left, top - text * 0.5, title(layout, n, show), "word", "start"),
        Rect(left, top, room.long, room.wide, "tray", 6.0),
    ]
    figures = []
    for n_th, place in enumerate(sorted(layer, key=lambda one: (one.y, one.x))):
        corners = tuple((left + x, top + y) for x, y in place.corners)
        role = "box" if asked else "piece"
        shapes.append(Polygon((corners,), "chosen" if place.block.key == chosen else role))
        shapes += as_drawn("piece", _inside(place, asked, (left, top)))
        figures.append(_figure(place, n_th, (left, top), text))
    words = "; ".join(f"{one.block.label} {one.block.words}: {where(n, one, room)}"
                      for one in layer)  # fmt: skip
    return Scene(
        room.long + 2 * left,
        top + room.wide + left,
        text,
        (*shapes, *figures),
        f"Layer {n} from the bottom, from above, to scale",
        words,
        (FROM_ABOVE,) if n == 1 else (),
        layer=n,
    )


def title(layout: Layout, n: int, show: Show = metric) -> str:
    """What stands over a layer: which it is, how high, how full."""
    name = "layer 1, bottom" if n == 1 else f"layer {n}"
    high = show(tallest(layout.layers[n - 1]), "mm")
    return f"{name}: {high} high, {show(round(layout.fills[n - 1], 2), 'ratio')} full"


def _figure(place: Place, n_th: int, corner: tuple[float, float], text: float) -> Text:
    """The label of a block, on it."""
    share = PLACES[n_th % len(PLACES)]
    (x, y), (left, top) = place.middle, corner
    if not place.angle and place.length > place.width:
        x = place.x + place.length * share
    elif not place.angle:
        y = place.y + place.width * share
    return Text(left + x, top + y + text * 0.35, place.block.label, "figure")


def _inside(place: Place, asked: Asked | None, corner: tuple[float, float]) -> list[Outline]:
    """The outline of a piece as it lies, or the pieces of a stringer as bars beside each other."""
    (left, top), block = corner, place.block
    if block.strung:
        return _bars(place, sum(pieces for _, pieces in block.holds), corner)
    line = asked.lines[block.holds[0][0] - 1] if asked else None
    piece = as_it_lies(line, asked.policy) if asked and line else None
    if piece is None:
        return []
    x, y = place.middle
    if place.angle:
        drawn = rotated(piece, left + x, top + y, place.angle)
        return [one for one in drawn if one.role != "box"]
    return (piece.quarter_turned if place.across else piece).outlines(left + place.x, top + place.y)


def _bars(place: Place, count: int, corner: tuple[float, float]) -> list[Outline]:
    """Lines between the pieces of a stringer."""
    (a, b, c, d), (left, top) = place.corners, corner
    shares = [n / count for n in range(1, count)]
    return [
        Polyline(
            tuple((left + p[0] + (q[0] - p[0]) * s, top + p[1] + (q[1] - p[1]) * s)
                  for p, q in ((a, d), (b, c))),
            "detail",
        )
        for s in shares
    ]  # fmt: skip


def here_scene(plan: Plan, line: int) -> Scene | None:
    """The layer in which the first pieces of a line (from 1) lie, as kept, those of it marked."""
    layout = as_kept(plan)
    held = {one.block.key for layer in layout.layers for one in layer
            if line in dict(one.block.holds)}  # fmt: skip
    layer = next((n for n, layer in enumerate(layout.layers, 1)
                  if any(one.block.key in held for one in layer)), None)  # fmt: skip
    if layer is None:
        return None
    room, places = layout.room, sorted(layout.layers[layer - 1], key=lambda p: p.block.key in held)
    edge = room.long / 100
    shapes = [
        Polygon((tuple((edge + x, edge + y) for x, y in one.corners),),
                "chosen" if one.block.key in held else "piece")
        for one in places
    ]  # fmt: skip
    tray = Rect(edge, edge, room.long, room.wide, "tray", 6.0)
    return Scene(room.long + 2 * edge, room.wide + 2 * edge, room.long / LINE, (tray, *shapes),
                 f"Layer {layer} from above", "What is marked lies here", layer=layer)  # fmt: skip

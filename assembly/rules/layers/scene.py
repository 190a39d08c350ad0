"""One layer of a layout from above, to scale: each block with its number and what is in it."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.laying import as_it_lies
from assembly.rules.drawing.pieces import rotated
from assembly.rules.drawing.scenes_baskets import as_drawn
from assembly.rules.drawing.shapes import LINE, Outline, Polygon, Polyline, Rect, Scene, Shape, Text
from assembly.rules.findings import Show, metric
from assembly.rules.layers.layout import Layout, Place, tallest
from assembly.rules.layers.moving import where
from assembly.rules.policy.values import Policy

MARGIN, ABOVE = 0.4, 1.6
"""Round the floor, in letter heights."""
FROM_ABOVE = "From above, the back at the top."
PLACES = (0.5, 0.2, 0.8)
"""Where the numbers of pieces beside each other stand along them, so that they are told apart."""


def corner_of(layout: Layout) -> tuple[float, float, float]:
    """Where the floor begins in a scene, and how high its letters are (mm)."""
    text = layout.room.long / (LINE - 2 * MARGIN)
    return MARGIN * text, ABOVE * text, text


def numbers(layout: Layout) -> dict[str, int]:
    """The number of each block by its key: layer by layer, from the back left on."""
    each = [one for layer in layout.layers for one in sorted(layer, key=lambda p: (p.y, p.x))]
    keys = [one.block.key for one in each] + [one.key for one in layout.over]
    return {key: n for n, key in enumerate(keys, 1)}


def layer_scene(
    layout: Layout, n: int, lines: Sequence[SetLine], policy: Policy, show: Show = metric,
    chosen: str = "",
) -> Scene:  # fmt: skip
    """Layer ``n`` (from 1), the block with the key ``chosen`` marked."""
    layer, room = layout.layers[n - 1], layout.room
    left, top, text = corner_of(layout)
    shapes: list[Shape] = [
        Text(left, top - text * 0.5, title(layout, n, show), "word", "start"),
        Rect(left, top, room.long, room.wide, "tray", 6.0),
    ]
    each, figures = numbers(layout), []
    for place in sorted(layer, key=lambda one: each[one.block.key]):
        number = each[place.block.key]
        corners = tuple((left + x, top + y) for x, y in place.corners)
        shapes.append(Polygon((corners,), "chosen" if place.block.key == chosen else "box"))
        shapes += as_drawn("detail" if place.block.contents else "piece",
                           _inside(place, lines, policy, (left, top)))  # fmt: skip
        figures.append(_figure(place, number, (left, top), text))
    words = "; ".join(f"{each[one.block.key]} {one.block.words}: {where(n, one, room)}"
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


def _figure(place: Place, number: int, corner: tuple[float, float], text: float) -> Text:
    """The number of a block, on it."""
    share = PLACES[number % len(PLACES)]
    (x, y), (left, top) = place.middle, corner
    if not place.angle and place.length > place.width:
        x = place.x + place.length * share
    elif not place.angle:
        y = place.y + place.width * share
    return Text(left + x, top + y + text * 0.35, str(number), "figure")


def _inside(
    place: Place, lines: Sequence[SetLine], policy: Policy, corner: tuple[float, float]
) -> list[Outline]:
    """The outline of a piece as it lies, or the pieces of a stringer as bars beside each other."""
    (left, top), block = corner, place.block
    if block.contents:
        return _bars(place, sum(pieces for _, pieces in block.holds), corner)
    piece = as_it_lies(lines[block.holds[0][0] - 1], policy)
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

"""Pouches, rolls and double pouches to scale: bags with an instrument in them.

x runs along the bag to the peel end at the right, y across it. A pouch is peeled at the
chevron, where its maker sealed it, and closed at the fill end; a roll is closed at both ends
and peeled where the chevron of its print points. A scene decides nothing: it draws what a
candidate's findings were computed from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assembly.rules.drawing.label_places import Size, drawn_label, label_words, place_of_label
from assembly.rules.drawing.measuring import control_rule, gap_across, gaps_along, wide
from assembly.rules.drawing.pieces import OUTLINE_NOT_KNOWN, Lain, strip
from assembly.rules.drawing.shapes import (
    LINE,
    Outline,
    Polygon,
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
    block,
)
from assembly.rules.facts.supplies import Pouch, Roll
from assembly.rules.findings import Show, metric
from assembly.rules.kinds.pouches import Footprint, footprint
from assembly.rules.limits.clearances import BASE, CLOSING, SIDE, clearance
from assembly.rules.policy.values import Policy

LEGEND = ("Gray: sealed by its maker. Dashed: the seal you make. Dotted: the room to keep free.",)
STRIP = "Strip: indicator, seen through the film."
NO_STRIP = "Not drawn: the indicator, for which no place beside the instrument was found."
LEFT, RIGHT = 1.9, 1.2
"""Margins in letter heights; at the left the figure of the free side stands as well."""
ABOVE, BELOW = 1.7, 4.2
JOINT = 0.4
"""Where a box lock or the middle of a handle is, as a share of the length from the tips."""


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag laid flat, in mm; ``base`` is what lies left of the inside, seal included.

    ``seal`` is how wide the seal across an end is. ``maker_sealed``: the end at the right came
    closed, so that the handle lies against it and what room is left is at the tips.
    """

    name: str
    outer_length: float
    outer_width: float
    inner_length: float
    inner_width: float
    base: float
    seal: float
    left_end: str
    maker_sealed: bool
    gusset: float = 0.0


def pouch_bag(pouch: Pouch) -> Bag | None:
    """A pouch as a bag; None where its inner size is unknown.

    How what lies outside its inner length is shared between its ends is on no record: drawn as
    equal, the chevron no deeper than a third of the width.
    """
    if pouch.inner_width_mm is None or pouch.inner_length_mm is None:
        return None
    outer_width = pouch.outer_width_mm or pouch.inner_width_mm
    outer_length = pouch.outer_length_mm or pouch.inner_length_mm
    ends = outer_length - pouch.inner_length_mm
    base = ends - min(ends / 2, outer_width / 3)
    side = (outer_width - pouch.inner_width_mm) / 2
    return Bag(f"pouch {pouch.code}", outer_length, outer_width, pouch.inner_length_mm,
               pouch.inner_width_mm, base, min(side, base * 0.5), "fill end", True,
               pouch.gusset_mm)  # fmt: skip


def roll_bag(roll: Roll, cut_mm: float, policy: Policy) -> Bag | None:
    """A piece of roll as a bag; None where its width or side seal is unknown."""
    if roll.nominal_width_mm is None or roll.side_seal_mm is None:
        return None
    seal = policy.number("roll_seal_mm")
    base = policy.number("roll_base_allowance_mm") + seal
    inner = cut_mm - base - seal - policy.number("roll_peel_allowance_mm")
    width = roll.nominal_width_mm - 2 * roll.side_seal_mm
    return Bag(f"roll {roll.code}", cut_mm, roll.nominal_width_mm, inner, width, base, seal,
               "end seal", False, roll.gusset_mm)  # fmt: skip


def bag_scene(
    piece: Lain, bags: Sequence[Bag], policy: Policy, show: Show = metric,
    label: Size | None = None,
) -> Scene:  # fmt: skip
    """The instrument in a bag, or in the last of several, each lying in the one before.

    The handle lies to the peel end. ``label`` is the size of what is stuck on it (mm), None where
    nobody said.
    """
    outer = bags[0]
    over = _overhang(piece, bags, policy)
    figure = show((bags[-1].inner_width - piece.width) / 2, "mm")
    margin = LEFT + wide(figure, 1)
    text = (over.left + outer.outer_length + over.right) / (LINE - margin - RIGHT)
    left, top = margin * text + over.left, ABOVE * text + over.side
    placed = _nested(bags, left, top)
    spot = _spot(piece, bags[-1], *placed[-1], policy)
    outlines = piece.outlines(spot.x, spot.y)
    indicator = strip(spot.inside, spot.joint, outlines, text)
    seen = [*outlines, *_outlined(indicator[:1])]
    place = _label(label, left, top, outer, seen) if label else None
    edge, bottom = left + outer.outer_length, top + outer.outer_width + over.side
    total, above = edge + over.right + RIGHT * text, top - over.side - text * 0.5
    shapes: list[Shape] = [
        *(shape for at, bag in zip(placed, bags, strict=True) for shape in _bag(*at, bag)),
        *spot.asked,
        *piece.at(spot.x, spot.y),
        *indicator,
        *(drawn_label(place) if place else ()),
        *_measures(spot, piece, left, (total, bottom), text, show),
        Text(left, above, outer.left_end, "word", "start"),
        Text(edge, above, "peel end", "word", "end"),
        *_unknown(piece, left, edge, above, text),
        *control_rule(left, bottom + text * 3.7, text, show),
    ]
    names = " in ".join(bag.name for bag in reversed(bags))
    return Scene(
        total,
        bottom + BELOW * text,
        text,
        tuple(shapes),
        f"{piece.item.name} in {names}, to scale",
        f"Outside {show(outer.outer_length, 'mm')} by {show(outer.outer_width, 'mm')}; the "
        f"instrument takes {show(piece.length, 'mm')} by {show(piece.width, 'mm')} in it.",
        (*LEGEND, STRIP if indicator else NO_STRIP, label_words(label, place, show), piece.legend),
    )


def _unknown(piece: Lain, left: float, edge: float, y: float, text: float) -> list[Shape]:
    """Says so, between the names of the ends, where the outline is not known."""
    room = edge - left - 2 * wide("peel ends", text)
    if piece.known or room < wide(OUTLINE_NOT_KNOWN, text):
        return []
    return [Text((left + edge) / 2, y, OUTLINE_NOT_KNOWN, "word")]


def _measures(
    spot: _Spot, piece: Lain, left: float, corner: tuple[float, float], text: float, show: Show
) -> list[Shape]:
    """The distances that the eye looks for: to the seals at the ends, and at the side."""
    inside, (total, bottom) = spot.inside, corner
    ends = (inside.x, spot.x, spot.x + piece.length, inside.x + inside.width)
    along = gaps_along(ends, total - text * 0.2, bottom + text * 0.8, text, show)
    if spot.y <= inside.y:
        return along
    ruler = min(left, spot.x) - text * 0.8
    return [*along, *gap_across(ruler, inside.y, spot.y, text, show)]


@dataclass(frozen=True, slots=True)
class _Overhang:
    """How far an instrument that does not go in reaches out of the outer bag (mm)."""

    left: float
    right: float
    side: float


def _overhang(piece: Lain, bags: Sequence[Bag], policy: Policy) -> _Overhang:
    spot, outer = _spot(piece, bags[-1], *_nested(bags, 0, 0)[-1], policy), bags[0]
    ends = (-spot.x, spot.x + piece.length - outer.outer_length, -spot.y)
    return _Overhang(*(max(0.0, end) for end in ends))


def _nested(bags: Sequence[Bag], left: float, top: float) -> list[tuple[float, float]]:
    """Where each bag lies: the first at the corner, each further one in the middle of it."""
    placed = [(left, top)]
    for outer, inner in pairwise(bags):
        x, y = placed[-1]
        placed.append(
            (
                x + outer.base + (outer.inner_length - inner.outer_length) / 2,
                y + (outer.outer_width - inner.outer_width) / 2,
            )
        )
    return placed


@dataclass(frozen=True, slots=True)
class _Spot:
    """The inside of the innermost bag, the corner of what lies in it, and the room asked (mm)."""

    inside: Rect
    x: float
    y: float
    joint: tuple[float, float]
    asked: tuple[Shape, ...]


def _spot(piece: Lain, bag: Bag, x: float, y: float, policy: Policy) -> _Spot:
    item = piece.item
    takes = footprint(item.box, item.round_section)
    rise = (takes.least_along - piece.length) / 2
    base = clearance(BASE, takes.height, policy) + rise
    inside = Rect(x + bag.base, y + (bag.outer_width - bag.inner_width) / 2, bag.inner_length,
                  bag.inner_width, "inside")  # fmt: skip
    free = bag.inner_length - base - piece.length if bag.maker_sealed else base
    at = (inside.x + free, inside.y + (bag.inner_width - piece.width) / 2)
    joint = (at[0] + piece.length * JOINT, at[1] + piece.width / 2)
    return _Spot(inside, *at, joint, _asked(inside, bag, piece, takes, policy))


def _asked(
    inside: Rect, bag: Bag, piece: Lain, takes: Footprint, policy: Policy
) -> tuple[Shape, ...]:
    """The edge of the sheet that the rules ask to be left free; none where too little is left.

    What the sheet needs to rise over the instrument is free as well, half of it at each side.
    """
    if takes.across is None:
        return ()
    along, across = (takes.least_along - piece.length) / 2, (takes.across - piece.width) / 2
    closing, base = (clearance(end, takes.height, policy) + along for end in (CLOSING, BASE))
    side = max(clearance(SIDE, takes.height, policy) + across - bag.gusset, 0.0)
    left = closing if bag.maker_sealed else base
    width, height = inside.width - base - closing, inside.height - 2 * side
    if min(width, height) <= 0:
        return ()
    return (Rect(inside.x + left, inside.y + side, width, height, "asked"),)


def _bag(x: float, y: float, bag: Bag) -> list[Shape]:
    """The sheet, its inside, what its maker sealed and what is sealed by hand."""
    side, inside = (bag.outer_width - bag.inner_width) / 2, x + bag.base
    end, right = inside + bag.inner_length, x + bag.outer_length
    shapes: list[Shape] = [
        Rect(x, y, bag.outer_length, bag.outer_width, "sheet", 1.5),
        *(Rect(x, at, end - x if bag.maker_sealed else bag.outer_length, side, "seal")
          for at in (y, y + bag.outer_width - side) if side > 0),
        Rect(inside, y + side, bag.inner_length, bag.inner_width, "inside"),
        Rect(inside - bag.seal, y + side, bag.seal, bag.inner_width, "to-seal"),
    ]  # fmt: skip
    middle, bottom = y + bag.outer_width / 2, y + bag.outer_width
    if bag.maker_sealed:
        thick = min(max(side, 4.0), (right - end) * 0.45)
        tip = right - thick * 1.25
        line = ((end, y), (tip, middle), (end, bottom))
        back = tuple((a + thick, b) for a, b in reversed(line))
        return [*shapes, Polygon(((*line, *back),), "seal")]
    shapes.append(Rect(end, y + side, bag.seal, bag.inner_width, "to-seal"))
    start, tip = end + bag.seal + (right - end - bag.seal) * 0.2, right - (right - end) * 0.12
    reach = min(bag.inner_width * 0.3, (tip - start) * 1.5)
    print_ = ((start, middle - reach), (tip, middle), (start, middle + reach))
    return [*shapes, Polyline(print_, "peel")]


def _label(
    label: Size, x: float, y: float, bag: Bag, obstacles: Sequence[Outline]
) -> Rect | None:  # fmt: skip
    """Its place on the outer bag: outside the seal at the fill end, else on the film inside."""
    side = (bag.outer_width - bag.inner_width) / 2
    margin = Rect(x, y, bag.base - bag.seal, bag.outer_width, "")
    inside = Rect(x + bag.base, y + side, bag.inner_length, bag.inner_width, "")
    return place_of_label(label, margin, inside, obstacles)


def _outlined(shapes: Sequence[Shape]) -> list[Outline]:
    """Rectangles as outlines, for what keeps clear of them."""
    return [block(one.x, one.y, one.width, one.height) for one in shapes if isinstance(one, Rect)]

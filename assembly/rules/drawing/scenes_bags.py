"""Pouches, rolls and double pouches to scale: bags with an instrument in them.

x runs along the bag to the peel end at the right, y across it. A pouch is peeled at the
chevron, where its maker sealed it, and closed at the fill end; a roll is closed at both ends
and peeled where the chevron of its print points. A scene decides nothing: it draws what a
candidate's findings were computed from. The outline inside the instrument's box is
schematic; the box is to scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assembly.rules.drawing.shapes import (
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
    control_rule,
    dimension_along,
    lettering,
    outline,
    ticks_across,
)
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Pouch, Roll
from assembly.rules.findings import Show, metric
from assembly.rules.limits.clearances import BASE, clearance
from assembly.rules.policy.values import Policy

LEGEND = (
    "The box is to scale; the outline in it is schematic.",
    "Hatched: seals. Chevron: where it is peeled open. Strip: indicator.",
)


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag laid flat, in mm; ``base`` is what lies left of the inside, seal included.

    ``left_end`` says what is done there. ``maker_sealed``: the end at the right came closed,
    so that the handle lies against it and what room is left is at the tips.
    """

    name: str
    outer_length: float
    outer_width: float
    inner_length: float
    inner_width: float
    base: float
    left_end: str
    maker_sealed: bool


def pouch_bag(pouch: Pouch) -> Bag | None:
    """A pouch as a bag; None where its inner size is unknown.

    The seal at its chevron is drawn as wide as a side seal; what is left is the fill end.
    """
    if pouch.inner_width_mm is None or pouch.inner_length_mm is None:
        return None
    outer_width = pouch.outer_width_mm or pouch.inner_width_mm
    outer_length = pouch.outer_length_mm or pouch.inner_length_mm
    side = (outer_width - pouch.inner_width_mm) / 2
    return Bag(
        f"pouch {pouch.code}",
        outer_length,
        outer_width,
        pouch.inner_length_mm,
        pouch.inner_width_mm,
        outer_length - pouch.inner_length_mm - min(side, outer_length - pouch.inner_length_mm),
        "fill end: close here",
        True,
    )


def roll_bag(roll: Roll, cut_mm: float, policy: Policy) -> Bag | None:
    """A piece of roll as a bag; None where its width or side seal is unknown."""
    if roll.nominal_width_mm is None or roll.side_seal_mm is None:
        return None
    seal = policy.number("roll_seal_mm")
    base = policy.number("roll_base_allowance_mm") + seal
    inner = cut_mm - base - seal - policy.number("roll_peel_allowance_mm")
    width = roll.nominal_width_mm - 2 * roll.side_seal_mm
    return Bag(f"roll {roll.code}", cut_mm, roll.nominal_width_mm, inner, width, base,
               "base seal", False)  # fmt: skip


def bag_scene(
    instrument: Instrument, bags: Sequence[Bag], policy: Policy, show: Show = metric
) -> Scene | None:
    """The instrument in a bag, or in the last of several, each lying in the one before.

    None where a size needed to draw it is unknown. The handle lies to the peel end.
    """
    length, width = instrument.length_mm, instrument.width_mm
    if length is None or width is None or not bags:
        return None
    outer = bags[0]
    text = lettering(max(outer.outer_length, outer.outer_width, length))
    left, top = 4.6 * text, 2.4 * text
    placed = _nested(bags, left, top)
    x0, y0, inner = placed[-1][0] + bags[-1].base, placed[-1][1], bags[-1]
    inside_y = y0 + (inner.outer_width - inner.inner_width) / 2
    height = instrument.height_mm or 0.0
    free = clearance(BASE, height, policy) + height / 2
    if inner.maker_sealed:
        free = inner.inner_length - free - length
    spot = _Spot(x0, inside_y, inner.inner_length, inner.inner_width, x0 + free,
                 inside_y + (inner.inner_width - width) / 2, length, width)  # fmt: skip
    bottom = top + outer.outer_width
    shapes: list[Shape] = []
    for (x, y), bag in zip(placed, bags, strict=True):
        shapes += _bag(x, y, bag)
    shapes += [
        *_indicator(spot, text),
        *outline(instrument, spot.item_x, spot.item_y, length, width),
        *_measures(spot, left, bottom, text, show),
        Text(left, top - text * 0.5, outer.left_end, "word", "start"),
        Text(left + outer.outer_length - text * 0.3, top - text * 0.5, "peel end, handle here",
             "word", "end"),
    ]  # fmt: skip
    total = outer.outer_width + 7.2 * text
    shapes += control_rule(left, total - text * 1.1, text, show)
    reach = max(outer.outer_length, spot.item_x + length - left)
    names = " in ".join(bag.name for bag in reversed(bags))
    return Scene(
        reach + left + 1.5 * text,
        total,
        tuple(shapes),
        f"{instrument.name} in {names}, to scale",
        f"Outside {show(outer.outer_length, 'mm')} by {show(outer.outer_width, 'mm')}; the "
        f"instrument takes {show(length, 'mm')} by {show(width, 'mm')} in it.",
        LEGEND,
    )


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
    """The inside of the innermost bag and the instrument in it, in mm."""

    x0: float
    y0: float
    inner_length: float
    inner_width: float
    item_x: float
    item_y: float
    length: float
    width: float


def _bag(x: float, y: float, bag: Bag) -> list[Shape]:
    side = (bag.outer_width - bag.inner_width) / 2
    return [
        Rect(x, y, bag.outer_length, bag.outer_width, "sheet", 1.5),
        Rect(x + bag.base, y + side, bag.inner_length, bag.inner_width, "inside"),
        _chevron(x + bag.outer_length, y, bag.outer_width, x + bag.base + bag.inner_length),
    ]


def _chevron(right: float, top: float, outer_width: float, seal_x: float) -> Polyline:
    """The peel end: the chevron that handles point to."""
    depth = min(outer_width / 3, (right - seal_x) * 0.8)
    tip = right - depth * 0.15
    return Polyline(
        (
            (tip - depth, top + outer_width * 0.18),
            (tip, top + outer_width / 2),
            (tip - depth, top + outer_width * 0.82),
        ),
        "peel",
    )


def _indicator(spot: _Spot, text: float) -> list[Shape]:
    """A strip beside the instrument at the base, where it reads through the film."""
    free = (spot.inner_width - spot.width) / 2
    thick = min(free * 0.45, text * 1.1)
    if thick <= 0:
        return []
    x = max(spot.item_x, spot.x0 + 2)
    return [Rect(x, spot.y0 + (free - thick) / 2, text * 5, thick, "indicator", 0.8)]


def _measures(spot: _Spot, left: float, bottom: float, text: float, show: Show) -> list[Shape]:
    """The distances that the eye looks for: to the seals and at the side."""
    item_end, seal_end = spot.item_x + spot.length, spot.x0 + spot.inner_length
    shapes: list[Shape] = []
    for start, end in ((spot.x0, spot.item_x), (spot.item_x, item_end), (item_end, seal_end)):
        shapes += dimension_along(start, end, bottom + text * 1.1, text, show)
    side, ruler = spot.item_y - spot.y0, left - text * 1.1
    if side > 0:
        shapes += [
            Polyline(((ruler, spot.y0), (ruler, spot.item_y)), "dimension"),
            *ticks_across(ruler, (spot.y0, spot.item_y), text),
            Text(
                ruler - text * 0.3,
                (spot.y0 + spot.item_y) / 2 + text * 0.35,
                show(side, "mm"),
                "figure",
                "end",
            ),
        ]
    return shapes

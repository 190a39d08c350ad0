"""A package to scale, as plain shapes in millimetres, for the screen and for paper alike.

x runs along the pouch from the base seal to the peel end, y across it. A scene decides
nothing: it draws what a candidate's findings were computed from. The outline inside the
instrument's box is schematic; the box is to scale.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from assembly.packing.facts import Instrument, Pouch
from assembly.packing.findings import Show, metric

CONTROL_RULE_MM = 50.0
"""Length of the rule drawn beside every scene, to check a print against."""


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    width: float
    height: float
    role: str
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Ellipse:
    x: float
    y: float
    rx: float
    ry: float
    role: str


@dataclass(frozen=True, slots=True)
class Polyline:
    points: tuple[tuple[float, float], ...]
    role: str
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    x: float
    y: float
    words: str
    role: str
    anchor: str = "middle"


Shape = Rect | Ellipse | Polyline | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """Shapes in drawing order on a sheet of ``width`` x ``height`` mm, with its words."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str
    description: str
    legend: tuple[str, ...] = field(default=())


def pouch_scene(
    instrument: Instrument, pouch: Pouch, base_mm: float, show: Show = metric
) -> Scene | None:
    """The instrument lying in the pouch; None where a size needed to draw it is unknown.

    ``base_mm`` is the sheet left free at the base seal. The handle lies to the peel end.
    """
    sizes = (instrument.length_mm, instrument.width_mm, pouch.inner_width_mm, pouch.inner_length_mm)
    if None in sizes:
        return None
    length, width, inner_width, inner_length = (float(size or 0) for size in sizes)
    outer_width = pouch.outer_width_mm or inner_width
    outer_length = pouch.outer_length_mm or inner_length
    seal = (outer_width - inner_width) / 2
    scale = max(outer_length, outer_width, length)
    text = scale / 34
    margin = 4.6 * text
    left, top = margin, 2.4 * text
    x0, y0 = left + seal, top + seal
    item_x = x0 + base_mm + (instrument.height_mm or 0.0) / 2
    item_y = top + (outer_width - width) / 2
    shapes: list[Shape] = [
        Rect(left, top, outer_length, outer_width, "sheet", 1.5),
        Rect(x0, y0, inner_length, inner_width, "inside"),
        _chevron(left + outer_length, top, outer_width, x0 + inner_length),
        *_indicator(x0, y0, inner_width, width, item_x, text),
        *outline(instrument, item_x, item_y, length, width),
    ]
    shapes += _measures(
        _Plan(left, top, outer_length, outer_width, x0, y0, inner_length, inner_width,
              item_x, item_y, length, width), text, show)  # fmt: skip
    sheet_width = max(outer_length, item_x + length - left) + margin + 1.5 * text
    sheet_height = outer_width + 7.2 * text
    shapes += _rule(left, sheet_height - text * 1.1, text, show)
    return Scene(
        sheet_width,
        sheet_height,
        tuple(shapes),
        f"{instrument.name} in pouch {pouch.code}, to scale",
        f"Pouch {show(outer_length, 'mm')} by {show(outer_width, 'mm')} outside; the instrument "
        f"takes {show(length, 'mm')} by {show(width, 'mm')} in it.",
        (
            "The box is to scale; the outline in it is schematic.",
            "Hatched: seals. Arrow: where it is peeled open. Strip: indicator.",
        ),
    )


@dataclass(frozen=True, slots=True)
class _Plan:
    left: float
    top: float
    outer_length: float
    outer_width: float
    x0: float
    y0: float
    inner_length: float
    inner_width: float
    item_x: float
    item_y: float
    length: float
    width: float


def _chevron(right: float, top: float, outer_width: float, seal_x: float) -> Polyline:
    """The peel end: the arrow that points the way the film is pulled."""
    depth = min(outer_width / 3, (right - seal_x) * 0.8)
    middle = top + outer_width / 2
    tip = right - depth * 0.15
    return Polyline(
        ((tip - depth, top + outer_width * 0.18), (tip, middle),
         (tip - depth, top + outer_width * 0.82)),
        "peel",
    )  # fmt: skip


def _indicator(
    x0: float, y0: float, inner_width: float, width: float, item_x: float, text: float
) -> list[Shape]:
    """A strip beside the instrument at the base, where it reads through the film."""
    free = (inner_width - width) / 2
    thick = min(free * 0.45, text * 1.1)
    if thick <= 0:
        return []
    return [Rect(max(item_x, x0 + 2), y0 + (free - thick) / 2, text * 5, thick, "indicator", 0.8)]


def outline(instrument: Instrument, x: float, y: float, length: float, width: float) -> list[Shape]:
    """The instrument's box, with a schematic outline by what is known of its form."""
    box = Rect(x, y, length, width, "box")
    middle = y + width / 2
    if instrument.hinged and length > width:
        return [box, *_ringed(x, middle, length, width)]
    if instrument.hinged is False and width > length * 0.6:
        return [box, Ellipse(x + length / 2, middle, length / 2, width / 2, "instrument")]
    bar = max(width * 0.5, min(width, 6.0))
    points = (
        (x, middle), (x + length * 0.18, middle - bar / 2), (x + length, middle - bar / 2),
        (x + length, middle + bar / 2), (x + length * 0.18, middle + bar / 2),
    )  # fmt: skip
    return [box, Polyline(points, "instrument", closed=True)]


def _ringed(x: float, middle: float, length: float, width: float) -> list[Shape]:
    """Two rings at the handle end, a joint, and jaws a little open."""
    ring_x, ring_y = min(width * 0.3, length * 0.12), width * 0.22
    joint = x + length * 0.36
    jaw = width * 0.08
    end = x + length
    arms: list[Shape] = []
    for side in (-1, 1):
        ring_middle = middle + side * (width / 2 - ring_y)
        arms += [
            Ellipse(end - ring_x, ring_middle, ring_x, ring_y, "instrument"),
            Polyline(
                ((end - 2 * ring_x, ring_middle), (joint, middle), (x, middle - side * jaw)),
                "instrument-line",
            ),
        ]
    return [*arms, Ellipse(joint, middle, width * 0.04, width * 0.04, "joint")]


def _measures(plan: _Plan, text: float, show: Show) -> list[Shape]:
    """The distances that the eye looks for: to the seals and at the side."""
    below = plan.top + plan.outer_width + text * 1.1
    item_end = plan.item_x + plan.length
    seal_end = plan.x0 + plan.inner_length
    shapes: list[Shape] = []
    for start, end in ((plan.x0, plan.item_x), (plan.item_x, item_end), (item_end, seal_end)):
        shapes += _dimension_along(start, end, below, text, show)
    ruler = plan.left - text * 1.1
    side = plan.item_y - plan.y0
    if side > 0:
        shapes += [
            Polyline(((ruler, plan.y0), (ruler, plan.item_y)), "dimension"),
            *_ticks_across(ruler, (plan.y0, plan.item_y), text),
            Text(ruler - text * 0.3, (plan.y0 + plan.item_y) / 2 + text * 0.35, show(side, "mm"),
                 "figure", "end"),
        ]  # fmt: skip
    shapes.append(
        Text(plan.left + plan.outer_length - text * 0.3, plan.top - text * 0.5,
             "peel end, handle here", "word", "end")
    )  # fmt: skip
    shapes.append(Text(plan.left, plan.top - text * 0.5, "base seal", "word", "start"))
    return shapes


def _dimension_along(start: float, end: float, y: float, text: float, show: Show) -> list[Shape]:
    role = "dimension" if end >= start else "dimension-over"
    return [
        Polyline(((start, y), (end, y)), role),
        *[Polyline(((x, y - text * 0.35), (x, y + text * 0.35)), role) for x in (start, end)],
        Text((start + end) / 2, y + text * 1.35, show(end - start, "mm"), "figure"),
    ]


def _ticks_across(x: float, ys: tuple[float, float], text: float) -> list[Shape]:
    return [Polyline(((x - text * 0.35, y), (x + text * 0.35, y)), "dimension") for y in ys]


def _rule(x: float, y: float, text: float, show: Show) -> list[Shape]:
    """A rule of known length, to check the scale on paper."""
    return [
        Polyline(((x, y), (x + CONTROL_RULE_MM, y)), "rule"),
        *[
            Polyline(((x + at, y - text * 0.4), (x + at, y)), "rule")
            for at in (0.0, 10.0, 20.0, 30.0, 40.0, CONTROL_RULE_MM)
        ],
        Text(x + CONTROL_RULE_MM + text * 0.5, y, show(CONTROL_RULE_MM, "mm"), "word", "start"),
    ]

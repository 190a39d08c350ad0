"""Plain shapes in millimetres: what a scene is made of, for the screen and for paper alike."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Show

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


def lettering(scale: float) -> float:
    """The height of the lettering (mm) on a scene whose longer side is ``scale`` mm."""
    return scale / 34


def outline(instrument: Instrument, x: float, y: float, length: float, width: float) -> list[Shape]:
    """The instrument's box, with a schematic outline by what is known of its form."""
    if instrument.pieces > 1:
        return _side_by_side(instrument, x, y, length, width)
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


GAP_SHARE = 0.1
"""The gap drawn between instruments side by side, as a share of the pitch."""


def _side_by_side(
    instrument: Instrument, x: float, y: float, length: float, width: float
) -> list[Shape]:
    """One outline for each of several pieces in a row."""
    one = replace(instrument, pieces=1)
    pitch = width / (instrument.pieces - GAP_SHARE)
    return [
        shape
        for n in range(instrument.pieces)
        for shape in outline(one, x, y + n * pitch, length, pitch * (1 - GAP_SHARE))
    ]


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


def dimension_along(start: float, end: float, y: float, text: float, show: Show) -> list[Shape]:
    role = "dimension" if end >= start else "dimension-over"
    return [
        Polyline(((start, y), (end, y)), role),
        *[Polyline(((x, y - text * 0.35), (x, y + text * 0.35)), role) for x in (start, end)],
        Text((start + end) / 2, y + text * 1.35, show(end - start, "mm"), "figure"),
    ]


def ticks_across(x: float, ys: tuple[float, float], text: float) -> list[Shape]:
    return [Polyline(((x - text * 0.35, y), (x + text * 0.35, y)), "dimension") for y in ys]


def control_rule(x: float, y: float, text: float, show: Show) -> list[Shape]:
    """A rule of known length, to check the scale on paper."""
    return [
        Polyline(((x, y), (x + CONTROL_RULE_MM, y)), "rule"),
        *[
            Polyline(((x + at, y - text * 0.4), (x + at, y)), "rule")
            for at in (0.0, 10.0, 20.0, 30.0, 40.0, CONTROL_RULE_MM)
        ],
        Text(x + CONTROL_RULE_MM + text * 0.5, y, show(CONTROL_RULE_MM, "mm"), "word", "start"),
    ]


def turned_box(x: float, y: float, length: float, width: float, angle: float) -> Polyline:
    """A box (mm) round its middle ``x``, ``y``, turned by ``angle`` radians."""
    cos, sin = math.cos(angle), math.sin(angle)
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    points = tuple(
        (
            x + (dx * length * cos - dy * width * sin) / 2,
            y + (dx * length * sin + dy * width * cos) / 2,
        )
        for dx, dy in corners
    )
    return Polyline(points, "box", closed=True)

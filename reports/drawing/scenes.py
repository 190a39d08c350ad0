"""A scene on paper: the same shapes as on the screen, black on white, at a stated scale.

1:1 where there is room, else the largest of a few plain scales. The scene's own 50 mm rule
is drawn at the same scale, so that a rule held against the print proves or disproves it; where
it would be too short for that, it is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assembly.rules.drawing.shapes import (
    CONTROL_RULE_MM,
    Polygon,
    Polyline,
    Rect,
    Ring,
    Scene,
    Shape,
    Text,
    points_of,
)
from reports.drawing import fonts
from reports.drawing.fitting import PrintRefused
from reports.drawing.fonts import Face
from reports.drawing.measures import points

SCALES = (*(n / 4 for n in range(4, 20)), *(n / 2 for n in range(10, 20)),
          *map(float, range(10, 31)), 35.0, 40.0)  # fmt: skip
LEAST_TYPE = 10.0
"""Points: what is read at arm's length."""
LEAST_SHARE = 0.9  # of it may be the room that a scene leaves; the letters then lie closer
MOST_TYPE = 12.0
LEAST_RULE_MM = 10.0
BELOW_THE_LAST = 0.5  # of a letter's height, under what is drawn lowest
EVEN_ODD = 0


@dataclass(frozen=True, slots=True)
class Pen:
    """How a role is drawn: line width (points; 0: no line), dashes, grey of the filling."""

    line: float
    dash: tuple[float, ...] = ()
    fill: float | None = None


PENS = {
    "sheet": Pen(1.0, fill=1.0),
    "inside": Pen(0.0, fill=1.0),
    "seal": Pen(0.5, fill=0.82),
    "to-seal": Pen(0.6, (2.5, 1.8), 1.0),
    "asked": Pen(0.6, (0.4, 2.2)),
    "label": Pen(0.6, fill=1.0),
    "paper": Pen(1.2, fill=1.0),
    "plate": Pen(0.6, fill=1.0),
    "tray": Pen(1.2, fill=1.0),
    "basket": Pen(0.5, fill=1.0),
    "peel": Pen(1.6),
    "box": Pen(0.0, fill=0.93),
    "chosen": Pen(1.8, fill=0.93),
    "instrument": Pen(0.9, fill=1.0),
    "piece": Pen(0.55, fill=1.0),
    "detail": Pen(0.4),
    "unknown": Pen(0.9, (3.5, 2.0), 0.93),
    "joint": Pen(0.4, fill=0.0),
    "indicator": Pen(0.7, fill=1.0),
    "mark": Pen(0.0, fill=0.0),
    "dimension": Pen(0.6),
    "dimension-over": Pen(1.8),
    "rule": Pen(0.6),
    "fold": Pen(0.6, (3.0, 2.4)),
}
PLAIN = Pen(0.6)


def scale_for(scene: Scene, width: float, height: float, least: float = LEAST_TYPE) -> float:
    """How many times smaller than life the scene fits ``width`` x ``height`` points, its letters
    no smaller than ``least`` points.

    PrintRefused when not even the smallest scale fits.
    """
    for scale in SCALES:
        if (
            points(scene.width) / scale <= width
            and height_on_paper(scene, scale) <= height
            and _natural_size(scene, scale) >= least * LEAST_SHARE
        ):
            return scale
    raise PrintRefused("drawing", "it does not fit on this paper at a scale that can be read.")


def scale_words(scale: float) -> str:
    """The scale, and what the rule in the drawing measures on paper.

    >>> scale_words(1.0), scale_words(15.0)
    ('Scale 1:1; its rule is 50 mm long here.', 'Scale 1:15.')
    >>> scale_words(4.0)
    'Scale 1:4; its rule of 50 mm is 12.5 mm long here.'
    """
    if not _ruled(scale):
        return f"Scale 1:{scale:g}."
    whole = f"{CONTROL_RULE_MM:g} mm"
    if scale == 1.0:
        return f"Scale 1:1; its rule is {whole} long here."
    return f"Scale 1:{scale:g}; its rule of {whole} is {CONTROL_RULE_MM / scale:.1f} mm long here."


def _ruled(scale: float) -> bool:
    """Whether the rule is long enough on paper to be held against another."""
    return CONTROL_RULE_MM / scale >= LEAST_RULE_MM


def height_on_paper(scene: Scene, scale: float) -> float:
    """How high the scene is on paper (points): without the rule where it is not drawn."""
    high = scene.height
    if not _ruled(scale) and any(shape.role == "rule" for shape in scene.shapes):
        lowest = max(_bottom(shape) for shape in scene.shapes if shape.role != "rule")
        high = min(high, lowest + scene.lettering * BELOW_THE_LAST)
    return points(high) / scale


def _bottom(shape: Shape) -> float:
    match shape:
        case Rect():
            return shape.y + shape.height
        case Text():
            return shape.y
        case _:
            return max(y for _, y in points_of(shape))


def paint_scene(
    canvas: Any, scene: Scene, left: float, top: float, scale: float,
    least: float = LEAST_TYPE, *, bold: float = 1.0, letters: float = 0.0,
) -> None:  # fmt: skip
    """The scene with its top left corner at ``left``, ``top`` (points), ``scale`` times smaller.

    ``bold``: how many times its lines are as thick as usual; ``letters``: the size of its
    words in points, else what the scene leaves room for.
    """
    unit = points(1.0) / scale
    size = min(max(_natural_size(scene, scale), least), MOST_TYPE)
    canvas.saveState()
    canvas.setLineJoin(1)
    for shape in scene.shapes:
        if shape.role == "rule" and not _ruled(scale):
            continue
        if isinstance(shape, Text):
            _paint_text(canvas, shape, left, top, unit, letters or size)
        else:
            _paint_shape(canvas, shape, left, top, unit, bold)
    canvas.restoreState()


def _natural_size(scene: Scene, scale: float) -> float:
    """The lettering that the scene leaves room for, in points."""
    return points(scene.lettering) / scale


def _paint_shape(
    canvas: Any, shape: Shape, left: float, top: float, unit: float, bold: float = 1.0
) -> None:
    pen = PENS.get(shape.role, PLAIN)
    canvas.setStrokeGray(0)
    canvas.setLineWidth(pen.line * bold)
    canvas.setDash(*([[length * bold for length in pen.dash]] if pen.dash else []))
    canvas.setLineCap(0 if pen.dash and pen.dash[0] > 1 else 1)
    if pen.fill is not None:
        canvas.setFillGray(pen.fill)
    fill = pen.fill is not None and not isinstance(shape, Polyline)
    path = canvas.beginPath()
    _trace(path, shape, left, top, unit)
    canvas.drawPath(path, stroke=int(pen.line > 0), fill=int(fill), fillMode=EVEN_ODD)
    canvas.setFillGray(0)


def _trace(path: Any, shape: Shape, left: float, top: float, unit: float) -> None:
    match shape:
        case Rect():
            x, y = left + shape.x * unit, top - (shape.y + shape.height) * unit
            path.roundRect(x, y, shape.width * unit, shape.height * unit, shape.radius * unit)
        case Polygon():
            for ring in shape.rings:
                _line(path, ring, left, top, unit)
                path.close()
        case Polyline():
            _line(path, shape.points, left, top, unit)
        case _:
            raise TypeError(f"no way to draw {shape!r}")


def _line(path: Any, points_: Ring, left: float, top: float, unit: float) -> None:
    (x, y), *others = points_
    path.moveTo(left + x * unit, top - y * unit)
    for x, y in others:
        path.lineTo(left + x * unit, top - y * unit)


def _paint_text(
    canvas: Any, shape: Text, left: float, top: float, unit: float, size: float
) -> None:
    face = Face.SEMIBOLD if shape.role == "figure" else Face.REGULAR
    words = fonts.shown(shape.words, face)
    width = fonts.width(words, face, size)
    shift = {"start": 0.0, "middle": width / 2, "end": width}[shape.anchor]
    fonts.draw(canvas, left + shape.x * unit - shift, top - shape.y * unit, words, face, size)

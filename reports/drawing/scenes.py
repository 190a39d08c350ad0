"""A scene on paper: the same shapes as on the screen, black on white, at a stated scale.

1:1 where there is room, else the largest of a few plain scales. The scene's own 50 mm rule
is drawn at the same scale, so that a rule held against the print proves or disproves it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from assembly.rules.drawing.shapes import (
    CONTROL_RULE_MM,
    Ellipse,
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
)
from reports.drawing import fonts
from reports.drawing.fitting import PrintRefused
from reports.drawing.fonts import Face
from reports.drawing.measures import points

SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0)
LETTERING = 0.85 / 34  # of the scene's longer side, as the scene leaves room for
LEAST_TYPE = 5.0
LEAST_SHARE = 0.66  # of it may be the room that a scene leaves; the letters then lie closer
MOST_TYPE = 9.0
HATCH_STEP = points(0.9)
HATCH_GRAY = 0.55


@dataclass(frozen=True, slots=True)
class Pen:
    """How a role is drawn: line width (points), dashes, grey of the filling (None: none)."""

    line: float
    dash: tuple[float, ...] = ()
    fill: float | None = None
    hatched: bool = False


PENS = {
    "sheet": Pen(1.0, fill=1.0, hatched=True),
    "inside": Pen(0.6, fill=1.0),
    "paper": Pen(1.2, fill=1.0),
    "tray": Pen(1.2, fill=1.0),
    "peel": Pen(1.6),
    "box": Pen(0.8, (3.5, 2.0), 0.93),
    "instrument": Pen(1.2),
    "instrument-line": Pen(2.0),
    "joint": Pen(0.5, fill=0.0),
    "indicator": Pen(0.8, (1.5, 1.5), 1.0),
    "dimension": Pen(0.6),
    "dimension-over": Pen(1.8),
    "rule": Pen(0.6),
    "fold": Pen(0.6, (3.0, 2.4)),
}
PLAIN = Pen(0.6)


def scale_for(scene: Scene, width: float, height: float) -> float:
    """How many times smaller than life the scene fits ``width`` x ``height`` points.

    PrintRefused when not even the smallest scale fits.
    """
    for scale in SCALES:
        if (
            points(scene.width) / scale <= width
            and points(scene.height) / scale <= height
            and _natural_size(scene, scale) >= LEAST_TYPE * LEAST_SHARE
        ):
            return scale
    raise PrintRefused("drawing", "it does not fit on this paper at a scale that can be read.")


def scale_words(scale: float) -> str:
    """The scale, and what the control rule measures on paper.

    >>> scale_words(1.0)
    'Scale 1:1. The rule in the drawing is 50 mm long on this paper.'
    >>> scale_words(4.0)
    'Scale 1:4. The rule in the drawing stands for 50 mm; on this paper it is 12.5 mm long.'
    """
    whole = f"{CONTROL_RULE_MM:g} mm"
    if scale == 1.0:
        return f"Scale 1:1. The rule in the drawing is {whole} long on this paper."
    return (
        f"Scale 1:{scale:g}. The rule in the drawing stands for {whole}; on this paper it is "
        f"{CONTROL_RULE_MM / scale:.1f} mm long."
    )


def paint_scene(canvas: Any, scene: Scene, left: float, top: float, scale: float) -> None:
    """The scene with its top left corner at ``left``, ``top`` (points), ``scale`` times smaller."""
    unit = points(1.0) / scale
    canvas.saveState()
    canvas.setLineJoin(1)
    for shape in scene.shapes:
        if isinstance(shape, Text):
            _paint_text(canvas, shape, left, top, unit, _type_size(scene, scale))
        else:
            _paint_shape(canvas, shape, left, top, unit)
    canvas.restoreState()


def _type_size(scene: Scene, scale: float) -> float:
    return min(max(_natural_size(scene, scale), LEAST_TYPE), MOST_TYPE)


def _natural_size(scene: Scene, scale: float) -> float:
    """The lettering that the scene leaves room for, in points."""
    return points(max(scene.width, scene.height) * LETTERING) / scale


def _paint_shape(canvas: Any, shape: Shape, left: float, top: float, unit: float) -> None:
    pen = PENS.get(shape.role, PLAIN)
    canvas.setStrokeGray(0)
    canvas.setLineWidth(pen.line)
    canvas.setDash(*([list(pen.dash)] if pen.dash else []))
    canvas.setLineCap(0 if pen.dash else 1)
    if pen.fill is not None:
        canvas.setFillGray(pen.fill)
    path, closed = _path(canvas, shape, left, top, unit)
    fill = int(pen.fill is not None and closed)
    if pen.hatched and isinstance(shape, Rect):
        canvas.drawPath(path, stroke=0, fill=fill)
        _hatch(canvas, path, shape, left, top, unit)
        canvas.setStrokeGray(0)
        canvas.setLineWidth(pen.line)
        fill = 0
    canvas.drawPath(path, stroke=1, fill=fill)
    canvas.setFillGray(0)


def _path(canvas: Any, shape: Shape, left: float, top: float, unit: float) -> tuple[Any, bool]:
    path = canvas.beginPath()
    match shape:
        case Rect():
            x, y = left + shape.x * unit, top - (shape.y + shape.height) * unit
            path.roundRect(x, y, shape.width * unit, shape.height * unit, shape.radius * unit)
            return path, True
        case Ellipse():
            x, y = left + (shape.x - shape.rx) * unit, top - (shape.y + shape.ry) * unit
            path.ellipse(x, y, 2 * shape.rx * unit, 2 * shape.ry * unit)
            return path, True
        case Polyline():
            (x, y), *others = shape.points
            path.moveTo(left + x * unit, top - y * unit)
            for x, y in others:
                path.lineTo(left + x * unit, top - y * unit)
            if shape.closed:
                path.close()
            return path, shape.closed
    raise TypeError(f"no way to draw {shape!r}")


def _hatch(canvas: Any, path: Any, shape: Rect, left: float, top: float, unit: float) -> None:
    """Slanted lines in the shape: seals."""
    x, y = left + shape.x * unit, top - (shape.y + shape.height) * unit
    width, height = shape.width * unit, shape.height * unit
    canvas.saveState()
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setStrokeGray(HATCH_GRAY)
    canvas.setLineWidth(0.4)
    for step in range(int((width + height) / HATCH_STEP) + 1):
        start = x - height + step * HATCH_STEP
        canvas.line(start, y, start + height, y + height)
    canvas.restoreState()


def _paint_text(
    canvas: Any, shape: Text, left: float, top: float, unit: float, size: float
) -> None:
    face = Face.SEMIBOLD if shape.role == "figure" else Face.REGULAR
    if lacking := fonts.missing(shape.words, face):
        raise PrintRefused("drawing", f"the typeface cannot show {', '.join(lacking)}.")
    canvas.setFillGray(0)
    canvas.setFont(fonts.use(face), size)
    width = fonts.width(shape.words, face, size)
    shift = {"start": 0.0, "middle": width / 2, "end": width}[shape.anchor]
    canvas.drawString(left + shape.x * unit - shift, top - shape.y * unit, shape.words)

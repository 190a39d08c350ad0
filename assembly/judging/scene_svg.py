"""A scene as SVG in whole tenths of a millimetre, with colours and lines from the stylesheet."""

from __future__ import annotations

from html import escape
from itertools import pairwise

from assembly.rules.drawing.shapes import Polygon, Polyline, Rect, Ring, Scene, Shape, Text

PER_MM = 10


def svg(scene: Scene) -> str:
    """The scene as one ``<svg>`` element, named for screen readers."""
    body = "".join(_shape(shape) for shape in scene.shapes)
    return (
        f'<svg class="scene" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="0 0 {_n(scene.width)} {_n(scene.height)}" font-size="{_n(scene.lettering)}" '
        f'aria-label="{escape(f"{scene.title}. {scene.description}")}">{body}</svg>'
    )


def _n(mm: float) -> int:
    return round(mm * PER_MM)


def _path(ring: Ring) -> str:
    """The points as a path; each but the first says how far it is from the one before."""
    (x, y), *_ = points = [(_n(x), _n(y)) for x, y in ring]
    steps = " ".join(f"{x1 - x0} {y1 - y0}" for (x0, y0), (x1, y1) in pairwise(points))
    return f"M{x} {y}l{steps}".replace(" -", "-")


def _shape(shape: Shape) -> str:
    role = f'class="{shape.role}"'
    match shape:
        case Rect():
            corner = f' rx="{_n(shape.radius)}"' if shape.radius else ""
            return (
                f'<rect {role} x="{_n(shape.x)}" y="{_n(shape.y)}" width="{_n(shape.width)}" '
                f'height="{_n(shape.height)}"{corner}/>'
            )
        case Polygon():
            return f'<path {role} d="{"".join(f"{_path(ring)}z" for ring in shape.rings)}"/>'
        case Polyline():
            return f'<path {role} d="{_path(shape.points)}"/>'
        case Text():
            return (
                f'<text {role} x="{_n(shape.x)}" y="{_n(shape.y)}" '
                f'text-anchor="{shape.anchor}">{escape(shape.words)}</text>'
            )

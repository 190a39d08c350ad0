"""A scene as SVG: one unit a millimetre, colours and lines from the stylesheet by role."""

from __future__ import annotations

from html import escape
from itertools import pairwise

from assembly.rules.drawing.shapes import Polygon, Polyline, Rect, Ring, Scene, Shape, Text


def svg(scene: Scene) -> str:
    """The scene as one ``<svg>`` element, named for screen readers."""
    body = "".join(_shape(shape) for shape in scene.shapes)
    return (
        f'<svg class="scene" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="0 0 {_n(scene.width)} {_n(scene.height)}" font-size="{_n(scene.lettering)}" '
        f'aria-label="{escape(f"{scene.title}. {scene.description}")}">{body}</svg>'
    )


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _path(ring: Ring) -> str:
    """The points as a path; each but the first says how far it is from the one before."""
    rounded = [(round(x, 1), round(y, 1)) for x, y in ring]
    steps = [f"{_n(x - before[0])} {_n(y - before[1])}" for before, (x, y) in pairwise(rounded)]
    return f"M{_n(rounded[0][0])} {_n(rounded[0][1])}l{' '.join(steps)}".replace(" -", "-")


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

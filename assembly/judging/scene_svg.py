"""A scene as SVG: one unit a millimetre, colours from the stylesheet by role."""

from __future__ import annotations

from html import escape

from assembly.rules.drawing.shapes import Ellipse, Polyline, Rect, Scene, Shape, Text

FONT_SHARE = 1 / 34
"""Size of the lettering as a share of the sheet's longer side, as the scene allows for it."""


def svg(scene: Scene) -> str:
    """The scene as one ``<svg>`` element with title and description for screen readers."""
    size = (max(scene.width, scene.height) * FONT_SHARE) * 0.85
    body = "".join(_shape(shape, size) for shape in scene.shapes)
    return (
        f'<svg class="scene" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="0 0 {_n(scene.width)} {_n(scene.height)}" aria-labelledby="scene-t scene-d">'
        f'<title id="scene-t">{escape(scene.title)}</title>'
        f'<desc id="scene-d">{escape(scene.description)}</desc>'
        '<defs><pattern id="hatch" width="3" height="3" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="3" class="hatch"/>'
        f"</pattern></defs>{body}</svg>"
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _shape(shape: Shape, size: float) -> str:
    role = f'class="{shape.role}"'
    match shape:
        case Rect():
            return (
                f'<rect {role} x="{_n(shape.x)}" y="{_n(shape.y)}" width="{_n(shape.width)}" '
                f'height="{_n(shape.height)}" rx="{_n(shape.radius)}"/>'
            )
        case Ellipse():
            return (
                f'<ellipse {role} cx="{_n(shape.x)}" cy="{_n(shape.y)}" rx="{_n(shape.rx)}" '
                f'ry="{_n(shape.ry)}"/>'
            )
        case Polyline():
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
            tag = "polygon" if shape.closed else "polyline"
            return f'<{tag} {role} points="{points}"/>'
        case Text():
            return (
                f'<text {role} x="{_n(shape.x)}" y="{_n(shape.y)}" font-size="{_n(size)}" '
                f'text-anchor="{shape.anchor}">{escape(shape.words)}</text>'
            )

"""What several posters draw: a pouch from above, scissors, an indicator, arrows and rings.

Schematic, ours, in mm, and not to scale with anything on record. Film is white, the porous
side and every seal gray, so that a copy in black and white says the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from assembly.rules.drawing.forms import outline_of
from assembly.rules.drawing.looks import Look
from assembly.rules.drawing.shapes import (
    Outline,
    Point,
    Polygon,
    Polyline,
    Scene,
    Shape,
    block,
    mapped,
    oval,
)

LETTERING = 9.0
SEAL_MM = 7.0
RIBS = (0.25, 0.5, 0.75)


def scene(width: float, height: float, shapes: Sequence[Shape], title: str) -> Scene:
    """The shapes as a scene of a poster; ``title`` says in words what is drawn."""
    return Scene(width, height, LETTERING, tuple(shapes), title, "Not to scale.")


def moved(shapes: Sequence[Outline], x: float, y: float) -> list[Outline]:
    return mapped(shapes, lambda a, b: (a + x, b + y))


def arrow(start: Point, end: Point, thick: float = 3.0) -> list[Outline]:
    """A black arrow from ``start`` to ``end``."""
    (x0, y0), (x1, y1) = start, end
    far = math.dist(start, end)
    along, across = ((x1 - x0) / far, (y1 - y0) / far), (-(y1 - y0) / far, (x1 - x0) / far)
    neck = far - thick * 2.6

    def at(way: float, side: float) -> Point:
        return (x0 + along[0] * way + across[0] * side, y0 + along[1] * way + across[1] * side)

    half, wide = thick / 2, thick * 1.5
    ring = (at(0, half), at(neck, half), at(neck, wide), at(far, 0), at(neck, -wide),
            at(neck, -half), at(0, -half))  # fmt: skip
    return [Polygon((ring,), "mark")]


def look_here(x: float, y: float, rx: float, ry: float | None = None) -> Polyline:
    """A bold ring round what is wrong."""
    points = oval(x, y, rx, ry or rx)
    return Polyline((*points, points[0]), "peel")


def ribbed(x: float, y: float, width: float, height: float, upright: bool = False) -> list[Outline]:
    """A seal made at the bench: gray with its ribs along it."""
    ribs = [
        Polyline(
            ((x + width * share, y), (x + width * share, y + height))
            if upright
            else ((x, y + height * share), (x + width, y + height * share)),
            "detail",
        )
        for share in RIBS
    ]
    return [block(x, y, width, height, "seal"), *ribs]


def pouch(x: float, y: float, length: float, width: float) -> list[Outline]:
    """A closed pouch from its film side: chevron at the right, our own seal at the left."""
    right, bottom, middle = x + length, y + width, y + width / 2
    side = min(SEAL_MM, width * 0.09)
    deep, thick = width * 0.3, side * 1.3
    tip, end = right - deep - thick, right - thick
    chevron = ((end - side, y + side), (tip, middle), (end - side, bottom - side),
               (end, bottom - side), (tip + thick, middle), (end, y + side))  # fmt: skip
    return [
        block(x, y, length, width, "sheet", 1.5),
        block(x, y, length, side, "seal"),
        block(x, bottom - side, length, side, "seal"),
        Polygon((chevron,), "seal"),
        *ribbed(x + side * 1.4, y + side, side * 1.2, width - 2 * side, upright=True),
    ]


def scissors(
    x: float, y: float, length: float, width: float, *, back: bool = False
) -> list[Outline]:
    """Scissors lying open, their corner at ``x``, ``y``: tips to the left, or to the right."""
    found = outline_of(Look.SCISSORS, length, width)
    if back:
        return mapped(found, lambda a, b: (x + length - a, y + b))
    return moved(found, x, y)


def indicator(x: float, y: float, length: float, *, printed: bool = True) -> list[Outline]:
    """An indicator strip with its field and its print; its back is blank."""
    high = length * 0.24
    strip: list[Outline] = [block(x, y, length, high, "indicator")]
    if not printed:
        return strip
    field = block(x + length * 0.06, y + high * 0.2, length * 0.26, high * 0.6, "mark")
    lines = [
        block(x + length * 0.4, y + high * at, length * share, high * 0.14, "mark")
        for at, share in ((0.22, 0.5), (0.62, 0.36))
    ]
    return [*strip, field, *lines]

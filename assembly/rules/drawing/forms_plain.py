"""Outlines of handles, basins, boxes and what else is in one piece. See ``forms``."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.drawing.shapes import (
    Limb,
    Outline,
    Polygon,
    Polyline,
    block,
    curve,
    disc,
    hoop,
    limb,
)


def _bar(knots: Sequence[Limb], length: float, width: float) -> Polygon:
    """A limb along the middle line; knots are shares of the length, and of the half width."""
    return limb([(length * x, width * y, width / 2 * half) for x, y, half in knots])


def _ticks(
    length: float, width: float, first: float, step: float, count: int, reach: float
) -> list[Outline]:
    """Short lines across a handle."""
    return [
        Polyline(((length * at, -width * reach), (length * at, width * reach)), "detail")
        for at in (first + step * n for n in range(count))
    ]


def handle(length: float, width: float, turned: bool) -> list[Outline]:
    knots = [(0.02, 0, 0.3), (0.3, 0, 0.3), (0.45, 0, 0.8), (0.7, 0, 1), (0.97, 0, 0.8)]
    return [_bar(knots, length, width), *_ticks(length, width, 0.56, 0.05, 6, 0.3)]


def scalpel(length: float, width: float, turned: bool) -> list[Outline]:
    """A flat handle and the narrow fitting for a blade, which is not on it."""
    knots = [(0.19, 0, 0.62), (0.3, 0, 0.9), (0.42, 0, 0.72), (0.6, 0, 0.85), (0.97, 0, 1)]
    fitting = block(0, -width * 0.2, length * 0.2, width * 0.34, corner=width * 0.1)
    slot = Polyline(((length * 0.05, 0), (length * 0.16, 0)), "detail")
    return [fitting, slot, _bar(knots, length, width), *_ticks(length, width, 0.26, 0.025, 6, 0.3)]


def chisel(length: float, width: float, turned: bool) -> list[Outline]:
    """A broad edge, a shank, a faceted handle and the cap that the mallet strikes."""
    half = width / 2
    blade = [
        (0, -half),
        (length * 0.05, -half),
        (length * 0.3, -half * 0.45),
        (length * 0.42, -half * 0.34),
    ]
    edge = Polyline(((length * 0.035, -half), (length * 0.035, half)), "detail")
    grip = block(length * 0.42, -half * 0.8, length * 0.5, half * 1.6, corner=half * 0.4)
    lines = [
        Polyline(((length * 0.45, half * y), (length * 0.89, half * y)), "detail")
        for y in (-0.3, 0.3)
    ]
    return [
        Polygon(((*blade, *((x, -y) for x, y in reversed(blade))),), "instrument"),
        edge,
        grip,
        *lines,
        block(length * 0.92, -half, length * 0.08, width, corner=half * 0.35),
    ]


def curette(length: float, width: float, turned: bool) -> list[Outline]:
    """A small cup on a slim neck, and a handle with a waist."""
    knots = [(0.08, 0, 0.25), (0.36, 0, 0.32), (0.46, 0, 0.9), (0.7, 0, 0.75), (0.97, 0, 1)]
    cup = hoop(length * 0.045, 0, length * 0.045, width * 0.36, width * 0.12)
    return [_bar(knots, length, width), cup, *_ticks(length, width, 0.52, 0.03, 7, 0.3)]


def rasp(length: float, width: float, turned: bool) -> list[Outline]:
    """Two toothed ends, a plain middle."""
    found: list[Outline] = [
        limb([(length * 0.26, 0, width * 0.24), (length * 0.74, 0, width * 0.24)])
    ]
    for start in (0.0, 0.72):
        found.append(block(length * start, -width / 2, length * 0.28, width, corner=width * 0.3))
        found += [
            Polyline(((length * at, -width * 0.34), (length * (at + 0.02), width * 0.34)), "detail")
            for at in (start + 0.03 + 0.027 * n for n in range(8))
        ]
    return found


def elevator(length: float, width: float, turned: bool) -> list[Outline]:
    """A round-ended blade on a shank, and a ribbed handle."""
    knots = [(0.02, 0, 0.8), (0.1, 0, 1), (0.22, 0, 0.6), (0.42, 0, 0.4), (0.52, 0, 0.42)]
    grip = block(length * 0.5, -width * 0.46, length * 0.5, width * 0.92, corner=width * 0.3)
    edge = [(length * 0.03, -width * 0.26), (length * 0.09, 0.0), (length * 0.03, width * 0.26)]
    return [
        _bar(knots, length, width),
        Polyline(curve(edge), "detail"),
        grip,
        *_ticks(length, width, 0.55, 0.05, 8, 0.36),
    ]


def probe(length: float, width: float, turned: bool) -> list[Outline]:
    """A thin rod with a bulb at its tip and a flat to hold it by."""
    rod = [(0.02, 0, 0.5), (0.05, 0, 0.28), (0.7, 0, 0.28), (0.76, 0, 0.9), (0.97, 0, 1)]
    return [_bar(rod, length, width), *_ticks(length, width, 0.12, 0.08, 7, 0.2)]


def bowl(length: float, width: float, turned: bool) -> list[Outline]:
    """From above: the rolled rim, the wall, the floor."""
    x, rx, ry = length / 2, length / 2, width / 2
    return [
        disc(x, 0, rx, ry),
        disc(x, 0, rx * 0.93, ry * 0.93, "detail"),
        disc(x, 0, rx * 0.6, ry * 0.6, "detail"),
    ]


def kidney(length: float, width: float, turned: bool) -> list[Outline]:
    knots = [
        (0.5, -0.5),
        (0.82, -0.4),
        (0.99, 0.0),
        (0.88, 0.46),
        (0.7, 0.42),
        (0.5, 0.28),
        (0.3, 0.42),
        (0.12, 0.46),
        (0.01, 0.0),
        (0.18, -0.4),
    ]
    rims = []
    for share, role in ((1.0, "instrument"), (0.91, "detail"), (0.62, "detail")):
        ring = [(length * (0.5 + (x - 0.5) * share), width * (y * share)) for x, y in knots]
        rims.append(Polygon((curve(ring, closed=True),), role))
    return [*rims]


def device(length: float, width: float, turned: bool) -> list[Outline]:
    """A handpiece: a chuck, a body to hold, the socket at its end."""
    return [
        block(0, -width * 0.16, length * 0.14, width * 0.32, corner=width * 0.06),
        block(length * 0.12, -width * 0.34, length * 0.16, width * 0.68, corner=width * 0.1),
        block(length * 0.27, -width / 2, length * 0.6, width, corner=width * 0.16),
        *_ticks(length, width, 0.5, 0.05, 5, 0.36),
        block(length * 0.86, -width * 0.26, length * 0.14, width * 0.52, corner=width * 0.08),
    ]


def mallet(length: float, width: float, turned: bool) -> list[Outline]:
    head, grip = min(length * 0.28, width * 0.6), width * 0.13
    face = min(head * 0.2, width * 0.12)
    faces = [Polyline(((0, y), (head, y)), "detail") for y in (face - width / 2, width / 2 - face)]
    return [
        limb(
            [
                (head * 0.9, 0, grip * 0.8),
                (length * 0.6, 0, grip * 0.9),
                (length * 0.8, 0, grip * 1.2),
                (length - grip, 0, grip),
            ]
        ),
        block(0, -width / 2, head, width, corner=face * 0.5),
        *faces,
    ]


def cable(length: float, width: float, turned: bool) -> list[Outline]:
    """A cable in loose coils, a plug at either end of it."""
    thick = min(length, width) * 0.028
    coils: list[Outline] = [
        hoop(length * x, width * y, length * rx, width * ry, thick)
        for x, y, rx, ry in (
            (0.48, 0.0, 0.44, 0.5),
            (0.52, 0.02, 0.37, 0.41),
            (0.49, -0.02, 0.31, 0.34),
        )
    ]
    plugs = [
        block(length * 0.82, width * y, length * 0.18, width * 0.09, corner=thick)
        for y in (-0.46, 0.36)
    ]
    ends = [
        limb(
            [
                (length * 0.5, -width * 0.47, thick * 0.5),
                (length * 0.84, -width * 0.42, thick * 0.5),
            ]
        ),
        limb(
            [(length * 0.5, width * 0.47, thick * 0.5), (length * 0.84, width * 0.41, thick * 0.5)]
        ),
    ]
    return [*coils, *ends, *plugs]


def box(length: float, width: float, turned: bool) -> list[Outline]:
    edge = min(length, width) * 0.1
    return [
        block(0, -width / 2, length, width, corner=edge * 0.6),
        block(edge, edge - width / 2, length - 2 * edge, width - 2 * edge, "detail"),
    ]

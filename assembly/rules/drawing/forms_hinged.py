"""Outlines of what opens: rings, springs, shafts with a ring handle. See ``forms``."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.drawing.shapes import (
    Limb,
    Outline,
    Polygon,
    Polyline,
    block,
    disc,
    hoop,
    limb,
)

SIDES = (-1, 1)
FINGER_RING_MM = (15.0, 12.0)
"""Half the length and half the width of a finger ring, where there is room for it."""


def _ringed(
    length: float,
    width: float,
    joint: float,
    jaw: Sequence[Limb],
    *,
    ratchet: bool = True,
    ends: Sequence[Outline] = (),
) -> list[Outline]:
    """Two arms that cross at ``joint`` (share of the length), finger rings, what holds.

    ``jaw`` are the knots from the joint to the tip of the arm whose ring is at the bottom:
    shares of the length and the width, half widths in shares of the shank's.
    """
    rx = min(FINGER_RING_MM[0], length * 0.13)
    ry, half = min(FINGER_RING_MM[1], width * 0.22), min(2.4, length * 0.016, width * 0.05)
    cross, end, out = length * joint, length - rx, width / 2 - ry
    found: list[Outline] = []
    for side in SIDES:
        arm = [
            (end - rx * 0.8, side * (out - ry * 0.35), half),
            (cross + (end - rx - cross) * 0.62, side * width * 0.25, half),
            (cross + (end - rx - cross) * 0.2, side * width * 0.075, half * 1.3),
            (cross, 0.0, half * 1.9),
            *((length * x, -side * width * y, half * thick) for x, y, thick in jaw),
        ]
        found.append(limb(arm))
        if ratchet:
            at = end - rx * (2.0 if side < 0 else 1.75)
            found.append(limb([(at, side * width * 0.34, half), (at, side * half * 0.4, half)]))
        found.append(hoop(end, side * out, rx, ry, min(half * 1.6, ry * 0.45)))
    return [*found, *ends, disc(cross, 0, half * 0.9, half * 0.9, "joint")]


def scissors(length: float, width: float, turned: bool) -> list[Outline]:
    jaw = ((0.2, 0.05, 2.0), (0.0, 0.105, 0.35))
    return _ringed(length, width, 0.4, jaw, ratchet=False)


def clamp(length: float, width: float, turned: bool) -> list[Outline]:
    return _ringed(length, width, 0.32, ((0.16, 0.035, 1.25), (0.0, 0.06, 0.7)))


def needle_holder(length: float, width: float, turned: bool) -> list[Outline]:
    return _ringed(length, width, 0.2, ((0.1, 0.045, 2.0), (0.0, 0.06, 1.5)))


def looped(length: float, width: float, turned: bool) -> list[Outline]:
    ends = [
        hoop(length * 0.07, side * width * 0.11, length * 0.07, width * 0.075, width * 0.03)
        for side in SIDES
    ]
    return _ringed(length, width, 0.38, ((0.25, 0.06, 1.0), (0.14, 0.1, 1.0)), ends=ends)


def towel_clamp(length: float, width: float, turned: bool) -> list[Outline]:
    jaw = ((0.24, 0.15, 1.2), (0.1, 0.17, 1.0), (0.0, 0.05, 0.3))
    return _ringed(length, width, 0.38, jaw)


def grasper(length: float, width: float, turned: bool) -> list[Outline]:
    half = min(2.0, length * 0.014)
    ends = [
        limb([(half, side * width * 0.015, half), (half, side * width * 0.14, half)])
        for side in SIDES
    ]
    return _ringed(length, width, 0.36, ((0.18, 0.07, 1.0), (0.02, 0.075, 0.8)), ends=ends)


def spreader(length: float, width: float, turned: bool) -> list[Outline]:
    return _spread(length, width, (0.04, 0.1, 0.16))


def pointed(length: float, width: float, turned: bool) -> list[Outline]:
    return _spread(length, width, (0.03,))


def _spread(length: float, width: float, prongs: Sequence[float]) -> list[Outline]:
    """Rings and ratchet, arms that bow out, and prongs that point away from each other."""
    half = min(2.2, width * 0.03)
    ends: list[Outline] = [
        limb(
            [
                (length * at, side * width * 0.3, half * 0.9),
                (length * (at - 0.03), side * width * 0.47, half * 0.4),
            ]
        )
        for side in SIDES
        for at in prongs
    ]
    return _ringed(
        length, width, 0.5, ((0.3, 0.24, 1.1), (0.16, 0.29, 1.1), (0.03, 0.29, 1.0)), ends=ends
    )


def long_shaft(length: float, width: float, turned: bool) -> list[Outline]:
    """A thin shaft with small jaws, a knob to turn it, and two finger rings at one side."""
    half, top = min(2.6, width * 0.06), -width * 0.32
    grip = [(length * 0.79, top), (length * 0.87, top - width * 0.18), (length * 0.91, top)]
    hand = min(length * 0.075, width * 0.45)
    rings = [
        (length - hand * 0.55, width * 0.34, hand * 0.55, width * 0.16),
        (length - hand * 1.9, width * 0.26, hand * 0.5, width * 0.15),
    ]
    arms = [
        limb([(length * 0.89, top, half * 2), (x, y - ry * 0.9, half * 1.4)])
        for x, y, _, ry in rings
    ]
    jaws = [
        limb([(length * 0.06, top, half * 0.9), (0, top + side * width * 0.1, half * 0.3)])
        for side in SIDES
    ]
    body = [
        grip[0],
        grip[1],
        (length * 0.92, top - width * 0.16),
        (length * 0.93, top + width * 0.1),
        (length * 0.8, top + width * 0.1),
    ]
    return [
        *jaws,
        limb([(length * 0.05, top, half), (length * 0.82, top, half)]),
        *arms,
        *(hoop(x, y, rx, ry, width * 0.04) for x, y, rx, ry in rings),
        Polygon((tuple(body),), "instrument"),
        block(length * 0.76, top - width * 0.1, length * 0.03, width * 0.2, corner=width * 0.02),
    ]


def tweezers(length: float, width: float, turned: bool) -> list[Outline]:
    return _sprung(length, width, 0.0)


def bayonet(length: float, width: float, turned: bool) -> list[Outline]:
    return _sprung(length, width, 0.5)


def _sprung(length: float, width: float, step: float) -> list[Outline]:
    """Two arms joined at the end; ``step`` is how far (of the width) the tips are set off."""
    found: list[Outline] = []
    for side in SIDES:
        spread = side * width * (0.34 - step * 0.3)
        knots = [
            (0.0, 0.25, 0.05),
            (0.32, 0.62, 0.07),
            (0.42, 0.8, 0.1),
            (0.62, 1.0, 0.12),
            (0.88, 0.55, 0.09),
            (1.0, 0.14, 0.12),
        ]
        found.append(
            limb(
                [
                    (
                        length * x,
                        spread * y + width * step * (0.5 if x > 0.4 else -0.5),
                        width * thick,
                    )
                    for x, y, thick in knots
                ]
            )
        )
        found += [
            Polyline(((at, y - width * 0.07), (at, y + width * 0.07)), "detail")
            for y in (spread + width * step * 0.5,)
            for at in (length * (0.58 + 0.02 * n) for n in range(4))
        ]
    return [*found, block(length * 0.95, width * (step * 0.5 - 0.16), length * 0.05, width * 0.32)]


def rongeur(length: float, width: float, turned: bool) -> list[Outline]:
    """Cup jaws, two joints one after the other, bowed handles with springs between them."""
    half = min(5.0, width * 0.085)
    found: list[Outline] = [
        limb(
            [
                (length * 0.44, side * width * 0.06, half * 0.3),
                (length * 0.62, side * width * 0.2, half * 0.3),
                (length * 0.74, -side * width * 0.03, half * 0.2),
            ]
        )
        for side in SIDES
    ]
    for side in SIDES:
        found += [
            limb(
                [
                    (length * 0.95, side * (width * 0.5 - half), half * 0.8),
                    (length * 0.8, side * width * 0.43, half),
                    (length * 0.58, side * width * 0.36, half),
                    (length * 0.4, side * width * 0.16, half),
                    (length * 0.32, side * width * 0.07, half),
                ]
            ),
            limb(
                [
                    (length * 0.36, -side * width * 0.08, half),
                    (length * 0.22, side * width * 0.05, half * 1.2),
                    (length * 0.09, side * width * 0.12, half * 0.9),
                    (length * 0.01, side * width * 0.04, half * 0.6),
                ]
            ),
        ]
    joints = ((0.35, -0.09), (0.35, 0.09), (0.22, 0.0))
    return [
        *found,
        *(disc(length * x, width * y, half * 0.5, half * 0.5, "joint") for x, y in joints),
    ]

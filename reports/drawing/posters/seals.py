"""The end of a pouch that is closed at the bench: one good seal, five faults."""

from __future__ import annotations

from assembly.rules.drawing.shapes import (
    Outline,
    Polygon,
    Polyline,
    Scene,
    block,
    disc,
    limb,
)
from reports.drawing.posters.figures import arrow, look_here, ribbed, scene

WIDTH, HEIGHT = 130.0, 72.0
LEFT, RIGHT, TOP, BOTTOM = 4.0, 126.0, 2.0, 69.0
SIDE = 7.0
SEAL_TOP, SEAL_HIGH = 12.0, 18.0
SEAL_LOW = SEAL_TOP + SEAL_HIGH
TIPS = 44.0


def good() -> Scene:
    return scene(WIDTH, HEIGHT, _end(), "A smooth seal over the full width, in both corners")


def fold() -> Scene:
    crease: list[Outline] = [
        Polygon((((51, SEAL_TOP), (59, SEAL_TOP), (75, SEAL_LOW), (65, SEAL_LOW)),), "plate"),
        Polyline(((56, TOP), (59, SEAL_TOP), (75, SEAL_LOW), (80, 41)), "peel"),
        look_here(65, 21, 22, 19),
    ]
    return scene(WIDTH, HEIGHT, [*_end(), *crease], "A fold across the seal")


def bubble() -> Scene:
    blown: list[Outline] = [
        disc(54, 20, 5, 4, "plate"),
        disc(66, 22, 7, 5.2, "plate"),
        disc(77, 18, 4, 3, "plate"),
        look_here(65, 21, 22, 19),
    ]
    return scene(WIDTH, HEIGHT, [*_end(), *blown], "Bubbles in the seal")


def channel() -> Scene:
    left = ((60, SEAL_TOP - 0.5), (57, 17), (61, 24), (58, SEAL_LOW + 0.5))
    right = ((73, SEAL_LOW + 0.5), (71, 25), (75, 18), (71, SEAL_TOP - 0.5))
    through: list[Outline] = [
        Polygon(((*left, *right),), "inside"),
        Polyline(left, "paper"),
        Polyline(right, "paper"),
        *arrow((66, TOP + 1), (66, 41), 3.4),
        look_here(66, 21, 22, 19),
    ]
    return scene(WIDTH, HEIGHT, [*_end(), *through], "A channel through the seal")


def corner() -> Scene:
    return scene(
        WIDTH,
        HEIGHT,
        [*_end(sealed_to=96.0), look_here(109, 21, 18)],
        "The seal does not reach the corner",
    )


def caught() -> Scene:
    return scene(
        WIDTH,
        HEIGHT,
        [*_end(tips=SEAL_TOP + 3), look_here(65, 21, 22, 19)],
        "The tips of the instrument lie in the seal",
    )


def _end(sealed_to: float = RIGHT, tips: float = TIPS) -> list[Outline]:
    """The end of a pouch from its film side, its opening up, torn off below."""
    width = RIGHT - LEFT
    torn = tuple((LEFT + width * n / 8, BOTTOM + (1.5 if n % 2 else -1.5)) for n in range(9))
    body = ((LEFT, TOP), (RIGHT, TOP), *reversed(torn))
    return [
        Polygon((body,), "sheet"),
        *(block(x, TOP, SIDE, BOTTOM - TOP - 1.5, "seal") for x in (LEFT, RIGHT - SIDE)),
        *ribbed(LEFT, SEAL_TOP, sealed_to - LEFT, SEAL_HIGH),
        limb([(53, BOTTOM - 5, 5.0), (58, (tips + BOTTOM) / 2, 4.2), (63, tips, 1.1)]),
        limb([(79, BOTTOM - 5, 5.0), (74, (tips + BOTTOM) / 2, 4.2), (68, tips, 1.1)]),
        Polyline(torn, "sheet"),
    ]

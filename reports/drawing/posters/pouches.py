"""A pouch, its chevron at the right: which way, where the indicator, one in the other."""

from __future__ import annotations

from assembly.rules.drawing.shapes import (
    Outline,
    Point,
    Polygon,
    Polyline,
    Ring,
    Scene,
    Text,
    block,
    curve,
    disc,
)
from reports.drawing.posters.figures import (
    arrow,
    indicator,
    look_here,
    pouch,
    scene,
    scissors,
)

WIDTH, HEIGHT = 208.0, 66.0
AT = (2.0, 2.0)
LONG, WIDE = 204.0, 62.0
LIES: Point = (30.0, 14.0)
LENGTH, BROAD = 144.0, 38.0
MIDDLE = 33.0
STRIP = 44.0


def handles_first() -> Scene:
    shapes = [*pouch(*AT, LONG, WIDE), *scissors(*LIES, LENGTH, BROAD)]
    return scene(WIDTH, HEIGHT, shapes, "Scissors in a pouch, rings at the chevron")


def tips_first() -> Scene:
    shapes = [
        *pouch(*AT, LONG, WIDE),
        *scissors(*LIES, LENGTH, BROAD, back=True),
        look_here(170, MIDDLE, 17),
    ]
    return scene(WIDTH, HEIGHT, shapes, "Scissors in a pouch, tips at the chevron")


def peeled() -> Scene:
    """The film drawn back from the chevron end: the handles lie free."""
    film = ((112.0, 2.0), (112.0, 64.0), (66.0, 59.0), (66.0, 7.0))
    back: list[Outline] = [
        block(2, 2, 204, 62, "seal", 1.5),
        block(2, 2, 110, 62, "sheet"),
        *scissors(*LIES, LENGTH, BROAD),
        Polygon((film,), "sheet"),
        Polygon((((74, 15), (90, MIDDLE), (74, 51), (66, 51), (82, MIDDLE), (66, 15)),), "seal"),
        *arrow((146, 10), (100, 10), 4.0),
        *arrow((146, 56), (100, 56), 4.0),
    ]
    return scene(WIDTH, HEIGHT, back, "The film drawn back from the chevron, the rings free")


def to_the_film() -> Scene:
    shapes = [
        *pouch(*AT, LONG, WIDE),
        *scissors(*LIES, LENGTH, BROAD),
        *indicator(50, 9.5, STRIP),
    ]
    return scene(WIDTH, HEIGHT, shapes, "An indicator beside the scissors, its print to the film")


def hidden_strip() -> Scene:
    shapes = [
        *pouch(*AT, LONG, WIDE),
        *indicator(60, 26, 62),
        *scissors(*LIES, LENGTH, BROAD),
        look_here(91, MIDDLE, 40, 16),
    ]
    return scene(WIDTH, HEIGHT, shapes, "An indicator under the scissors")


def face_down() -> Scene:
    shapes = [
        *pouch(*AT, LONG, WIDE),
        *scissors(*LIES, LENGTH, BROAD),
        *indicator(50, 9.5, STRIP, printed=False),
        look_here(72, 14.8, 30, 11),
    ]
    return scene(WIDTH, HEIGHT, shapes, "An indicator with its blank back to the film")


INNER: Point = (22.0, 11.0)
INNER_LONG, INNER_WIDE = 156.0, 44.0


def one_in_the_other() -> Scene:
    shapes = [
        *pouch(*AT, LONG, WIDE),
        *pouch(*INNER, INNER_LONG, INNER_WIDE),
        *scissors(44, 20, 104, 26),
    ]
    return scene(WIDTH, HEIGHT, shapes, "A smaller pouch lying flat in a larger one")


def folded_inner() -> Scene:
    """The end of the inner pouch is turned over, so that it goes into the outer one."""
    x, y, end = 30.0, INNER[1], 74.0
    low = y + INNER_WIDE
    shapes: list[Outline] = [
        *pouch(*AT, LONG, WIDE),
        *pouch(x, y, INNER_LONG - 8, INNER_WIDE),
        *scissors(56, 20, 96, 26),
        Polygon((((x, y), (x, low), (end, low - 4), (end, y + 4)),), "paper"),
        Polygon((((end - 14, y + 5), (end - 14, low - 5), (end - 6, low - 4), (end - 6, y + 4)),),
                "seal"),
        look_here((x + end) / 2 - 2, MIDDLE, 29, 27),
    ]  # fmt: skip
    return scene(WIDTH, HEIGHT, shapes, "A pouch folded over to go into the outer one")


def film_to_film() -> Scene:
    """Two pouches cut across: film above, porous side below, in each of them."""
    shapes = [
        *_cut(2, 156, 29),
        *_cut(22, 136, 15),
        disc(66, MIDDLE, 8, 5.5),
        disc(92, MIDDLE, 8, 5.5),
    ]
    names = [
        *_named("film", (96, 4.6), 9),
        *_named("film", (110, 20.6), 24),
        *_named("paper", (110, 45.4), 42),
        *_named("paper", (96, 60.6), 57),
    ]
    title = "Two pouches cut across: film on film, paper on paper"
    return scene(WIDTH, HEIGHT, [*shapes, *names], title)


THICK = 4.0


def _cut(left: float, right: float, bulge: float) -> list[Outline]:
    """One pouch cut across, its edges in the middle: thin film above, thick gray paper below."""

    def bow(far: float) -> Ring:
        inset = min(abs(far), 14.0) * 1.3
        return curve(((left, MIDDLE), (left + inset, MIDDLE + far * 0.8),
                      (left + 2.4 * inset, MIDDLE + far), (right - 2.4 * inset, MIDDLE + far),
                      (right - inset, MIDDLE + far * 0.8), (right, MIDDLE)))  # fmt: skip

    low = bow(bulge)
    return [
        Polygon(((*low, *reversed(bow(bulge - THICK))),), "seal"),
        Polyline(bow(-bulge), "paper"),
    ]


def _named(word: str, at: Point, label: float) -> list[Outline | Text]:
    """A word at the right with a line to what it names."""
    return [
        Polyline((at, (162.0, label), (168.0, label)), "detail"),
        Text(170.0, label + 3.6, word, "figure", "start"),
    ]

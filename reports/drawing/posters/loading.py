"""How packages stand in the sterilizer, from the side, and a set on the scale."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.drawing.forms import outline_of
from assembly.rules.drawing.looks import Look
from assembly.rules.drawing.shapes import (
    Outline,
    Polygon,
    Polyline,
    Scene,
    Shape,
    Text,
    block,
    curve,
    disc,
    mapped,
)
from reports.drawing.posters.figures import arrow, moved, scene

WIDTH, HEIGHT = 176.0, 72.0
FLOOR = 66.0
LEAF = 58.0  # the length of a pouch seen from its edge
PAPER = 2.8
BELLY = 10.0
WORD_Y = 36.0


def _leaf(x: float, *, turned: bool = False, belly: float = BELLY) -> list[Outline]:
    """A pouch on edge, its foot at the floor: thick black paper, a film that bulges out."""
    top = FLOOR - LEAF
    film = curve(((0, top), (belly * 0.8, top + LEAF * 0.22), (belly, top + LEAF * 0.5),
                  (belly * 0.8, top + LEAF * 0.78), (0, FLOOR)))  # fmt: skip
    shapes: list[Outline] = [
        Polygon((film,), "sheet"),
        disc(belly * 0.45, top + LEAF * 0.5, belly * 0.24, LEAF * 0.3),
        block(-PAPER, top, PAPER, LEAF, "joint"),
    ]
    side = -1 if turned else 1
    return mapped(shapes, lambda a, b: (x + side * a, b))


def _rack(wires: Sequence[float]) -> list[Outline]:
    """A wire basket from the side: its floor and its dividers."""
    return [_shelf(FLOOR), *(Polyline(((x, FLOOR), (x, FLOOR - 34)), "paper") for x in wires)]


def _shelf(y: float) -> Outline:
    return block(2, y, WIDTH - 4, 4, "tray", 2)


def on_edge() -> Scene:
    xs = [18.0 + 24 * n for n in range(7)]
    leaves = [shape for x in xs[:-1] for shape in _leaf(x + 4)]
    return scene(WIDTH, HEIGHT, [*_rack([x - 8 for x in xs]), *leaves],
                 "Pouches on edge in a rack, with space between")  # fmt: skip


def stacked() -> Scene:
    pile: list[Outline] = []
    for n in range(4):
        lying = mapped(_leaf(0, belly=12), lambda a, b: ((b - FLOOR) * 1.6, -a))
        pile += moved(lying, 132 + (n % 2) * 4, FLOOR - PAPER - n * 15)
    return scene(WIDTH, HEIGHT, [*_rack([]), *pile], "Pouches lying on each other")


def packed_tight() -> Scene:
    leaves = [shape for n in range(12) for shape in _leaf(19.0 + 12.6 * n, belly=9.4)]
    return scene(WIDTH, HEIGHT, [*_rack([12.0, 166.0]), *leaves],
                 "Pouches pressed against each other")  # fmt: skip


def facing(pairs: bool) -> Scene:
    """How pouches face one another: film to film in ``pairs``, else all the same way round."""
    if pairs:
        leaves = [*_leaf(38, belly=14), *_leaf(138, turned=True, belly=14)]
        words = (("paper", 33, "end"), ("film", 56, "start"), ("film", 120, "end"),
                 ("paper", 143, "start"))  # fmt: skip
    else:
        leaves = [*_leaf(38, belly=14), *_leaf(126, belly=14)]
        words = (("paper", 33, "end"), ("film", 56, "start"), ("paper", 121, "end"),
                 ("film", 144, "start"))  # fmt: skip
    named = [Text(x, WORD_Y, word, "figure", anchor) for word, x, anchor in words]
    return scene(WIDTH, HEIGHT, [*_rack([]), *leaves, *named], "Which side faces which")


# --- sets and containers ------------------------------------------------------------------


def _wrapped(x: float, bottom: float, wide: float = 46.0, high: float = 17.0) -> list[Outline]:
    """A wrapped set from the side, with its tape."""
    y = bottom - high
    edge = ((x, y + high * 0.3), (x + wide * 0.5, y + high * 0.62), (x + wide, y + high * 0.3))
    folds = Polyline(edge, "detail")
    tape = [
        block(x + wide * 0.42 + 2.4 * n, y + high * 0.45, 1.2, high * 0.34, "mark")
        for n in range(4)
    ]
    back = block(x + wide * 0.39, y + high * 0.45, wide * 0.25, high * 0.34, "indicator")
    return [block(x, y, wide, high, "sheet", 4), folds, back, *tape]


def _container(x: float, bottom: float, wide: float = 78.0, high: float = 26.0) -> list[Outline]:
    """A rigid container from the side: body, lid, latch, handle."""
    y = bottom - high
    return [
        block(x, y, wide, high, "seal", 2),
        block(x - 1.5, y - 3, wide + 3, 9, "sheet", 2),
        block(x + wide / 2 - 5, y + 3, 10, 9, "sheet", 1),
        block(x + wide / 2 - 14, y + 15, 28, 4, "sheet", 2),
    ]


def sets_flat() -> Scene:
    shapes = [_shelf(FLOOR), *_wrapped(10, FLOOR, 70, 34), *_wrapped(96, FLOOR, 70, 34)]
    return scene(WIDTH, HEIGHT, shapes, "Wrapped sets flat on a shelf, space between them")


def sets_stacked() -> Scene:
    shapes = [
        _shelf(FLOOR),
        *_wrapped(52, FLOOR, 74, 21),
        *_wrapped(46, FLOOR - 21, 74, 21),
        *_wrapped(55, FLOOR - 42, 74, 21),
    ]
    return scene(WIDTH, HEIGHT, shapes, "Wrapped sets on top of each other")


def textiles() -> Scene:
    packs = [shape for n in range(5) for shape in _upright(20.0 + 30 * n)]
    return scene(WIDTH, HEIGHT, [_shelf(FLOOR), *packs], "Textile packs on edge, with space")


def _upright(x: float) -> list[Outline]:
    standing = mapped(_wrapped(0, 18, 58, 18), lambda a, b: (b, -a))
    return moved(standing, x, FLOOR)


def heavy_below() -> Scene:
    posts = [block(x, 2, 3, FLOOR + 2, "tray") for x in (2.0, WIDTH - 5)]
    shapes = [*posts, _shelf(26), _shelf(FLOOR), *_container(40, FLOOR, 96, 30),
              *_wrapped(16, 26, 60, 20), *_wrapped(100, 26, 60, 20)]  # fmt: skip
    return scene(WIDTH, HEIGHT, shapes, "A container on the lower shelf, wrapped sets above it")


# --- the weight -----------------------------------------------------------------------------


def weighed_closed(words: str) -> Scene:
    """A closed container on a bench scale, whose display shows ``words``."""
    shapes: list[Shape] = [*_scale(words), *_container(42, 42, 92, 36)]
    return scene(WIDTH, HEIGHT, shapes, "A closed container on a scale")


def weighed_open(words: str) -> Scene:
    """The basket with all that lies in it."""
    wires = [Polyline(((x, 20), (x, 42)), "detail") for x in range(47, 136, 8)]
    basket: list[Outline] = [block(38, 20, 100, 22, "tray", 2), *wires]
    shapes: list[Shape] = [*_scale(words), *_instruments(24), *basket]
    return scene(WIDTH, HEIGHT, shapes, "A full basket on a scale")


def weighed_net(words: str) -> Scene:
    """The instruments by themselves."""
    return scene(WIDTH, HEIGHT, [*_scale(words), *_instruments(41)], "Instruments on a scale")


def _scale(words: str) -> list[Shape]:
    return [
        block(30, 42, 116, 4, "tray", 2),
        block(80, 46, 16, 4, "tray"),
        block(42, 49, 92, 21, "sheet", 3),
        block(52, 52, 72, 15, "indicator", 1),
        Text(88, 62.5, words, "figure"),
    ]


def _instruments(bottom: float) -> list[Outline]:
    """Three instruments on each other, their lowest edge at ``bottom``."""
    lying = (
        (Look.CLAMP, 40, 86, 18),
        (Look.SCISSORS, 52, 84, 20),
        (Look.NEEDLE_HOLDER, 46, 80, 16),
    )
    found: list[Outline] = []
    for n, (look, x, long, wide) in enumerate(lying):
        found += moved(outline_of(look, long, wide), x, bottom - wide - n * 5)
    return found


def too_heavy() -> Scene:
    """One heavy container becomes two lighter ones."""
    parts = [
        *_container(6, FLOOR, 56, 50),
        *_container(112, 32, 60, 23),
        *_container(112, FLOOR, 60, 23),
    ]
    ways = [*arrow((70, 42), (106, 24), 4.0), *arrow((70, 42), (106, 58), 4.0)]
    return scene(WIDTH, HEIGHT, [*parts, *ways, _shelf(FLOOR)], "One set becomes two")

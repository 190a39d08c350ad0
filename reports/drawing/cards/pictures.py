"""The drawings of a card: one, or several in columns, each as large as there is room."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any

from assembly.rules.drawing.shapes import Scene
from reports.documents.cards import Card
from reports.drawing.cards.parts import Writer
from reports.drawing.fitting import PrintRefused
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, stacked
from reports.drawing.scenes import paint_scene, scale_for, scale_words

LIFE_SHARE = 0.62
SCENE_SHARES = (0.42, 0.36, 0.30, 0.26, 0.22, 0.18)
WIDE = 1.5  # width by height: from here on a drawing takes the whole width
GUTTER = points(4.0)
COLUMNS = (2, 3, 4)


def shares(card: Card, width: float, height: float) -> tuple[float, ...]:
    """The shares of the page's height to try for the drawing: as large as life comes first."""
    if not card.scenes:
        return (0.0,)
    scene = card.scenes[0]
    if points(scene.width) <= width and points(scene.height) <= height * LIFE_SHARE:
        return (LIFE_SHARE, *SCENE_SHARES)
    return SCENE_SHARES


def grid(scenes: Sequence[Scene], writer: Writer, room: float) -> Iterator[Piece]:
    """Several drawings in the columns that show the first one largest, a caption under all."""
    shapes = []
    for count in COLUMNS:
        width, rows = (writer.width + GUTTER) / count - GUTTER, math.ceil(len(scenes) / count)
        with suppress(PrintRefused):
            scale = _scale(scenes[0], scenes, width, room / rows)
            shapes.append((scale, count, width, room / rows))
    if not shapes:
        raise PrintRefused("drawing", "no room for the drawings on this paper.")
    _, count, width, high = min(shapes)
    narrow = replace(writer, width=width)
    pictures = [stacked(list(picture_pieces(scene, scenes, narrow, high))) for scene in scenes]
    for n in range(0, len(scenes), count):
        yield side_by_side(pictures[n : n + count], width + GUTTER)
    legend = " ".join(words for scene in scenes for words in scene.legend)
    yield writer.words("legend", legend, Face.REGULAR, writer.sizes.small)


def side_by_side(columns: Sequence[Piece], shift: float) -> Piece:
    """A column every ``shift`` points."""

    def paint(canvas: Any, start: float, top: float) -> None:
        for place, piece in enumerate(columns):
            piece.paint(canvas, start + place * shift, top)

    return Piece(max(piece.height for piece in columns), paint)


def _scale(scene: Scene, beside: Sequence[Scene], width: float, height: float) -> float:
    """The scale of a drawing, which those ``beside`` it have as well if they are as wide."""
    alike = [one for one in (scene, *beside) if one.width == scene.width]
    return max(scale_for(one, width, height) for one in alike)


def life_sized(scene: Scene, writer: Writer, room: float) -> bool:
    return points(scene.height) <= room and points(scene.width) <= writer.width


def is_narrow(scene: Scene) -> bool:
    return scene.width < WIDE * scene.height


def picture_pieces(
    scene: Scene, beside: Sequence[Scene], writer: Writer, room: float
) -> Iterator[Piece]:
    """The drawing in the middle, its scale under the first of those that have it.

    Alone, its caption stands under it as well.
    """
    scale = _scale(scene, beside, writer.width, room)
    first = next((one for one in beside if one.width == scene.width), scene)
    width, height = points(scene.width) / scale, points(scene.height) / scale
    inset = (writer.width - width) / 2
    yield Piece(height, lambda canvas, left, top: paint_scene(canvas, scene, left + inset, top,
                                                              scale))  # fmt: skip
    if scene is first:
        words = " ".join((scale_words(scale), *(() if beside else scene.legend)))
        yield writer.words("scale", words, Face.REGULAR, writer.sizes.small)

"""The drawings of a work card: one, or several under each other, each as large as there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assembly.rules.drawing.shapes import Scene
from reports.drawing.cards.parts import Writer
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, stacked
from reports.drawing.scenes import height_on_paper, paint_scene, scale_for, scale_words

WIDE = 1.5  # width by height: from here on a drawing may take the whole width


def is_wide(scene: Scene) -> bool:
    """Whether it may take the whole width of a page."""
    return scene.width >= WIDE * scene.height


def picture_pieces(scenes: Sequence[Scene], writer: Writer, room: float) -> Iterator[Piece]:
    """The drawings, each in the middle and at most ``room`` points high; those that are equally
    wide have one scale, said under the first of them. Their captions stand under the last.
    """
    said: set[float] = set()
    for scene in scenes:
        alike = [one for one in scenes if one.width == scene.width]
        scale = max(scale_for(one, writer.width, room) for one in alike)
        made = [_picture(scene, scale, writer.width)]
        if scene.width not in said:
            words = scale_words(scale)
            made.append(writer.words("scale", words, Face.REGULAR, writer.sizes.small))
            said.add(scene.width)
        yield stacked(made)
    legend = " ".join(words for scene in scenes for words in scene.legend)
    if legend:
        yield writer.words("legend", legend, Face.REGULAR, writer.sizes.small)


def _picture(scene: Scene, scale: float, width: float) -> Piece:
    inset = (width - points(scene.width) / scale) / 2
    return Piece(
        height_on_paper(scene, scale),
        lambda canvas, left, top: paint_scene(canvas, scene, left + inset, top, scale),
    )

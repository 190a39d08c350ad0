"""A card as one page: drawing, sections, sources, lines to sign.

Type and drawing shrink together until the page holds everything; when it does not at the
smallest sizes allowed, the card is not printed. Nothing flows on to a second page.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.drawing.shapes import Scene
from reports.documents.cards import Card, CardSection, Item
from reports.drawing import barcodes
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import PrintRefused, Style, at_size, fit, fit_or_smallest
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import (
    Piece,
    box_height,
    paint_block,
    paint_reversed,
    paint_to_the_right,
    stacked,
)
from reports.drawing.scenes import paint_scene, scale_for, scale_words

MODULE = points(0.5)
SIDE_SHARE, LEAST_SIDE = 0.055, points(9.0)
HAIR, RULE = 0.35, 0.9
STEPS = 16
LIFE_SHARE = 0.62
SCENE_SHARES = (0.42, 0.36, 0.30, 0.26, 0.22, 0.18)
WIDE = 1.5  # width by height: from here on a drawing takes the whole width
BESIDE, GUTTER, MORE_BESIDE = 0.5, points(4.0), 1.15
COLUMNS = (2, 3, 4)
FEWER = "This paper has no room for all layers: the page of the set shows them."
NONE = "No drawing: this paper has no room for it."
CELL_WIDTH, CELL_GAP = points(15.0), points(2.5)
FIELD_HEIGHT = points(13.0)
TITLE_LINES, LONG_TITLE_LINES = 3, 9
CONTROL_MM = 50.0


@dataclass(frozen=True, slots=True)
class Sizes:
    """Largest and smallest type (points) for a paper."""

    title: tuple[float, float]
    text: tuple[float, float]
    small: tuple[float, float]


SMALL_PAPER = Sizes((17.0, 11.0), (9.5, 6.75), (6.5, 5.5))
LARGE_PAPER = Sizes((44.0, 18.0), (25.0, 9.0), (10.0, 7.0))
SIZES = {"A4": LARGE_PAPER, "letter": LARGE_PAPER, "A5": SMALL_PAPER, "half letter": SMALL_PAPER}


def draw_card(card: Card, paper: str = "A5") -> bytes:
    """``card`` on one page; PrintRefused when it does not fit or cannot be shown."""
    size = paper_points(paper)
    side = max(LEAST_SIDE, size[0] * SIDE_SHARE)
    body, foot = _plan(card, SIZES[paper], size[0] - 2 * side, size[1] - 2 * side)
    out = io.BytesIO()
    canvas = new_canvas(out, size, f"{card.title} {card.code}".strip())
    canvas.setStrokeGray(0)
    body.paint(canvas, side, size[1] - side)
    foot.paint(canvas, side, side + foot.height)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _plan(card: Card, sizes: Sizes, width: float, height: float) -> tuple[Piece, Piece]:
    """The card with all its drawings; with fewer, and a word on it, where they find no room."""
    folds = tuple(scene for scene in card.scenes[1:] if not scene.layer)
    fewer = (card.scenes, (*card.scenes[:1], *folds), card.scenes[:1], ())
    for scenes in dict.fromkeys(fewer):
        note = "" if scenes == card.scenes else FEWER if scenes else NONE
        shown = replace(card, scenes=scenes, scene_note=f"{card.scene_note} {note}".strip())
        try:
            return _fitted(shown, sizes, width, height)
        except PrintRefused:
            if not scenes:
                raise
    raise AssertionError("the last try returns or raises")


def _fitted(card: Card, sizes: Sizes, width: float, height: float) -> tuple[Piece, Piece]:
    """The largest drawing and type that fit on the page together."""
    for share in _shares(card, width, height):
        for step in range(STEPS + 1):
            writer = Writer(sizes, step / STEPS, width)
            try:
                top = stacked([*_head(card, writer), *_body(card, writer, height * share)])
                foot = stacked(list(_foot(card, writer)))
            except PrintRefused:
                if step == STEPS and share in (0.0, SCENE_SHARES[-1]):
                    raise
                continue
            if top.height + foot.height <= height:
                return top, foot
    raise PrintRefused("card", "it says more than one page holds. Take larger paper.")


@dataclass(frozen=True, slots=True)
class Writer:
    """Sets words at one degree of shrinking into ``width`` points."""

    sizes: Sizes
    shrink: float
    width: float

    def words(
        self, field: str, text: str, face: Face, pair: tuple[float, float],
        width: float | None = None, after: float = 0.0,
    ) -> Piece:  # fmt: skip
        """Words over the width, with free room after them."""
        style = Style(face, *pair)
        block = at_size(field, text, style, style.between(self.shrink), width or self.width)
        return Piece(
            block.height + after, lambda canvas, left, top: paint_block(canvas, block, left, top)
        )

    @property
    def gap(self) -> float:
        """Free room between parts, in points."""
        return points(2.6 - 1.4 * self.shrink)


def _head(card: Card, writer: Writer) -> Iterator[Piece]:
    """Title beside the code, the headline, what must be read first."""
    symbol = barcodes.data_matrix(card.code, "code") if card.code else None
    beside = points(26.0) if symbol else 0.0
    bold = Style(Face.BOLD, *writer.sizes.title)
    largest = Style(Face.BOLD, bold.between(writer.shrink), bold.smallest, 1.12)
    room = writer.width - beside
    title = fit_or_smallest("title", card.title, largest, room, TITLE_LINES, LONG_TITLE_LINES)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, title, left, top)
        if symbol:
            right = left + writer.width
            side = MODULE * len(symbol.rows)
            barcodes.draw(canvas, symbol, right - side, top, MODULE)
            words = fit("code", card.code, Style(Face.SEMIBOLD, 8.0, 6.0), beside, 1)
            paint_to_the_right(canvas, words, right, top - side - MODULE)

    code_height = MODULE * (len(symbol.rows) + 1) + 11 if symbol else 0.0
    yield Piece(max(title.height, code_height) + writer.gap * 0.6, paint)
    if card.headline:
        yield writer.words("headline", card.headline, Face.SEMIBOLD, writer.sizes.text,
                           after=writer.gap * 0.6)  # fmt: skip
    if card.loud:
        strong = Style(Face.BOLD, *writer.sizes.text)
        size = strong.between(writer.shrink)
        loud = at_size("notice", card.loud, strong, size, writer.width - points(3))
        yield Piece(box_height(loud) + writer.gap * 0.6,
                    lambda canvas, left, top: paint_reversed(canvas, loud, left, top))  # fmt: skip


def _shares(card: Card, width: float, height: float) -> tuple[float, ...]:
    """The shares of the page's height to try for the drawing: as large as life comes first."""
    if not card.scenes:
        return (0.0,)
    scene = card.scenes[0]
    if points(scene.width) <= width and points(scene.height) <= height * LIFE_SHARE:
        return (LIFE_SHARE, *SCENE_SHARES)
    return SCENE_SHARES


def _body(card: Card, writer: Writer, room: float) -> Iterator[Piece]:
    """The drawings and the sections; beside a drawing that is not wide stands the next of them."""
    sections, scenes = card.sections, card.scenes
    if len(scenes) > 1:
        yield from _grid(scenes, writer, room * MORE_BESIDE)
    elif scenes and not _life_sized(scenes[0], writer, room) and _narrow(scenes[0]):
        left = replace(writer, width=writer.width * BESIDE)
        right = replace(writer, width=writer.width * (1 - BESIDE) - GUTTER)
        picture = stacked(list(_picture(scenes[0], (), left, room * MORE_BESIDE)))
        beside = stacked(list(_section(sections[0], right)))
        yield _side_by_side([picture, beside], left.width + GUTTER)
        sections = sections[1:]
    elif scenes:
        yield from _picture(scenes[0], (), writer, room)
    if card.scene_note:
        yield writer.words("drawing", card.scene_note, Face.SEMIBOLD, writer.sizes.small)
    for section in sections:
        yield from _section(section, writer)


def _side_by_side(columns: Sequence[Piece], shift: float) -> Piece:
    """A column every ``shift`` points."""

    def paint(canvas: Any, start: float, top: float) -> None:
        for place, piece in enumerate(columns):
            piece.paint(canvas, start + place * shift, top)

    return Piece(max(piece.height for piece in columns), paint)


def _grid(scenes: Sequence[Scene], writer: Writer, room: float) -> Iterator[Piece]:
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
    pictures = [stacked(list(_picture(scene, scenes, narrow, high))) for scene in scenes]
    for n in range(0, len(scenes), count):
        yield _side_by_side(pictures[n : n + count], width + GUTTER)
    legend = " ".join(words for scene in scenes for words in scene.legend)
    yield writer.words("legend", legend, Face.REGULAR, writer.sizes.small)


def _scale(scene: Scene, beside: Sequence[Scene], width: float, height: float) -> float:
    """The scale of a drawing, which those ``beside`` it have as well if they are as wide."""
    alike = [one for one in (scene, *beside) if one.width == scene.width]
    return max(scale_for(one, width, height) for one in alike)


def _life_sized(scene: Scene, writer: Writer, room: float) -> bool:
    return points(scene.height) <= room and points(scene.width) <= writer.width


def _narrow(scene: Scene) -> bool:
    return scene.width < WIDE * scene.height


def _picture(scene: Scene, beside: Sequence[Scene], writer: Writer, room: float) -> Iterator[Piece]:
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


def _section(section: CardSection, writer: Writer) -> Iterator[Piece]:
    """The heading over a rule, then the items."""
    if not section.items:
        return
    style = Style(Face.BOLD, *writer.sizes.text)
    size = style.between(writer.shrink)
    room = writer.width - CELL_WIDTH * len(section.columns)
    heading = fit("heading", section.heading, Style(style.face, size, style.smallest), room, 2)
    captions = [
        fit("column", name, Style(Face.SEMIBOLD, 8.0, 5.5), CELL_WIDTH - points(1), 1)
        for name in section.columns
    ]

    def paint(canvas: Any, left: float, top: float) -> None:
        below = top - writer.gap
        paint_block(canvas, heading, left, below)
        cell = left + writer.width - CELL_WIDTH * len(captions)
        for caption in captions:
            paint_block(canvas, caption, cell + (CELL_WIDTH - caption.width) / 2, below + 1)
            cell += CELL_WIDTH
        canvas.setLineWidth(RULE)
        line = below - heading.height - 1
        canvas.line(left, line, left + writer.width, line)

    yield Piece(heading.height + writer.gap + points(1.0), paint)
    for number, item in enumerate(section.items, start=1):
        yield _item(section, item, number, writer)


def _item(section: CardSection, item: Item, number: int, writer: Writer) -> Piece:
    """One item with its mark before it and ruled cells after it."""
    text = writer.sizes.text
    style = Style(Face.REGULAR, *text)
    size = style.between(writer.shrink)
    indent = size * (1.9 if section.mark == "number" else 1.5)
    cells = CELL_WIDTH * len(section.columns) + (CELL_GAP if section.columns else 0.0)
    room = writer.width - indent - cells
    words = at_size("step", item.words, style, size, room)
    small = Style(Face.ITALIC, size * 0.88, 5.0, 1.2)
    then = at_size("if not", item.then, small, max(size * 0.88, 5.0), room) if item.then else None
    mark = fit("number", f"{number}.", Style(Face.SEMIBOLD, size, size), indent, 1)
    height = words.height + (then.height if then else 0.0) + points(0.9)

    def paint(canvas: Any, left: float, top: float) -> None:
        top -= points(0.5)
        canvas.setLineWidth(HAIR * 2)
        if section.mark == "box":
            canvas.rect(left, top - size * 0.92, size * 0.8, size * 0.8)
        elif section.mark == "number":
            paint_block(canvas, mark, left, top)
        else:
            canvas.line(left + size * 0.3, top - size * 0.55, left + size, top - size * 0.55)
        paint_block(canvas, words, left + indent, top)
        if then:
            paint_block(canvas, then, left + indent, top - words.height)
        _cells(canvas, section, left + writer.width, top + points(0.5), height)

    return Piece(height, paint)


def _cells(canvas: Any, section: CardSection, right: float, top: float, height: float) -> None:
    """Ruled cells to the right of an item, and a rule under it."""
    if not section.columns:
        return
    canvas.setLineWidth(HAIR)
    left = right - CELL_WIDTH * len(section.columns)
    for place in range(len(section.columns) + 1):
        canvas.line(left + place * CELL_WIDTH, top, left + place * CELL_WIDTH, top - height)
    canvas.line(left, top - height, right, top - height)


def _foot(card: Card, writer: Writer) -> Iterator[Piece]:
    """The control rule under a drawing, lines to sign, the sources, when it was printed."""
    if card.scenes:
        yield _control_rule(writer)
    for start in range(0, len(card.fields), 2):
        yield _fields(card.fields[start : start + 2], writer)
    yield Piece(writer.gap, lambda canvas, left, top: None)
    if card.sources:
        words = f"Sources: {'; '.join(card.sources)}."
        yield writer.words("sources", words, Face.REGULAR, writer.sizes.small, after=2)
    yield writer.words("foot", card.foot, Face.REGULAR, writer.sizes.small)


def _control_rule(writer: Writer) -> Piece:
    """Five centimetres with a tick for each: measured, they show that nothing was scaled."""
    words = fit("control rule", f"This line is {CONTROL_MM:g} mm long. If it is not, print again "
                "at 100 %.", Style(Face.REGULAR, 8.0, 5.5),
                writer.width - points(CONTROL_MM + 3), 2)  # fmt: skip
    height = max(words.height, points(3.0)) + points(1.0)

    def paint(canvas: Any, left: float, top: float) -> None:
        line = top - points(2.2)
        canvas.setLineWidth(RULE)
        canvas.line(left, line, left + points(CONTROL_MM), line)
        for place in range(0, int(CONTROL_MM) + 1, 10):
            tick = points(2.0) if place in (0, int(CONTROL_MM)) else points(1.2)
            canvas.line(left + points(place), line, left + points(place), line + tick)
        paint_block(canvas, words, left + points(CONTROL_MM + 3), top)

    return Piece(height, paint)


def _fields(names: tuple[str, ...], writer: Writer) -> Piece:
    """Two ruled lines side by side, each with its name under it."""
    gap = points(6)
    width = (writer.width - gap) / 2
    captions = [fit("field", name, Style(Face.REGULAR, 8.0, 6.5), width, 1) for name in names]

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(RULE)
        line = top - FIELD_HEIGHT + 11
        for place, caption in enumerate(captions):
            start = left + place * (width + gap)
            canvas.line(start, line, start + width, line)
            paint_block(canvas, caption, start, line - 1)

    return Piece(FIELD_HEIGHT, paint)

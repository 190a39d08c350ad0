"""What a card is made of besides its drawing: its head, its sections, its foot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from reports.documents.cards import Card, CardSection, Item
from reports.drawing import barcodes
from reports.drawing.fitting import Style, at_size, fit, fit_or_smallest
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import (
    Piece,
    as_piece,
    box_height,
    paint_block,
    paint_reversed,
    paint_to_the_right,
    stacked,
)

MODULE = points(0.5)
BOX, BESIDE_BOX = points(4.4), points(1.8)
HAIR, RULE = 0.35, 0.9
CELL_WIDTH, CELL_GAP = points(15.0), points(2.5)
FIELD_HEIGHT = points(13.0)
HEADLINE = 1.2
TITLE_LINES, LONG_TITLE_LINES = 3, 9
CONTROL_MM = 50.0
CONTROL = (18.0, 14.0)
"""The type of whose document it is, as on a poster."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Largest and smallest type (points) for the distance from which a card is read."""

    title: tuple[float, float]
    text: tuple[float, float]
    small: tuple[float, float]

    @property
    def headline(self) -> tuple[float, float]:
        """Of what is read first."""
        return self.text[0] * HEADLINE, self.text[1] * HEADLINE


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
        return as_piece(block, after)

    @property
    def gap(self) -> float:
        """Free room between parts, in points."""
        return points(2.6 - 1.4 * self.shrink)


def head_pieces(card: Card, writer: Writer) -> Iterator[Piece]:
    """Title beside the code, the headline, what must be read first."""
    symbol = barcodes.data_matrix_if_any(card.code) if card.code else None
    beside = points(32.0) if symbol else 0.0
    bold = Style(Face.BOLD, *writer.sizes.title)
    largest = Style(Face.BOLD, bold.between(writer.shrink), bold.smallest, 1.12)
    room = writer.width - beside
    title = fit_or_smallest("title", card.title, largest, room, TITLE_LINES, LONG_TITLE_LINES)
    small = Style(Face.SEMIBOLD, writer.sizes.small[1], writer.sizes.small[1])
    code = fit("code", card.code, small, beside or room)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, title, left, top)
        if symbol:
            right = left + writer.width
            side = MODULE * len(symbol.rows)
            barcodes.draw(canvas, symbol, right - side, top, MODULE)
            paint_to_the_right(canvas, code, right, top - side - MODULE)

    code_height = MODULE * (len(symbol.rows) + 1) + code.height if symbol else 0.0
    yield Piece(max(title.height, code_height) + writer.gap * 0.6, paint)
    if card.headline:
        yield writer.words("headline", card.headline, Face.SEMIBOLD, writer.sizes.headline,
                           after=writer.gap * 0.6)  # fmt: skip
    if card.loud:
        strong = Style(Face.BOLD, *writer.sizes.text)
        size = strong.between(writer.shrink)
        loud = at_size("notice", card.loud, strong, size, writer.width - points(3))
        yield Piece(box_height(loud) + writer.gap * 0.6,
                    lambda canvas, left, top: paint_reversed(canvas, loud, left, top))  # fmt: skip


def section_pieces(section: CardSection, writer: Writer) -> Iterator[Piece]:
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
    size = Style(Face.REGULAR, *text).between(writer.shrink)
    box = max(BOX, size * 0.8)
    indents = {"number": size * 1.9, "dash": size * 1.5, "box": box + BESIDE_BOX}
    cells = CELL_WIDTH * len(section.columns) + (CELL_GAP if section.columns else 0.0)
    indent = indents[section.mark]
    room = writer.width - indent - cells
    said = [_said(item, size, room)]
    if item.then:
        smaller = max(size * 0.88, text[1])
        style = Style(Face.ITALIC, smaller, smaller)
        said.append(as_piece(at_size("if not", item.then, style, smaller, room)))
    words = stacked(said)
    mark = fit("number", f"{number}.", Style(Face.SEMIBOLD, size, size), indent, 1)
    least = box if section.mark == "box" else 0.0
    height = max(words.height, least) + points(1.2)

    def paint(canvas: Any, left: float, top: float) -> None:
        top -= points(0.5)
        canvas.setLineWidth(HAIR * 2)
        if section.mark == "box":
            canvas.rect(left, top - size * 0.12 - box, box, box)
        elif section.mark == "number":
            paint_block(canvas, mark, left, top)
        else:
            canvas.line(left + size * 0.3, top - size * 0.55, left + size, top - size * 0.55)
        words.paint(canvas, left + indent, top)
        _cells(canvas, section, left + writer.width, top + points(0.5), height)

    return Piece(height, paint)


def _said(item: Item, size: float, room: float) -> Piece:
    """The words of an item, its bold word before them on the first line."""
    regular = Style(Face.REGULAR, size, size)
    if not item.word:
        return as_piece(at_size("step", item.words, regular, size, room))
    lead = fit("check", item.word, Style(Face.BOLD, size, size), room, 1)
    shift = lead.width + size * 0.4
    whole = at_size("step", item.words, regular, size, room - shift)
    first = replace(whole, lines=whole.lines[:1])
    rest = at_size("step", item.words[len(first.lines[0]) :].lstrip(), regular, size, room)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, lead, left, top)
        paint_block(canvas, first, left + shift, top)
        paint_block(canvas, rest, left, top - first.height)

    return Piece(first.height + rest.height, paint)


def _cells(canvas: Any, section: CardSection, right: float, top: float, height: float) -> None:
    """Ruled cells to the right of an item, and a rule under it."""
    if not section.columns:
        return
    canvas.setLineWidth(HAIR)
    left = right - CELL_WIDTH * len(section.columns)
    for place in range(len(section.columns) + 1):
        canvas.line(left + place * CELL_WIDTH, top, left + place * CELL_WIDTH, top - height)
    canvas.line(left, top - height, right, top - height)


def foot_pieces(card: Card, writer: Writer) -> Iterator[Piece]:
    """Lines to sign, the sources, whose document it is, when it was printed."""
    for start in range(0, len(card.fields), 2):
        yield _fields(card.fields[start : start + 2], writer)
    yield Piece(writer.gap, lambda canvas, left, top: None)
    if card.sources:
        words = f"Sources: {'; '.join(card.sources)}."
        yield writer.words("sources", words, Face.REGULAR, writer.sizes.small, after=2)
    if card.control:
        words = " · ".join(card.control)
        yield writer.words("owner, number, valid until", words, Face.SEMIBOLD, CONTROL, after=2)
    yield writer.words("foot", card.foot, Face.REGULAR, writer.sizes.small)


def control_rule(writer: Writer, beside: str) -> Piece:
    """Five centimetres with a tick for each: measured, they show that nothing was scaled.

    What it is for stands beside it, and then the words ``beside``.
    """
    words = f"The line is {CONTROL_MM:g} mm long; if not, print again at 100 %. {beside}"
    small, room = Style(Face.REGULAR, *writer.sizes.small), writer.width - points(CONTROL_MM + 4)
    block = at_size("foot", words, small, small.between(writer.shrink), room)

    def paint(canvas: Any, left: float, top: float) -> None:
        line = top - points(3.6)
        canvas.setLineWidth(RULE)
        canvas.line(left, line, left + points(CONTROL_MM), line)
        for place in range(0, int(CONTROL_MM) + 1, 10):
            tick = points(2.0) if place in (0, int(CONTROL_MM)) else points(1.2)
            canvas.line(left + points(place), line, left + points(place), line + tick)
        paint_block(canvas, block, left + points(CONTROL_MM + 4), top)

    return Piece(max(block.height, points(4.0)), paint)


def _fields(names: tuple[str, ...], writer: Writer) -> Piece:
    """Two ruled lines side by side, each with its name under it."""
    gap = points(6)
    width = (writer.width - gap) / 2
    captions = [fit("field", name, Style(Face.REGULAR, 10.0, 8.0), width, 1) for name in names]

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(RULE)
        line = top - FIELD_HEIGHT + 11
        for place, caption in enumerate(captions):
            start = left + place * (width + gap)
            canvas.line(start, line, start + width, line)
            paint_block(canvas, caption, start, line - 1)

    return Piece(FIELD_HEIGHT, paint)

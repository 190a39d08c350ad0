"""The parts of a count sheet: columns, rows and boxes, each measured before it is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reports.documents.papers import CountSheetLine
from reports.drawing.fitting import Block, PrintRefused, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import millimetres, points
from reports.drawing.painting import BASELINE, Piece, paint_block, paint_down, paint_reversed
from reports.drawing.pictures import paint_picture, picture

HAIRLINE = 0.35
RULE = 0.9
CELL = points(1.4)  # free room inside a cell
LEAST_TICK = points(9.0)  # our choice: at least 7 mm of white to tick in
ROW_HEIGHT = points(8.5)
LEAST_NAME = points(48.0)
WIDE_NAME = points(60.0)  # from here on, all tick columns are of one width

NAME = Style(Face.SEMIBOLD, 10.5, 8.0, 1.18)
DETAIL = Style(Face.REGULAR, 8.5, 7.0, 1.22)
ITALIC_DETAIL = Style(Face.ITALIC, 8.5, 7.0, 1.22)
FIGURE = Style(Face.REGULAR, 10.5, 7.5, 1.18)
TICKED = Style(Face.SEMIBOLD, 10.5, 7.0, 1.18)
PHOTO_COLUMN = points(24.0)
PHOTO_WIDTH = PHOTO_COLUMN - CELL
PHOTO_HEIGHT = points(15.0)
COUNT = Style(Face.BOLD, 12.0, 9.0, 1.1)
HEADING = Style(Face.SEMIBOLD, 8.0, 6.5, 1.15)
SECTION = Style(Face.BOLD, 11.0, 9.0, 1.2)
HEADINGS_HEIGHT = points(5.0)
SECTION_HEIGHT = points(9.5)
CAPTION = Style(Face.REGULAR, 7.5, 7.0, 1.25)
FACT = Style(Face.SEMIBOLD, 10.0, 8.0, 1.2)
BOX_TITLE = Style(Face.BOLD, 10.0, 10.0, 1.3)
INSET = points(3.0)  # free room inside a box
BODY = Style(Face.REGULAR, 9.5, 8.0, 1.3)


@dataclass(frozen=True, slots=True)
class Column:
    """A column's heading, left edge and width (points)."""

    title: str
    left: float
    width: float
    right_aligned: bool = False

    @property
    def right(self) -> float:
        """The right edge, in points."""
        return self.left + self.width


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of the table from left to right."""

    number: Column
    quantity: Column
    name: Column
    item: Column
    ticks: tuple[Column, ...]
    photo: Column | None = None

    @property
    def all(self) -> tuple[Column, ...]:
        """Every column in order."""
        photo = (self.photo,) if self.photo else ()
        return (self.number, self.quantity, *photo, self.name, self.item, *self.ticks)


def columns(width: float, ticks: Sequence[str], *, photos: bool = False) -> Columns:
    """The columns for a table ``width`` points wide; the name takes what the rest leaves.

    PrintRefused when so many tick columns are asked for that names have no room.
    """
    headings = [fit("tick column", title, HEADING, width, 1) for title in ticks]
    ticked = [max(LEAST_TICK, heading.width + 2 * CELL) for heading in headings]
    number, quantity, item = points(8), points(11), points(27)
    photo = PHOTO_COLUMN if photos else 0.0
    rest = width - number - quantity - photo - item
    if ticked and rest - max(ticked) * len(ticked) >= WIDE_NAME:
        ticked = [max(ticked)] * len(ticked)
    name = rest - sum(ticked)
    if name < LEAST_NAME:
        raise PrintRefused(
            "tick columns",
            f"{len(ticks)} columns leave {millimetres(name):.0f} mm for the names of the "
            f"instruments; they need {millimetres(LEAST_NAME):.0f} mm. Take fewer columns.",
        )
    places = [0.0]
    for step in (number, quantity, photo, name, item, *ticked):
        places.append(places[-1] + step)
    return Columns(
        Column("No.", places[0], number, right_aligned=True),
        Column("Qty", places[1], quantity, right_aligned=True),
        Column("Instrument", places[3], name),
        Column("Item number", places[4], item),
        tuple(
            Column(title, place, step)
            for title, place, step in zip(ticks, places[5:], ticked, strict=False)
        ),
        Column("Picture", places[2], photo) if photos else None,
    )


def row(line: CountSheetLine, places: Columns) -> Piece:
    """``line`` set into the columns; PrintRefused names the line and the field.

    The words stand on a common first baseline over a thin rule, with cells to tick.
    """
    where = f"line {line.number}"
    room = places.name.width - 2 * CELL
    blocks = _under_the_name(line, where, room)
    name = fit(f"name on {where}", line.name, NAME, room)
    item = fit(f"item number on {where}", line.item_number, FIGURE, places.item.width - 2 * CELL)
    photo = None
    if line.photo:
        photo = picture(f"photo on {where}", line.photo, PHOTO_WIDTH, PHOTO_HEIGHT)
    number = fit(where, str(line.number), FIGURE, places.number.width, 1)
    count = "?" if line.quantity is None else str(line.quantity)
    quantity = fit(f"quantity on {where}", count, COUNT, places.quantity.width - CELL, 1)
    ticked = [
        fit(f"{column.title.lower()} on {where}", words, TICKED, column.width - CELL, 1)
        for words, column in zip(line.ticked, places.ticks, strict=False)
    ]
    words = name.height + sum(block.height for block in blocks)
    high = photo.height + CELL if photo else 0.0
    height = max(ROW_HEIGHT, high, words + 2 * CELL, item.height + 2 * CELL)

    def paint(canvas: Any, left: float, top: float) -> None:
        baseline = top - CELL - name.size * BASELINE

        def on_the_line(block: Block, start: float) -> None:
            paint_block(canvas, block, left + start, baseline + block.size * BASELINE)

        for block, column in ((number, places.number), (quantity, places.quantity)):
            on_the_line(block, column.right - CELL - block.width)
        paint_down(canvas, [name, *blocks], left + places.name.left + CELL, top - CELL)
        on_the_line(item, places.item.left + CELL)
        _rule_under(canvas, places, left, top - height)
        for column in places.ticks:
            canvas.line(left + column.left, top, left + column.left, top - height)
        for block, column in zip(ticked, places.ticks, strict=False):
            on_the_line(block, column.left + (column.width - block.width) / 2)
        if photo and places.photo:
            paint_picture(canvas, photo, left + places.photo.left + CELL, top - CELL / 2)

    return Piece(height, paint)


def _under_the_name(line: CountSheetLine, where: str, room: float) -> list[Block]:
    """What else is to be known of a line, each in a block of its own, ``room`` points wide."""
    details = (
        ("also known as", f"Also: {line.also_known_as}", line.also_known_as, DETAIL),
        ("protector", f"Protector: {line.protector}", line.protector, DETAIL),
        ("note", f"Note: {line.note}", line.note, DETAIL),
    )
    blocks = [
        fit(f"{field} on {where}", words, style, room)
        for field, words, given, style in details
        if given.strip()
    ]
    if line.may_go_without:
        blocks.append(fit(where, "The set may go without it.", ITALIC_DETAIL, room))
    return blocks


def _rule_under(
    canvas: Any, places: Columns, left: float, bottom: float, wide: float = HAIRLINE
) -> None:
    canvas.setLineWidth(wide)
    canvas.line(left, bottom, left + places.all[-1].right, bottom)


def headings(places: Columns) -> Piece:
    """The heading row."""
    blocks = [fit("heading", column.title, HEADING, column.width, 1) for column in places.all]

    def paint(canvas: Any, left: float, top: float) -> None:
        for block, column in zip(blocks, places.all, strict=True):
            start = column.left + CELL
            if column.right_aligned:
                start = column.right - CELL - block.width
            elif column in places.ticks:
                start = column.left + (column.width - block.width) / 2
            paint_block(canvas, block, left + start, top)
        _rule_under(canvas, places, left, top - HEADINGS_HEIGHT, RULE)

    return Piece(HEADINGS_HEIGHT, paint)


def section(title: str, pieces: str, places: Columns) -> Piece:
    """A section's title with its pieces to the right of it, over a thin rule."""
    block = fit("section title", title, SECTION, places.item.left, 1)
    words = fit("section", pieces, DETAIL, places.all[-1].right - places.item.left - CELL, 1)

    def paint(canvas: Any, left: float, top: float) -> None:
        base = top - SECTION_HEIGHT + points(2.0)
        paint_block(canvas, block, left, base + block.size * BASELINE)
        paint_block(canvas, words, left + block.width + points(3), base + words.size * BASELINE)
        _rule_under(canvas, places, left, top - SECTION_HEIGHT)

    return Piece(SECTION_HEIGHT, paint)


def fact(caption: str, text: str, width: float, reversed_words: bool = False) -> Piece:
    """``text`` under ``caption``, white on black where so asked; a dash where nothing was given."""
    words = fit(caption.lower(), text if text.strip() else "–", FACT, width)
    above = fit("caption", caption, CAPTION, width)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, above, left, top)
        if reversed_words:
            paint_reversed(canvas, words, left, top - above.height + points(0.4))
        else:
            paint_block(canvas, words, left, top - above.height)

    return Piece(above.height + words.height, paint)


def box(title: str, field: str, sentences: Sequence[str], width: float, more: float = 0.0) -> Piece:
    """Sentences under a title in a ruled box, with ``more`` room under them."""
    heading = fit("box", title, BOX_TITLE, width)
    blocks = [fit(field, sentence, BODY, width - 2 * INSET) for sentence in sentences]
    height = heading.height + sum(block.height for block in blocks) + INSET * 1.3 + more

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(RULE)
        canvas.rect(left, top - height, width, height)
        paint_down(canvas, [heading, *blocks], left + INSET, top - INSET * 0.8)

    return Piece(height, paint)

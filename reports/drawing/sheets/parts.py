"""The parts of a count sheet: columns, headings, sections and boxes, measured before they are
drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reports.drawing.fitting import PrintRefused, Style, fit, on_one_line
from reports.drawing.fonts import Face
from reports.drawing.measures import millimetres, points
from reports.drawing.painting import (
    BASELINE,
    Piece,
    paint_block,
    paint_down,
    paint_reversed,
)

HAIRLINE = 0.35
RULE = 0.9
CELL = points(1.2)  # free room at the side of a cell
LEAST_TICK = points(9.0)  # our choice: at least 7 mm of white to tick in
LEAST_NAME = points(48.0)
WIDE_NAME = points(60.0)  # from here on, all tick columns are of one width

DETAIL = Style(Face.REGULAR, 8.5, 7.0, 1.2)
PHOTO_COLUMN = points(24.0)
PHOTO_WIDTH = PHOTO_COLUMN - CELL
PHOTO_HEIGHT = points(15.0)
HEADING = Style(Face.SEMIBOLD, 8.0, 6.5, 1.15)
GROUP = Style(Face.BOLD, 9.0, 9.0, 1.15)
SECTION = Style(Face.BOLD, 11.0, 9.0, 1.2)
HEADINGS_HEIGHT = points(5.0)
GROUP_HEIGHT = points(4.2)
HEADING_DROP = points(0.7)
SECTION_HEIGHT = points(7.5)
CAPTION = Style(Face.REGULAR, 7.5, 7.0, 1.25)
FACT = Style(Face.SEMIBOLD, 10.0, 8.0, 1.2)
BOX_TITLE = Style(Face.BOLD, 10.0, 10.0, 1.3)
LOUD = Style(Face.BOLD, 12.0, 9.0, 1.25)
INSET = points(3.0)  # free room inside a box
BODY = Style(Face.REGULAR, 9.5, 8.0, 1.3)
OR = "OR"


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
    """The columns of the table from left to right; of ``ticks`` all but the first are the OR's."""

    number: Column
    quantity: Column
    name: Column
    ticks: tuple[Column, ...]
    photo: Column | None = None

    @property
    def all(self) -> tuple[Column, ...]:
        """Every column in order."""
        photo = (self.photo,) if self.photo else ()
        return (self.number, self.quantity, *photo, self.name, *self.ticks)

    @property
    def in_the_or(self) -> tuple[Column, ...]:
        """The columns that are filled in in the OR."""
        return self.ticks[1:]


def columns(width: float, ticks: Sequence[str], *, photos: bool = False) -> Columns:
    """The columns for a table ``width`` points wide; the name takes what the rest leaves.

    PrintRefused when so many tick columns are asked for that names have no room.
    """
    titles = [fit("tick column", title, HEADING, width, 1) for title in ticks]
    ticked = [max(LEAST_TICK, heading.width + 2 * CELL) for heading in titles]
    number, quantity = points(7.5), points(10)
    photo = PHOTO_COLUMN if photos else 0.0
    rest = width - number - quantity - photo
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
    for step in (number, quantity, photo, name, *ticked):
        places.append(places[-1] + step)
    return Columns(
        Column("No.", places[0], number, right_aligned=True),
        Column("Qty", places[1], quantity, right_aligned=True),
        Column("Instrument, item number", places[3], name),
        tuple(
            Column(title, place, step)
            for title, place, step in zip(ticks, places[4:], ticked, strict=False)
        ),
        Column("Picture", places[2], photo) if photos else None,
    )


def rule_under(
    canvas: Any, places: Columns, left: float, bottom: float, wide: float = HAIRLINE
) -> None:
    """A rule over the whole width of the table."""
    canvas.setLineWidth(wide)
    canvas.line(left, bottom, left + places.all[-1].right, bottom)


def headings(places: Columns) -> Piece:
    """The heading row, with one heading over the columns of the OR."""
    blocks = [fit("heading", column.title, HEADING, column.width, 1) for column in places.all]
    group = GROUP_HEIGHT if places.in_the_or else 0.0

    def paint(canvas: Any, left: float, top: float) -> None:
        if places.in_the_or:
            _paint_group(canvas, places, left, top)
        for block, column in zip(blocks, places.all, strict=True):
            start = column.left + CELL
            if column.right_aligned:
                start = column.right - CELL - block.width
            elif column in places.ticks:
                start = column.left + (column.width - block.width) / 2
            paint_block(canvas, block, left + start, top - group - HEADING_DROP)
        rule_under(canvas, places, left, top - group - HEADINGS_HEIGHT, RULE)

    return Piece(HEADINGS_HEIGHT + group, paint)


def _paint_group(canvas: Any, places: Columns, left: float, top: float) -> None:
    first, last = places.in_the_or[0], places.in_the_or[-1]
    words = fit("heading", OR, GROUP, last.right - first.left, 1)
    middle = left + (first.left + last.right) / 2
    paint_block(canvas, words, middle - words.width / 2, top)
    canvas.setLineWidth(RULE)
    bottom = top - GROUP_HEIGHT
    canvas.line(left + first.left + CELL / 2, bottom, left + last.right, bottom)


def section(title: str, pieces: str, places: Columns) -> Piece:
    """A section's title with its pieces to the right of it, over a thin rule; of a long title its
    first words."""
    block = on_one_line("section title", title, SECTION, places.name.right)
    words = fit("section", pieces, DETAIL, places.all[-1].right - block.width - points(4), 1)

    def paint(canvas: Any, left: float, top: float) -> None:
        base = top - SECTION_HEIGHT + points(1.7)
        paint_block(canvas, block, left, base + block.size * BASELINE)
        paint_block(canvas, words, left + block.width + points(3), base + words.size * BASELINE)
        rule_under(canvas, places, left, top - SECTION_HEIGHT)

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


def loud(field: str, sentences: Sequence[str], width: float, style: Style = LOUD) -> Piece:
    """Sentences in white under each other in a black block ``width`` wide; nothing for none."""
    blocks = [fit(field, words, style, width - 2 * INSET) for words in sentences if words.strip()]
    if not blocks:
        return Piece(0.0, lambda canvas, left, top: None)
    height = sum(block.height for block in blocks) + points(2.4)

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setFillGray(0)
        canvas.rect(left, top - height, width, height, stroke=0, fill=1)
        top -= points(1.5)
        for block in blocks:
            paint_block(canvas, block, left + INSET, top, gray=1.0)
            top -= block.height

    return Piece(height, paint)


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

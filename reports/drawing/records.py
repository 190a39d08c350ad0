"""The record of one package as a PDF: its sections as tables, a heading never alone at the foot."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from assembly.rules.days import time_words
from reports.documents.records import PackageRecord, RecordSection
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Block, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.lists import (
    BOTTOM,
    HAIRLINE,
    RULE,
    SIDE,
    TITLE,
    TOP,
    paint_foot,
    table_row,
    widths_of,
)
from reports.drawing.measures import points
from reports.drawing.painting import (
    PADDING,
    Piece,
    box_height,
    paint_block,
    paint_reversed,
    shared_out,
    stacked,
)

HEADING = Style(Face.SEMIBOLD, 11.5, 8.0, 1.2)
LOUD = Style(Face.BOLD, 14.0, 10.0, 1.2)
SMALL = Style(Face.SEMIBOLD, 8.5, 6.5, 1.2)
WORDS = Style(Face.REGULAR, 8.5, 6.5, 1.22)
ABOVE, BELOW = points(4.0), points(1.0)


def draw_record(record: PackageRecord, made_at: datetime, made_by: str, paper: str = "A4") -> bytes:
    """The record on as many pages as it takes; the code stands on each."""
    size = paper_points(paper)
    inner = size[0] - 2 * SIDE
    room = size[1] - TOP - BOTTOM
    pieces = [*_head(record, inner)]
    for section in record.sections:
        pieces += _section(section, inner, room)
    pages = shared_out(pieces, room, lambda piece: piece.height)
    out = io.BytesIO()
    canvas = new_canvas(out, size, f"Record of {record.code}")
    canvas.setStrokeGray(0)
    made = f"Record of {record.code}. Made {time_words(made_at)} by {made_by}"
    for number, page in enumerate(pages, start=1):
        stacked(page).paint(canvas, SIDE, size[1] - TOP)
        paint_foot(canvas, made, size[0], f"Page {number} of {len(pages)}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _head(record: PackageRecord, inner: float) -> Iterator[Piece]:
    yield _words(fit("title", f"Record of package {record.code}", TITLE, inner, 2))
    yield _words(fit("what it is", record.title, HEADING, inner))
    if record.loud:
        block = fit("state", record.loud, LOUD, inner - 2 * PADDING)
        yield Piece(box_height(block) + points(3),
                    lambda canvas, left, top: paint_reversed(canvas, block, left, top - points(2))
                    )  # fmt: skip


def _words(block: Block) -> Piece:
    return Piece(block.height + BELOW, lambda canvas, left, top: paint_block(canvas, block, left,
                                                                            top))  # fmt: skip


def _section(section: RecordSection, inner: float, room: float) -> list[Piece]:
    """Its heading with its heading row and its first row as one piece, then row by row."""
    widths = widths_of(section.columns, inner)
    block = fit("heading", section.heading, HEADING, inner)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, block, left, top - ABOVE)
        canvas.setLineWidth(RULE)
        bottom = top - ABOVE - block.height - BELOW
        canvas.line(left, bottom, left + inner, bottom)

    pieces = [Piece(ABOVE + block.height + BELOW, paint)]
    if section.titles:
        pieces += table_row(section.columns, section.titles, SMALL, widths, HAIRLINE, room)
    left = room - sum(piece.height for piece in pieces)
    rows = [part for row in section.rows
            for part in table_row(section.columns, row, WORDS, widths, HAIRLINE, left)]  # fmt: skip
    return [stacked([*pieces, *rows[:1]]), *rows[1:]]

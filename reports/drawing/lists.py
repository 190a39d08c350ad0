"""A list as a PDF: heading row on every page, rows never parted, "Page 2 of 3"."""

from __future__ import annotations

import io
from typing import Any

from reports.documents.lists import ListDocument
from reports.documents.papers import time_words
from reports.drawing.files import new_canvas, paper_points, showable
from reports.drawing.fitting import Block, PrintRefused, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, paint_block, shared_out, stacked

SIDE, TOP, BOTTOM = points(15.0), points(14.0), points(18.0)
CELL = points(1.4)
TITLE = Style(Face.BOLD, 18.0, 12.0, 1.2)
NOTE = Style(Face.REGULAR, 9.5, 8.0, 1.25)
HEADING = Style(Face.SEMIBOLD, 9.0, 6.5, 1.2)
WORDS = Style(Face.REGULAR, 9.5, 7.0, 1.22)
FOOT = Style(Face.REGULAR, 8.0, 7.0, 1.25)
HAIRLINE, RULE = 0.35, 0.9


def draw_list(document: ListDocument, paper: str = "A4") -> bytes:
    """``document`` on as many pages as it takes; PrintRefused names the row and column."""
    size = paper_points(paper)
    inner = size[0] - 2 * SIDE
    widths = _widths(document, inner)
    title = fit("title", document.kind.title, TITLE, inner, 2)
    note = fit("note", document.kind.note, NOTE, inner)
    heading = _row(document, _cells("heading", document.headings, HEADING, widths), widths, RULE)
    found = [
        _cells(f"the row of {row[0]}", _showable(row), WORDS, widths) for row in document.rows
    ] or [[fit("list", document.kind.nothing, WORDS, inner)]]
    rows = [_row(document, cells, widths, HAIRLINE) for cells in found]
    first = title.height + note.height + points(5)
    room = size[1] - TOP - BOTTOM - heading.height
    for number, row in enumerate(rows, start=1):
        if row.height > room:
            raise PrintRefused(f"row {number}", "its words are longer than a page. Shorten them.")
    pages = shared_out(rows, room, lambda row: row.height, room - first)
    out = io.BytesIO()
    canvas = new_canvas(out, size, document.kind.title)
    canvas.setStrokeGray(0)
    for number, page in enumerate(pages, start=1):
        top = size[1] - TOP
        if number == 1:
            paint_block(canvas, title, SIDE, top)
            paint_block(canvas, note, SIDE, top - title.height - 2)
            top -= first
        stacked([heading, *page]).paint(canvas, SIDE, top)
        _paint_foot(canvas, document, size[0], f"Page {number} of {len(pages)}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _widths(document: ListDocument, inner: float) -> list[float]:
    whole = sum(column.share for column in document.kind.columns)
    return [inner * column.share / whole for column in document.kind.columns]


def _cells(where: str, row: tuple[str, ...], style: Style, widths: list[float]) -> list[Block]:
    return [
        fit(f"column {number} of {where}", words, style, width - 2 * CELL)
        for number, (words, width) in enumerate(zip(row, widths, strict=True), start=1)
    ]


def _showable(row: tuple[str, ...]) -> tuple[str, ...]:
    """Signs that the typeface lacks stand as "[?]": one odd name never takes a list away."""
    return tuple(showable(words, WORDS.face) for words in row)


def _row(document: ListDocument, cells: list[Block], widths: list[float], rule: float) -> Piece:
    """One row over a rule."""
    height = max(block.height for block in cells) + 2 * CELL

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(rule)
        canvas.line(left, top - height, left + sum(widths), top - height)
        for block, width, column in zip(cells, widths, document.kind.columns, strict=False):
            shift = width - CELL - block.width if column.align == "right" else CELL
            paint_block(canvas, block, left + shift, top - CELL)
            left += width

    return Piece(height, paint)


def _paint_foot(canvas: Any, document: ListDocument, width: float, page: str) -> None:
    top = points(13)
    pages = fit("page number", page, Style(Face.SEMIBOLD, 9.0, 9.0), points(40), 1)
    paint_block(canvas, pages, width - SIDE - pages.width, top)
    words = f"Made {time_words(document.made_at)} by {document.made_by}"
    paint_block(canvas, fit("made by", words, FOOT, width - 2 * SIDE - points(44), 1), SIDE, top)

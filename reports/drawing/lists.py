"""A list as a PDF: heading row on every page, rows never parted, "Page 2 of 3"."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from assembly.rules.days import time_words
from assembly.rules.drawing.shapes import Scene
from reports.documents.lists import ListColumn, ListDocument, Row
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Block, Style, fit, on_one_line
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, paint_block, shared_out, stacked
from reports.drawing.scenes import paint_scene, scale_for

SIDE, TOP, BOTTOM = points(15.0), points(14.0), points(18.0)
CELL = points(1.4)
TITLE = Style(Face.BOLD, 18.0, 12.0, 1.2)
NOTE = Style(Face.REGULAR, 9.5, 8.0, 1.25)
HEADING = Style(Face.SEMIBOLD, 9.0, 6.5, 1.2)
WORDS = Style(Face.REGULAR, 9.5, 7.0, 1.22)
FOOT = Style(Face.REGULAR, 8.0, 7.0, 1.25)
HAIRLINE, RULE = 0.35, 0.9
PLOTS_A_ROW, PLOT_GAP = 3, points(4.0)
IN_THE_HAND = 5.0
"""The smallest letters of a plot, in points: a list is read close by."""


def draw_list(document: ListDocument, paper: str = "A4") -> bytes:
    """``document`` on as many pages as it takes; a row higher than a page goes on on the next."""
    size, columns = paper_points(paper), document.kind.columns
    inner = size[0] - 2 * SIDE
    widths = widths_of(columns, inner)
    title = fit("title", document.kind.title, TITLE, inner)
    note = fit("note", document.kind.note, NOTE, inner)
    high = size[1] - TOP - BOTTOM
    [heading] = table_row(columns, document.headings, HEADING, widths, RULE, high)
    first = title.height + note.height + points(5)
    room = high - heading.height
    rows = [part for row in document.rows
            for part in table_row(columns, row, WORDS, widths, HAIRLINE, room)]  # fmt: skip
    if not rows:
        block = fit("list", document.kind.nothing, WORDS, inner)
        rows = [_row(columns, [block], widths, HAIRLINE)]
    plots = list(_plots(document.plots, inner))
    pages = shared_out([*plots, *rows], room, lambda piece: piece.height, room - first)
    out = io.BytesIO()
    canvas = new_canvas(out, size, document.kind.title)
    canvas.setStrokeGray(0)
    made = f"Made {time_words(document.made_at)} by {document.made_by}"
    for number, page in enumerate(pages, start=1):
        top = size[1] - TOP
        if number == 1:
            paint_block(canvas, title, SIDE, top)
            paint_block(canvas, note, SIDE, top - title.height - 2)
            top -= first
        drawn = [one for one in page if one in plots]
        listed = [heading, *page[len(drawn) :]] if len(page) > len(drawn) else []
        stacked([*drawn, *listed]).paint(canvas, SIDE, top)
        paint_foot(canvas, made, size[0], f"Page {number} of {len(pages)}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _plots(scenes: Sequence[Scene], inner: float) -> Iterator[Piece]:
    """The plots in rows of three."""
    wide = inner / PLOTS_A_ROW
    for place in range(0, len(scenes), PLOTS_A_ROW):
        yield _plot_row(scenes[place : place + PLOTS_A_ROW], wide)


def _plot_row(scenes: Sequence[Scene], wide: float) -> Piece:
    high = points(60)
    scales = [scale_for(scene, wide - PLOT_GAP, high, IN_THE_HAND) for scene in scenes]
    tall = max(points(one.height) / scale for one, scale in zip(scenes, scales, strict=True))

    def paint(canvas: Any, left: float, top: float) -> None:
        for scene, scale in zip(scenes, scales, strict=True):
            paint_scene(canvas, scene, left, top, scale, IN_THE_HAND)
            left += wide

    return Piece(tall + PLOT_GAP, paint)


def widths_of(columns: Sequence[ListColumn], inner: float) -> list[float]:
    """The width of each column by its share of ``inner`` (points)."""
    whole = sum(column.share for column in columns)
    return [inner * column.share / whole for column in columns]


def table_row(
    columns: Sequence[ListColumn],
    row: Row,
    style: Style,
    widths: list[float],
    rule: float,
    room: float,
) -> list[Piece]:
    """One row of words over a rule; in parts of at most ``room`` points where it is higher."""
    cells = [
        fit(f"column {number} of the row of {row[0]}", words, style, width - 2 * CELL)
        for number, (words, width) in enumerate(zip(row, widths, strict=True), start=1)
    ]
    most = int((room - 2 * CELL) // max(block.step for block in cells))
    starts = range(0, max(1, *(len(block.lines) for block in cells)), most)
    return [
        _row(columns, [replace(block, lines=block.lines[start : start + most]) for block in cells],
             widths, rule)
        for start in starts
    ]  # fmt: skip


def _row(
    columns: Sequence[ListColumn], cells: list[Block], widths: list[float], rule: float
) -> Piece:
    height = max(block.height for block in cells) + 2 * CELL

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(rule)
        canvas.line(left, top - height, left + sum(widths), top - height)
        for block, width, column in zip(cells, widths, columns, strict=False):
            shift = width - CELL - block.width if column.align == "right" else CELL
            paint_block(canvas, block, left + shift, top - CELL)
            left += width

    return Piece(height, paint)


def paint_foot(canvas: Any, made: str, width: float, page: str) -> None:
    """Who made it and when, and the number of the page, at the foot of a page so wide (points)."""
    top = points(13)
    pages = fit("page number", page, Style(Face.SEMIBOLD, 9.0, 9.0), points(40), 1)
    paint_block(canvas, pages, width - SIDE - pages.width, top)
    words = on_one_line("made by", made, FOOT, width - 2 * SIDE - points(44))
    paint_block(canvas, words, SIDE, top)

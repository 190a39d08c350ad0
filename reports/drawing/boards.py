"""The shift's board as a PDF: one landscape page, in the largest type that everything fits in.

What does not fit even in the smallest is counted and left to the screen, the last rows of the
longest part first.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace

from reports.documents.boards import BoardDocument, BoardPart
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Style, fit
from reports.drawing.fonts import Face
from reports.drawing.lists import FOOT, HAIRLINE, RULE, table_row, widths_of
from reports.drawing.measures import points
from reports.drawing.painting import Piece, as_piece, paint_block, stacked

SIDE, TOP, BOTTOM = points(12.0), points(11.0), points(17.0)
TITLE = Style(Face.BOLD, 26.0, 14.0, 1.2)
SIZES = (18.0, 16.0, 14.0, 12.0, 11.0)
"""Sizes of type of the rows, in points: read from a metre at the smallest, from two at 16."""
HEADS = 0.72
"""Size of a column's heading, as a share of its rows'."""
AFTER = points(2.5)


def draw_board(board: BoardDocument, paper: str = "A4") -> bytes:
    """The board on one page."""
    high, wide = paper_points(paper)
    inner, room = wide - 2 * SIDE, high - TOP - BOTTOM
    out = io.BytesIO()
    canvas = new_canvas(out, (wide, high), board.title)
    canvas.setStrokeGray(0)
    stacked(_fitted(board, inner, room)).paint(canvas, SIDE, high - TOP)
    paint_block(canvas, fit("foot", board.foot, FOOT, inner, 3), SIDE, BOTTOM - points(3))
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _fitted(board: BoardDocument, inner: float, room: float) -> list[Piece]:
    """Everything, in the largest type that has room; else as much as the smallest has."""
    for size in SIZES:
        pieces = _pieces(board, board.parts, size, inner, room)
        if _height(pieces) <= room:
            return pieces
    parts, left_out = list(board.parts), 0
    while any(part.rows for part in parts):
        longest = max(range(len(parts)), key=lambda place: len(parts[place].rows))
        parts[longest] = replace(parts[longest], rows=parts[longest].rows[:-1])
        left_out += 1
        pieces = _pieces(board, parts, SIZES[-1], inner, room, left_out)
        if _height(pieces) <= room:
            return pieces
    return pieces


def _height(pieces: Sequence[Piece]) -> float:
    return sum(piece.height for piece in pieces)


def _pieces(
    board: BoardDocument, parts: Sequence[BoardPart], size: float, inner: float, room: float,
    left_out: int = 0,
) -> list[Piece]:  # fmt: skip
    words = Style(Face.SEMIBOLD, size, 7.0, 1.15)
    found = [as_piece(fit("title", board.title, TITLE, inner, 1), AFTER)]
    for part in parts:
        found += _part(part, words, inner, room)
    if not parts:
        found.append(as_piece(fit("board", board.nothing, words, inner)))
    if left_out:
        more = f"{left_out} more: on the screen."
        found.append(as_piece(fit("more", more, replace(words, face=Face.BOLD), inner, 1)))
    return found


def _part(part: BoardPart, words: Style, inner: float, room: float) -> list[Piece]:
    heads = Style(Face.REGULAR, words.largest * HEADS, 6.5, 1.2)
    widths = widths_of(part.columns, inner)
    titles = tuple(column.title for column in part.columns)
    named = (part.title, *titles[1:])
    pieces = table_row(part.columns, named, replace(heads, face=Face.BOLD), widths, RULE, room)
    for row in part.rows:
        pieces += table_row(part.columns, row, words, widths, HAIRLINE, room)
    return [*pieces, Piece(AFTER, lambda canvas, left, top: None)]

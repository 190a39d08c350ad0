"""The lines of a count sheet: what is counted, with cells to tick, and what stands in for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from reports.documents.count_sheets import CountSheetLine, Substitute
from reports.drawing.fitting import Block, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import BASELINE, Piece, paint_block, paint_down, stacked
from reports.drawing.pictures import paint_picture, picture
from reports.drawing.sheets.parts import (
    CELL,
    DETAIL,
    HAIRLINE,
    PHOTO_HEIGHT,
    PHOTO_WIDTH,
    Column,
    Columns,
    rule_under,
)

NAME = Style(Face.SEMIBOLD, 11.0, 8.0, 1.12)
ITEM = Style(Face.REGULAR, 9.0, 7.5, 1.15)
NUMBER = Style(Face.REGULAR, 10.0, 7.5, 1.15)
COUNT = Style(Face.BOLD, 12.0, 9.0, 1.1)
TICKED = Style(Face.SEMIBOLD, 11.0, 7.0, 1.05)
UNDER_TICKED = Style(Face.REGULAR, 7.5, 7.0, 1.05)
ROW_HEIGHT = points(7.6)
PAD, CLOSE_PAD = points(0.75), points(0.45)  # free room above and below the words of a row
ITEM_GAP = points(3.0)


def row(line: CountSheetLine, places: Columns, *, close: bool = False) -> Piece:
    """``line`` set into the columns, and under it a row for each thing that stands in.

    PrintRefused names the line and the field. The words stand on a common first baseline over a
    thin rule, with cells to tick; the cell of a line that is short is white on black. Set
    ``close``, details stand behind a name where there is room: nothing is smaller or left out.
    """
    others = [_substitute_row(line, one, places, close=close) for one in line.instead]
    return stacked([_line_row(line, places, close=close), *others])


def _line_row(line: CountSheetLine, places: Columns, *, close: bool) -> Piece:
    where = f"line {line.number}"
    photo = None
    if line.photo:
        photo = picture(f"photo on {where}", line.photo, PHOTO_WIDTH, PHOTO_HEIGHT)
    details = list(line.details)
    if line.counted and not places.ticks:
        details.append(f"counted: {line.counted}")
    words = _words(line.name, line.item_number, details, where, places, close=close)
    number = fit(where, str(line.number), NUMBER, places.number.width, 1)
    count = "?" if line.quantity is None else str(line.quantity)
    quantity = fit(f"quantity on {where}", count, COUNT, places.quantity.width - CELL, 1)
    ticked = _ticked(line, where, places.ticks)
    high = photo.height + CELL if photo else 0.0
    height = max(ROW_HEIGHT, high, words.height)

    def paint(canvas: Any, left: float, top: float) -> None:
        baseline = top - words.pad - words.down[0].size * BASELINE
        for block, column in ((number, places.number), (quantity, places.quantity)):
            start = left + column.right - CELL - block.width
            paint_block(canvas, block, start, baseline + block.size * BASELINE)
        _paint_words(canvas, words, places.name, left, top)
        _paint_frame(canvas, places, left, top, height)
        _paint_cell(canvas, ticked, places.ticks, left, top, height, black=bool(line.missing))
        if photo and places.photo:
            paint_picture(canvas, photo, left + places.photo.left + CELL, top - CELL / 2)

    return Piece(height, paint)


def _substitute_row(
    line: CountSheetLine, other: Substitute, places: Columns, *, close: bool
) -> Piece:
    """What stands in on a line, in a row of its own: it is counted by itself in the OR."""
    where = f"substitute on line {line.number}"
    name = f"Substitute for line {line.number}: {other.name}"
    words = _words(name, other.item_number, (), where, places, close=close)
    many = fit(where, str(other.many), TICKED, points(12), 1)
    height = max(ROW_HEIGHT, words.height)

    def paint(canvas: Any, left: float, top: float) -> None:
        _paint_words(canvas, words, places.name, left, top)
        _paint_frame(canvas, places, left, top, height)
        _paint_cell(canvas, [many], places.ticks, left, top, height)

    return Piece(height, paint)


@dataclass(frozen=True, slots=True)
class _Words:
    """The name, and what stands ``down`` under it; on its line the details ``behind`` it, and the
    item number at the ``end``."""

    down: tuple[Block, ...]
    pad: float
    behind: Block | None = None
    end: Block | None = None

    @property
    def height(self) -> float:
        """With free room above and below, in points."""
        return sum(block.height for block in self.down) + 2 * self.pad


def _words(
    name: str, item_number: str, details: Sequence[str], where: str, places: Columns, *,
    close: bool,
) -> _Words:  # fmt: skip
    """The name with its details under it, or behind it where lines stand close; its item number
    at the right end of a short name, before the details of a long one."""
    room = places.name.width - 2 * CELL
    block = fit(f"name on {where}", name, NAME, room)
    end = fit(f"item number on {where}", item_number, ITEM, room) if item_number else None
    if end and (len(block.lines) > 1 or block.width + ITEM_GAP + end.width > room):
        details, end = (item_number, *details), None
    words = _Words((block,), CLOSE_PAD if close else PAD, end=end)
    under = " · ".join(words for words in details if words.strip())
    if not under:
        return words
    said = fit(f"details on {where}", under, DETAIL, room)
    taken = block.width + ITEM_GAP + said.width + (ITEM_GAP + end.width if end else 0.0)
    if close and len(block.lines) == len(said.lines) == 1 and taken <= room:
        return replace(words, behind=said)
    return replace(words, down=(block, said))


def _ticked(line: CountSheetLine, where: str, ticks: Sequence[Column]) -> list[Block]:
    """What stands in the first cell: the figures, and what of them is another instrument."""
    if not ticks or not line.counted:
        return []
    column = ticks[0]
    field = f"{column.title.lower()} on {where}"
    what = "substitutes" if line.substitutes > 1 else "substitute"
    figures = line.counted.replace(f" {what}", "") if line.substitutes else line.counted
    blocks = [fit(field, figures, TICKED, column.width - 2 * CELL, 1)]
    if line.substitutes:
        blocks.append(fit(field, what, UNDER_TICKED, column.width - CELL, 1))
    return blocks


def _paint_words(canvas: Any, words: _Words, column: Column, left: float, top: float) -> None:
    start, top, name = left + column.left + CELL, top - words.pad, words.down[0]
    paint_down(canvas, words.down, start, top)
    if one := words.behind:
        drop = (name.size - one.size) * BASELINE
        paint_block(canvas, one, start + name.width + ITEM_GAP, top - drop)
    if one := words.end:
        drop = (name.size - one.size) * BASELINE
        paint_block(canvas, one, left + column.right - CELL - one.width, top - drop)


def _paint_frame(canvas: Any, places: Columns, left: float, top: float, height: float) -> None:
    rule_under(canvas, places, left, top - height)
    canvas.setLineWidth(HAIRLINE)
    for column in places.ticks:
        canvas.line(left + column.left, top, left + column.left, top - height)


def _paint_cell(
    canvas: Any,
    blocks: list[Block],
    ticks: Sequence[Column],
    left: float,
    top: float,
    height: float,
    *,
    black: bool = False,
) -> None:
    """Words in the middle of the first cell to tick."""
    if not blocks or not ticks:
        return
    column = ticks[0]
    if black:
        canvas.setFillGray(0)
        canvas.rect(left + column.left, top - height, column.width, height, stroke=0, fill=1)
    top -= (height - sum(block.height for block in blocks)) / 2
    for block in blocks:
        start = left + column.left + (column.width - block.width) / 2
        paint_block(canvas, block, start, top, gray=1.0 if black else 0.0)
        top -= block.height

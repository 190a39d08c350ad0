"""Workbooks that go back to the person: their own with the problems marked, and one with only
the rows that were refused.

Every text is written as text: nothing in these files can turn into a formula.
"""

from __future__ import annotations

import io
import re
import warnings
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import openpyxl
from openpyxl.cell.cell import MergedCell
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import column_index_from_string

from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.correcting import At
from catalog.spreadsheets.workbook.naming import Format
from catalog.spreadsheets.workbook.reading import Sheet, Workbook
from catalog.spreadsheets.workbook.writing import bytes_of, printable, sheet_title

AUTHOR = "Packbench"
WHY = "Why it was not read"
"""Heading of the column that is added to the refused rows."""
COLOURS: Mapping[str, str] = {
    "refuses": "F6B7A0",
    "waits": "FBD98A",
    "question": "FFF3B0",
    "note": "D9E8F5",
    "corrected": "CFE6D6",
}
"""Effect of a problem to the colour of its cell. The comment says the same in words."""
_STRENGTH = ("note", "corrected", "question", "waits", "refuses")


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing to say at one cell."""

    sheet: str
    row: int
    column: str
    effect: str
    message: str


def marked_workbook(
    data: bytes, workbook: Workbook, marks: Iterable[Mark], typed: Mapping[At, str]
) -> bytes:
    """The person's own workbook with each mark's cell coloured and its reason as a comment.

    A .csv, .xls or .ods comes back as a workbook with the same cells. Formulas stay what they were.
    ``typed`` are the cells that were corrected since.
    """
    if workbook.format is Format.XLSX:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Of styles that openpyxl leaves out.
            book = openpyxl.load_workbook(io.BytesIO(data))
    else:
        book = _copied(workbook)
    for (sheet, row, column), text in typed.items():
        if (target := _cell(book, sheet, row, column)) is not None:
            _type_over(target, text)
    by_cell: dict[tuple[str, str, int], list[Mark]] = defaultdict(list)
    for mark in marks:
        by_cell[mark.sheet, mark.column, mark.row].append(mark)
    for (sheet, column, row), there in by_cell.items():
        if (target := _cell(book, sheet, row, column)) is not None:
            _mark(target, there)
    return bytes_of(book)


def _cell(book: Any, sheet: str, row: int, column: str) -> Any:
    """The cell in the workbook; None where no such sheet is there, or the cell is no cell."""
    title = sheet if sheet in book.sheetnames else sheet_title(sheet)
    if title not in book.sheetnames or not column:
        return None
    cell = book[title].cell(row, column_index_from_string(column))
    return None if isinstance(cell, MergedCell) else cell  # Its first cell has its own mark.


def _type_over(cell: Any, text: str) -> None:
    """Another text in the cell, and a number where one stood in it."""
    number = re.fullmatch("-?[0-9]+(?:[.][0-9]+)?", text) and isinstance(cell.value, int | float)
    _write(cell, float(text) if number else text or None)


def _mark(cell: Any, marks: Sequence[Mark]) -> None:
    strongest = max((mark.effect for mark in marks), key=_STRENGTH.index)
    cell.fill = PatternFill("solid", fgColor=COLOURS[strongest])
    words = "\n".join(printable(mark.message) for mark in marks)
    cell.comment = Comment(words, AUTHOR, width=360, height=40 + 40 * len(marks))


def refused_workbook(
    workbook: Workbook,
    headers: Mapping[str, Sequence[int]],
    reasons: Mapping[tuple[str, int], Sequence[str]],
    groups: Mapping[tuple[str, int], str],
) -> bytes:
    """The rows of ``reasons`` below the heading rows of their sheets, as they were typed.

    ``headers``: sheet title to its heading rows. ``groups``: the grey heading row that a row
    stood under, which is written again above it. The last column says what is wrong.
    """
    book = openpyxl.Workbook()
    book.remove(book.active)
    for sheet in workbook.sheets:
        wanted = {row for title, row in reasons if title == sheet.title}
        if sheet.title in headers and wanted:
            target = book.create_sheet(sheet_title(sheet.title))
            headed = _with_rows(headers[sheet.title], wanted)
            _refused_sheet(target, sheet, headed, wanted, reasons, groups)
    if not book.sheetnames:
        book.create_sheet("Nothing was refused")
    return bytes_of(book)


def _with_rows(headers: Sequence[int], wanted: Collection[int]) -> set[int]:
    """The heading rows that have a wanted row below them, before the next heading row."""
    return {max((each for each in headers if each <= row), default=0) for row in wanted}


def _refused_sheet(
    target: Any,
    sheet: Sheet,
    headers: Collection[int],
    wanted: set[int],
    reasons: Mapping[tuple[str, int], Sequence[str]],
    groups: Mapping[tuple[str, int], str],
) -> None:
    last, at, group = 1, 0, ""
    for row in sheet.rows:
        if row.number in headers:
            at += 1
            last = max(column_index_from_string(cell.column_letter) for cell in row.cells) + 1
            _write_row(target, at, row)
            _write(target.cell(at, last), WHY)
            for cell in target[at]:
                cell.font = Font(bold=True)
        elif row.number in wanted:
            here = groups.get((sheet.title, row.number), "")
            if here != group:
                at += 2 if group and not here else 1  # A blank row ends a group.
                if here:
                    _write(target.cell(at, 1), here)
                    at += 1
                group = here
            else:
                at += 1
            _write_row(target, at, row)
            _write(target.cell(at, last), " ".join(reasons[sheet.title, row.number]))


def _write_row(target: Any, at: int, row: Row) -> None:
    for cell in row.cells:
        if not cell.merged:
            place = target.cell(at, column_index_from_string(cell.column_letter))
            _write(place, cell.typed if cell.formula is not None else cell.value, cell)


def _write(place: Any, value: Any, source: Cell | None = None) -> None:
    if isinstance(value, str):
        place.value = printable(value)
        place.data_type = "s"  # A text that starts with = stays a text.
    else:
        place.value = float(value) if isinstance(value, Decimal) else value
    if source is not None and source.number_format not in ("", "csv"):
        place.number_format = source.number_format


def _copied(workbook: Workbook) -> Any:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for sheet in workbook.sheets:
        target = book.create_sheet(sheet_title(sheet.title))
        for row in sheet.rows:
            _write_row(target, row.number, row)
    return book

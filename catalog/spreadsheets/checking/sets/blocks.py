"""Several count sheets on one sheet: one under the other, or side by side.

Each becomes a sheet of its own with the rows and columns that it has in the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import takewhile

from openpyxl.utils import column_index_from_string

from catalog.spreadsheets.checking.sets.heads import labels_above, labels_in
from catalog.spreadsheets.checking.tables import Table, find_table
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import SET_COLUMNS
from catalog.spreadsheets.evidence.beside import first_letters
from catalog.spreadsheets.evidence.headings import heading_score, speaks_of_a_set
from catalog.spreadsheets.evidence.labels import only_says_contents
from catalog.spreadsheets.workbook.cell import Row
from catalog.spreadsheets.workbook.reading import Sheet

STARTS = {"set_code", "set_name"}
"""Labels of which the first begins another set."""
A_HEADING = 0.6
"""A heading fits a column from here."""
SAME_HEADINGS = 2
"""A row with as many of the headings of the first table is a heading row itself."""


def blocks_of(sheet: Sheet, choice: SheetChoice | None = None) -> Iterator[Sheet]:
    """The parts of a sheet that each hold a set; the sheet itself where it holds one."""
    found = find_table(sheet, SET_COLUMNS, choice)
    if found is None or not found.header.cells:
        yield sheet
        return
    header = found.header
    starts = _starts(header)
    for place, first in enumerate(starts):
        until = starts[place + 1] if place + 1 < len(starts) else None
        part = _columns(sheet, first if place else 1, until) if len(starts) > 1 else sheet
        yield from _stacked(part, header)


def _starts(header: Row) -> list[int]:
    """The columns at which the headings begin anew."""
    headings = {cell.column_letter: cell.typed for cell in header.cells}
    return [column_index_from_string(letter) for letter in first_letters(headings)]


def _columns(sheet: Sheet, first: int, until: int | None) -> Sheet:
    """The sheet with the cells from one column up to another, which is left out."""
    rows = []
    for row in sheet.rows:
        cells = tuple(
            cell
            for cell in row.cells
            if first <= column_index_from_string(cell.column_letter)
            and (until is None or column_index_from_string(cell.column_letter) < until)
        )
        if cells:
            rows.append(Row(row.number, cells))
    return replace(sheet, rows=tuple(rows))


def _stacked(sheet: Sheet, header: Row) -> Iterator[Sheet]:
    """The sheet cut where the label or the title of another set stands below lines."""
    begins: list[int] = []
    in_lines = False
    before: Row | None = None
    title = _title(sheet, header)
    for row in sheet.rows:
        headed = row.number >= header.number and _is_heading(row, header)
        apart = before is not None and row.number > before.number + 1
        if in_lines and not headed and _is_label(row):
            begins.append(row.number)
            in_lines = False
        elif in_lines and headed and before is not None and _is_title(before, bool(title)):
            begins.append(before.number)
        elif in_lines and apart and speaks_of_a_set(title) and _is_title(row, False):
            begins.append(row.number)
            in_lines = False
        in_lines = in_lines or headed or (bool(begins) and _is_line(row, header))
        before = row
    if not begins:
        yield sheet
        return
    rows: Sequence[Row] = list(sheet.rows)
    for first, until in zip([0, *begins], [*begins, rows[-1].number + 1], strict=True):
        part = [row for row in rows if first <= row.number < until]
        if first and not any(_is_heading(row, header) for row in part):
            part = _below_the_same_headings(part, header)
        yield replace(sheet, rows=tuple(part))


def _is_line(row: Row, header: Row) -> bool:
    """Whether a row has a count below the heading of one, and is no label with its value."""
    counts = [cell for cell in header.cells if heading_score(cell.typed, "quantity") >= A_HEADING]
    return len(row.cells) > 1 and not any(labels_in(row)) and any(
        row.at(cell.column_letter).typed.strip().isdecimal() for cell in counts
    )  # fmt: skip


def _below_the_same_headings(part: list[Row], header: Row) -> list[Row]:
    """The rows of a set that has no headings of its own, with those of the first one between its
    label and its lines: the label moves up by one row, which stood empty, or all stays as it is."""
    top = list(takewhile(lambda row: not _is_line(row, header), part))
    if not top or len(top) == len(part):
        return part
    moved = [Row(row.number - 1, row.cells) for row in top]
    return [*moved, Row(top[-1].number, header.cells), *part[len(top) :]]


def _is_label(row: Row) -> bool:
    """Whether a row begins with the label of a set's number or name."""
    first = next(labels_in(row), None)
    return first is not None and first.cell.column_letter == row.cells[0].column_letter and (
        first.key in STARTS
    )  # fmt: skip


def _title(sheet: Sheet, header: Row) -> str:
    """The lonely title that names the set of the first table; "" where a label does."""
    labelled = STARTS & set(labels_above(Table(sheet, header, {})))
    above = [row for row in sheet.rows if row.number < header.number]
    return above[-1].cells[0].typed if above and not labelled and len(above[-1].cells) == 1 else ""


def _is_title(row: Row, titled: bool) -> bool:
    """Whether the row above a further heading row is another set's title, and no section of this
    one: as the first set had a title there, or it speaks of a set."""
    if len(row.cells) != 1 or not isinstance(row.cells[0].value, str):
        return False
    text = row.cells[0].value
    return not only_says_contents(text) and (titled or speaks_of_a_set(text))


def _is_heading(row: Row, header: Row) -> bool:
    """Whether a row repeats headings of the first table, or has known ones of its own."""
    if not all(isinstance(cell.value, str) for cell in row.cells):
        return False
    mine = {fold_heading(cell.typed) for cell in row.cells}
    if len(mine & {fold_heading(cell.typed) for cell in header.cells}) >= SAME_HEADINGS:
        return True
    return find_table(Sheet("", (row,)), SET_COLUMNS) is not None

"""Several count sheets on one sheet: one under the other, or side by side.

Each becomes a sheet of its own with the rows and columns that it has in the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from openpyxl.utils import column_index_from_string

from catalog.spreadsheets.checking.tables import find_table
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import SET_COLUMNS, SET_LABELS
from catalog.spreadsheets.workbook.cell import Row
from catalog.spreadsheets.workbook.reading import Sheet

_STARTS = {*SET_LABELS["set_code"], *SET_LABELS["set_name"]}


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
        yield from _stacked(part, header.number)


def _starts(header: Row) -> list[int]:
    """The columns at which the headings begin anew: where the first of them stands again."""
    first = fold_heading(header.cells[0].typed)
    starts = [
        column_index_from_string(cell.column_letter)
        for cell in header.cells
        if fold_heading(cell.typed) == first
    ]
    return starts if len(header.cells) >= 2 * len(starts) else starts[:1]


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


def _stacked(sheet: Sheet, header_row: int) -> Iterator[Sheet]:
    """The sheet cut where the label of another set's number or name begins a row."""
    begins: list[int] = []
    in_lines = False
    for row in sheet.rows:
        labelled = len(row.cells) > 1 and fold_heading(row.cells[0].typed) in _STARTS
        headed = _is_heading(row)
        if in_lines and labelled and not headed:
            begins.append(row.number)
            in_lines = False
        in_lines = in_lines or row.number == header_row or (row.number > header_row and headed)
    if not begins:
        yield sheet
        return
    rows: Sequence[Row] = list(sheet.rows)
    for first, until in zip([0, *begins], [*begins, rows[-1].number + 1], strict=True):
        yield replace(sheet, rows=tuple(row for row in rows if first <= row.number < until))


def _is_heading(row: Row) -> bool:
    return find_table(Sheet("", (row,)), SET_COLUMNS) is not None

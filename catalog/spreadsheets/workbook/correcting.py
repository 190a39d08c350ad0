"""What people said of single cells, laid over the file: another value, or that it is right.

The file stays as it was sent. Whatever reads it with what was said reads the same rows with
these cells typed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import overload

from openpyxl.utils import column_index_from_string

from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.reading import Workbook

At = tuple[str, int, str]
"""Sheet, row and column letter, as the spreadsheet shows them."""


@dataclass(frozen=True, slots=True)
class CorrectedRows(Sequence[Row]):
    """The rows of one sheet with some cells typed over: row number to letter to text."""

    rows: Sequence[Row]
    typed: Mapping[int, Mapping[str, str]]

    def __iter__(self) -> Iterator[Row]:
        for row in self.rows:
            yield _typed_over(row, said) if (said := self.typed.get(row.number)) else row

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, place: int) -> Row: ...
    @overload
    def __getitem__(self, place: slice) -> list[Row]: ...
    def __getitem__(self, place: int | slice) -> Row | list[Row]:
        return list(self)[place]


def _typed_over(row: Row, said: Mapping[str, str]) -> Row:
    cells = {cell.column_letter: cell for cell in row.cells}
    for letter, text in said.items():
        was = cells.pop(letter, Cell(row.number, letter))
        if text:
            cells[letter] = was.typed_over(text)
    return Row(row.number, tuple(cells[at] for at in sorted(cells, key=column_index_from_string)))


def corrected(workbook: Workbook, typed: Mapping[At, str], right: frozenset[At]) -> Workbook:
    """The workbook with the cells ``typed`` over, "" for emptied, and those said to be right."""
    by_sheet: dict[str, dict[int, dict[str, str]]] = {}
    for (sheet, row, letter), text in typed.items():
        by_sheet.setdefault(sheet, {}).setdefault(row, {})[letter] = text
    sheets = tuple(
        replace(each, rows=CorrectedRows(each.rows, by_sheet[each.title]))
        if each.title in by_sheet
        else each
        for each in workbook.sheets
    )
    return replace(workbook, sheets=sheets, right=right)

"""Rows that can be gone through again and again without being held in memory.

A sheet is checked in two passes: first each column as a whole, then each row. The first
reading of the file writes its rows, a few hundred at a time, to a temporary file that has no
name and goes away with the object; small sheets never leave memory.
"""

from __future__ import annotations

import pickle
import tempfile
import weakref
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, overload

from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.safety import check_cell_count

ROWS_IN_A_CHUNK = 500
KEPT_IN_MEMORY = 4_000_000
"""Bytes of rows that stay in memory before a temporary file is used."""

RawCell = tuple[str, Any, str | None, str]
"""Column letter, value, formula and number format."""
RawRow = tuple[int, list[RawCell]]
Merges = dict[str, list[tuple[int, int]]]
"""Column letter to the first and last row of each cell merged downwards in it."""


class SpooledRows(Sequence[Row]):
    """The filled rows of one sheet, top to bottom.

    The value of a cell merged downwards is also that of the rows it reaches into, where they
    have other cells, and is marked with the cell it comes from.

    >>> rows = SpooledRows([(1, [("A", "Item #", None, "")]), (4, [("A", "HF-1", None, "")])])
    >>> [row.number for row in rows], rows[-1].at("A").value
    ([1, 4], 'HF-1')
    """

    def __init__(self, rows: Iterable[RawRow], merges: Merges | None = None) -> None:
        self.merges: Merges = merges if merges is not None else {}
        self._count = 0
        self._file: Any = tempfile.SpooledTemporaryFile(max_size=KEPT_IN_MEMORY)  # noqa: SIM115
        weakref.finalize(self, self._file.close)
        chunk: list[RawRow] = []
        for row in rows:
            chunk.append(row)
            if len(chunk) == ROWS_IN_A_CHUNK:
                self._write(chunk)
                chunk = []
        self._write(chunk)

    def _write(self, chunk: list[RawRow]) -> None:
        if chunk:
            pickle.dump(chunk, self._file, protocol=5)
            self._count += len(chunk)

    def _raw(self) -> Iterator[RawRow]:
        place, left = 0, self._count
        while left:
            self._file.seek(place)  # Another pass may be under way.
            chunk = pickle.load(self._file)
            place = self._file.tell()
            left -= len(chunk)
            yield from chunk

    def __iter__(self) -> Iterator[Row]:
        rows: Iterator[Row] = (
            Row(number, tuple([Cell(number, *cell) for cell in cells]))
            for number, cells in self._raw()
        )
        return _filled_down(rows, self.merges) if self.merges else rows

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, place: int) -> Row: ...
    @overload
    def __getitem__(self, place: slice) -> list[Row]: ...
    def __getitem__(self, place: int | slice) -> Row | list[Row]:
        return list(self)[place]


def _filled_down(rows: Iterator[Row], merges: Merges) -> Iterator[Row]:
    until: dict[str, tuple[Cell, int]] = {}
    last_of = {(letter, first): last for letter, spans in merges.items() for first, last in spans}
    for row in rows:
        there = {cell.column_letter for cell in row.cells}
        given = [
            cell._replace(row=row.number, merged=f"{letter}{cell.row}")
            for letter, (cell, last) in until.items()
            if row.number <= last and letter not in there
        ]
        for cell in row.cells:
            if last := last_of.get((cell.column_letter, row.number)):
                until[cell.column_letter] = (cell, last)
        if given:
            cells = sorted([*row.cells, *given], key=lambda c: (len(c.column_letter), c[1]))
            row = Row(row.number, tuple(cells))
        yield row


def counted(rows: Iterable[RawRow], cells: Counter[str]) -> Iterator[RawRow]:
    """The same rows; the filled cells of the whole file are refused above the limit."""
    for row in rows:
        cells["filled"] += len(row[1])
        check_cell_count(cells["filled"])
        yield row

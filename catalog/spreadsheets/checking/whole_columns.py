"""Columns read as wholes: what is remembered of their values, and what they say of themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from catalog.spreadsheets.cells.judging import Evidence, Judgement
from catalog.spreadsheets.cells.typed import Place, Reading, plain_text
from catalog.spreadsheets.checking.neighbours import ReadSizes
from catalog.spreadsheets.checking.tables import ItemRow, Table
from catalog.spreadsheets.columns.column import Column, Mapped
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.workbook.cell import Row

REMEMBERED = 2_000
"""Different values of one column whose reading is remembered."""
MOST_SIZES = 5_000
"""Rows of a file that others are compared with."""
SIZE_KEYS = tuple(column.key for column in INSTRUMENT_COLUMNS if column.unit)
"""The columns of sizes: their units and their likely values are judged."""
NEEDED_SIZES = ("length", "width", "height", "weight")
"""Those that every instrument has: an empty cell is a question."""


class ColumnReader:
    """The reader of one column. What it makes of a value is remembered: values repeat.

    A reading with problems is not remembered, because a problem names its cell.
    """

    def __init__(self, column: Column, mapped: Mapped, place: Place) -> None:
        self.key, self._mapped = column.key, mapped
        self._reader, self._place = column.reader, place
        self._seen: dict[tuple[type, object, str], Reading] = {}

    def read(self, row: Row) -> Reading:
        """The reading of the column's cell in ``row``."""
        cell = self._mapped.cell_of(row)
        if cell.formula is not None or cell.merged:
            return self._reader(cell, self._place)
        sort = (cell.value.__class__, cell.value, cell.number_format)
        reading = self._seen.get(sort)
        if reading is None:
            reading = self._reader(cell, self._place)
            if not reading.problems and len(self._seen) < REMEMBERED:
                self._seen[sort] = reading
        return reading


def gather(table: Table, sizes: list[ReadSizes] | None = None) -> dict[str, Evidence]:
    """What the columns of sizes say as wholes, from one pass over the rows; ``sizes`` takes the
    lengths and weights of the first rows that have both."""
    evidence = {key: Evidence(key) for key in SIZE_KEYS if key in table.mapping}
    if evidence:
        named = table.mapping["name"].letter if "name" in table.mapping else ""
        for each in table.walk():
            if each.reason is None:
                name, group = each.row.at(named), group_of(each, table)
                read = {
                    key: found.add(table.cell(each.row, key), name, group)
                    for key, found in evidence.items()
                }
                if sizes is not None and len(sizes) < MOST_SIZES:
                    length, weight = read.get("length"), read.get("weight")
                    if length and weight:
                        sizes.append((plain_text(name), length, weight))
    return evidence


def judgement_of(key: str, table: Table, evidence: Mapping[str, Evidence]) -> Judgement | None:
    """The unit of a column's bare numbers; sizes in one cell, as 170 x 80 x 10, share theirs."""
    own, mapped = evidence[key].judgement(), table.mapping[key]
    if own is None or own.unit or not mapped.part:
        return own
    for other, found in evidence.items():
        if table.mapping[other].letter == mapped.letter:
            shared = found.judgement()
            if shared and shared.unit:
                return replace(shared, bare=own.bare)
    return own


def mark_of(key: str, evidence: Mapping[str, Evidence]) -> str | None:
    """The mark before decimals in a column: its own cells tell it, else the other columns."""
    every = evidence[key].marks or set().union(*(each.marks for each in evidence.values()))
    return next(iter(every)) if len(every) == 1 else None


def group_of(item: ItemRow, table: Table) -> str:
    """The group of a row: its own cell, else the grey heading row above it; "" for none."""
    if "group" in table.mapping:
        own = plain_text(table.cell(item.row, "group"))
        if own:
            return own
    return item.group or ""

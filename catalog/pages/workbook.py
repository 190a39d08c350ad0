"""The whole catalog as one workbook that the import reads again without any change.

Instruments under the headings of their columns, and every count sheet in force as one list
with a set column. What two cells cannot say of an instrument's cycles is left out of them and
stands in a column of its own, which is for people and not read: an empty cell never changes
the catalog.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse

from catalog.models import CycleOption, Instrument
from catalog.pages.exports import download, from_lines, lines_in_force
from catalog.reading import read_page
from catalog.spreadsheets.cells.typed import MAX_NOTES, MAX_TEXT
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.cycles.permitted import options, read_methods, written
from catalog.spreadsheets.cycles.reading import NAMES, UnreadableError, read_cycles
from catalog.spreadsheets.workbook.writing import SheetOut, Value

METHOD_TEXT = {"steam": "steam", "eo": "EO", "h2o2": "H2O2", "ltsf": "LTSF", "dry-heat": "dry heat"}
ALL_CYCLES = "All cycles, for reading only"

SPECIAL: Mapping[str, Callable[[Instrument], Value]] = {
    "also_known_as": lambda row: "" if len(row.also_known_as) > MAX_TEXT else row.also_known_as,
    "protector": lambda row: "none" if row.protector == "" else row.protector,
    "parts_apart": lambda row: "none" if row.parts_apart == "" else row.parts_apart,
    "forbids": lambda row: ", ".join(row.forbids),
    "notes": lambda row: "" if len(row.notes) > MAX_NOTES else row.notes,
    "methods": lambda row: cycle_cells(list(row.cycles.all()))[0],
    "cycle": lambda row: cycle_cells(list(row.cycles.all()))[1],
}
"""Columns whose cell is not simply the stored value."""


def cycle_cells(cycles: list[CycleOption]) -> tuple[str, str]:
    """The two cells for an instrument's cycles; empty when they cannot say all of them."""
    meant = [{name: getattr(cycle, name) for name in NAMES} for cycle in cycles]
    methods = ", ".join(dict.fromkeys(METHOD_TEXT[cycle.method] for cycle in cycles))
    text = "; ".join(written(each) for each in meant if any(list(each.values())[1:]))
    try:
        read = options(read_methods(methods), read_cycles(text))
    except UnreadableError:
        return "", ""
    return (methods, text) if [dict(each) for each in read] == meant else ("", "")


def instruments_sheet() -> SheetOut:
    """Every instrument in use under the headings that the import knows; two queries."""
    return sheet_of(Instrument.objects.filter(retired=False).prefetch_related("cycles"))


def sheet_of(rows: Iterable[Instrument]) -> SheetOut:
    """These instruments, one row each; their cycles should be prefetched."""
    headings = [column.heading for column in INSTRUMENT_COLUMNS]
    out = [
        [*(_cell(row, column) for column in INSTRUMENT_COLUMNS),
         "; ".join(str(cycle) for cycle in row.cycles.all())]
        for row in rows
    ]  # fmt: skip
    return SheetOut("Instruments", [*headings, ALL_CYCLES], out)


def _cell(row: Instrument, column: Column) -> Value:
    if column.key in SPECIAL:
        return SPECIAL[column.key](row)
    value: Any = getattr(row, column.name)
    return {True: "Y", False: "N"}[value] if isinstance(value, bool) else value


@read_page("catalog.view_instrument")
def whole_catalog(request: HttpRequest) -> HttpResponse:
    """Instruments and count sheets in force, to be corrected and read in again."""
    sheets = [instruments_sheet(), from_lines(lines_in_force())]
    return download("xlsx", sheets, "catalog")

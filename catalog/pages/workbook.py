"""The whole catalog as one workbook that the import reads again without any change.

Instruments under the headings of their columns, and every count sheet in force as one list
with a set column. What two cells cannot say of an instrument's cycles is left out of them and
stands in a column of its own, which is for people and not read: an empty cell never changes
the catalog.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from operator import attrgetter
from typing import Any

from django.db.models import BooleanField
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from catalog.models import CycleOption, Instrument
from catalog.pages.exports import AT_ONCE, download, from_lines, lines_in_force
from catalog.reading import read_page
from catalog.spreadsheets.cells.typed import MAX_NOTES, MAX_TEXT
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.cycles.permitted import options, read_methods, written
from catalog.spreadsheets.cycles.reading import NAMES, UnreadableError, read_cycles
from catalog.spreadsheets.workbook.writing import SheetOut, Value

METHOD_TEXT = {"steam": "steam", "eo": "EO", "h2o2": "H2O2", "ltsf": "LTSF", "dry-heat": "dry heat"}
ALL_CYCLES = "All cycles, for reading only"

Cycles = tuple[tuple[Any, ...], ...]
"""The cycles of one instrument: of each the values of NAMES."""
SPECIAL: Mapping[str, Callable[[Any], Value]] = {
    "also_known_as": lambda text: "" if len(text) > MAX_TEXT else text,
    "protector": lambda code: "none" if code == "" else code,
    "parts_apart": lambda words: "none" if words == "" else words,
    "forbids": ", ".join,
    "notes": lambda text: "" if len(text) > MAX_NOTES else text,
}
"""Columns whose cell is not simply the stored value."""
OF_CYCLES = {"methods": 0, "cycle": 1}
"""Columns that :func:`cycle_cells` fills."""
YES_NO: Mapping[bool | None, Value] = {None: None, False: "N", True: "Y"}


def _says(column: Column) -> Callable[[Any], Value] | None:
    """What makes a stored value a cell; None where it is one."""
    if said := SPECIAL.get(column.key):
        return said
    is_flag = isinstance(Instrument._meta.get_field(column.name), BooleanField)
    return YES_NO.__getitem__ if is_flag else None


@lru_cache(maxsize=1024)
def cycle_cells(cycles: Cycles) -> tuple[str, str, str]:
    """The two cells for an instrument's cycles, empty when they cannot say all of them; and all
    of them for people. Many instruments have the same: those are written and read back once."""
    meant = [dict(zip(NAMES, cycle, strict=True)) for cycle in cycles]
    methods = ", ".join(dict.fromkeys(METHOD_TEXT[cycle["method"]] for cycle in meant))
    text = "; ".join(written(each) for each in meant if any(list(each.values())[1:]))
    told = "; ".join(str(CycleOption(**each)) for each in meant)
    try:
        read = options(read_methods(methods), read_cycles(text))
    except UnreadableError:
        return "", "", told
    return (methods, text, told) if [dict(each) for each in read] == meant else ("", "", told)


def instruments_sheet() -> SheetOut:
    """Every instrument in use under the headings that the import knows."""
    cycles: dict[int, Cycles] = {}
    for whose, *values in CycleOption.objects.values_list("instrument_id", *NAMES):
        cycles[whose] = (*cycles.get(whose, ()), tuple(values))
    rows = Instrument.objects.filter(retired=False)
    columns = {column.name for column in INSTRUMENT_COLUMNS if column.key not in OF_CYCLES}
    read = rows.values_list("pk", *columns, named=True).iterator(AT_ONCE)
    return replace(sheet_of(read, cycles), count=rows.count())


def sheet_of(rows: Iterable[Any], cycles: Mapping[int, Cycles]) -> SheetOut:
    """These instruments, a row each, as they are read; ``cycles`` by the instrument's key."""
    keys = [column.key for column in INSTRUMENT_COLUMNS]
    stored = [column for column in INSTRUMENT_COLUMNS if column.key not in OF_CYCLES]
    values_of = attrgetter(*(column.name for column in stored))
    says = [(place, say) for place, column in enumerate(stored) if (say := _says(column))]
    places = sorted((keys.index(key), which) for key, which in OF_CYCLES.items())

    def line(row: Any) -> list[Value]:
        said = cycle_cells(cycles.get(row.pk, ()))
        cells = [*values_of(row)]
        for place, say in says:
            cells[place] = say(cells[place])
        for place, which in places:
            cells.insert(place, said[which])
        return [*cells, said[2]]

    headings = [column.heading for column in INSTRUMENT_COLUMNS]
    return SheetOut("Instruments", [*headings, ALL_CYCLES], map(line, rows))


@read_page("catalog.view_instrument")
def whole_catalog(request: HttpRequest) -> HttpResponseBase:
    """Instruments and count sheets in force, to be corrected and read in again."""
    sheets = [instruments_sheet(), from_lines(lines_in_force())]
    return download(request, "xlsx", sheets, "Catalog", "catalog.view_instrument")

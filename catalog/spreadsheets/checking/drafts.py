"""One row of a list of instruments while it is read: its readings, what is known, its values."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from typing import Any

from catalog.spreadsheets.cells.judging import Middles, why_implausible, why_too_large
from catalog.spreadsheets.cells.named_sizes import LENGTH_IN_NAME, length_said, size_in_name
from catalog.spreadsheets.cells.number_formats import unit_in_format
from catalog.spreadsheets.cells.report import Problem
from catalog.spreadsheets.cells.typed import Reading
from catalog.spreadsheets.checking.asking import ALIKE
from catalog.spreadsheets.checking.neighbours import Neighbours
from catalog.spreadsheets.checking.tables import ItemRow, Table
from catalog.spreadsheets.checking.whole_columns import (
    NEEDED_SIZES,
    REMEMBERED,
    SIZE_KEYS,
    ColumnReader,
    group_of,
)
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.cycles.permitted import options
from catalog.spreadsheets.cycles.reading import ReadCycle, UnreadableError
from catalog.spreadsheets.workbook.cell import Row
from catalog.units import LENGTH_UNITS, UNKNOWN_MARKS, show_length, tidy, unit_of_word

FIELDS: Mapping[str, str] = {column.key: column.name for column in INSTRUMENT_COLUMNS}

LONGEST = max(map(len, UNKNOWN_MARKS))
"""Characters of the longest mark of what is not known."""
NONE_IS_SAID = ("protector", "parts_apart")
"""Columns in which an empty text is a fact: none is needed, no part comes apart."""


@dataclass(slots=True)
class Draft:
    """One row while it is read: the reading of each column, by key, and what is known of it."""

    item: ItemRow
    table: Table
    readings: dict[str, Reading]
    problems: list[Problem]
    known: bool = False
    note: str = ""
    """What is added to its notes."""
    was: Mapping[str, object] = field(default_factory=dict)

    def value(self, key: str) -> object:
        reading = self.readings.get(key)
        return reading.value if reading else None

    def add(self, key: str, code: str, message: str) -> None:
        """One more problem, in the column ``key``."""
        self.problems.append(self.table.problem(self.item.row, key, code, message))

    def says_nothing(self, key: str) -> bool:
        """Whether the cell is empty, or marked as not known: with a dash, for instance."""
        reading = self.readings[key]
        value = reading.value
        if value is None or (value == "" and key not in NONE_IS_SAID):
            return True
        if any(each.code == "unknown_value" for each in reading.problems):
            return True
        if isinstance(value, str) and value:
            plain = value if value.isascii() else tidy(value)
            return len(value) <= LONGEST and plain.casefold() in UNKNOWN_MARKS
        if isinstance(value, Decimal | int):
            return False
        cell = self.table.cell(self.item.row, key)
        return cell.is_empty or tidy(cell.typed).casefold() in UNKNOWN_MARKS

    def kept(self, key: str, value: object) -> object:
        """What the catalog knows, and where that is nothing, ``value``."""
        known = self.was.get(FIELDS[key])
        return value if known is None else known


def read_row(item: ItemRow, table: Table, readers: Sequence[ColumnReader]) -> Draft:
    readings = {reader.key: reader.read(item.row) for reader in readers}
    found = [each for reading in readings.values() for each in reading.problems]
    return Draft(item, table, readings, found)


def check_name(draft: Draft) -> None:
    name = draft.readings["name"]
    if not name.problems and str(name.value).casefold() in UNKNOWN_MARKS | {""}:
        message = "The row has no name. Give the instrument one, or delete the row."
        draft.add("name", "missing_name", message)


def check_sizes(draft: Draft, middles: Mapping[str, Middles], others: Neighbours) -> None:
    """A question where a size can hardly be right, is empty, or is unlike others of its kind."""
    mapping, readings, was = draft.table.mapping, draft.readings, draft.was
    known = {key: was.get(FIELDS[key]) for key in SIZE_KEYS} if was else dict.fromkeys(SIZE_KEYS)
    sizes = known | {key: readings[key].value or known[key] for key in SIZE_KEYS if key in mapping}
    name, group = str(draft.value("name") or ""), group_of(draft.item, draft.table)
    for key in SIZE_KEYS:
        if key not in mapping:
            continue
        value = readings[key].value
        if isinstance(value, Decimal):
            why = (
                why_implausible(key, value, middles[key].column, name)
                or middles[key].why_odd_in_group(key, value, group)
                or why_too_large(key, value, sizes)
            )
            if why:
                draft.add(key, "implausible", why)
            elif key == "weight" and (why := _why_unlike(draft, sizes["length"], value, others)):
                draft.add(key, "unlike_others", why)
            continue
        empty = draft.table.cell(draft.item.row, key).is_empty
        if key in NEEDED_SIZES and empty and sizes[key] is None:
            message = f"The {key} is empty. It goes in as not known; no package passes without it."
            draft.add(key, "missing_value", message)


def unit_said_in(row: Row) -> str | None:
    """The unit of length that a lonely text names, as in "All sizes in cm"; None for none."""
    if len(row.cells) != 1 or not isinstance(row.cells[0].value, str):
        return None
    words = [unit_of_word(word) for word in re.findall(r"[^\W\d_]{2,}", row.cells[0].value)
             if word.casefold() != "in"]  # fmt: skip
    named = {unit for unit in words if unit in LENGTH_UNITS}
    return named.pop() if len(named) == 1 else None


def check_unit_said(draft: Draft, said: str, text: str, units: Mapping[str, str]) -> None:
    """A question where a ``text`` above the row names another unit of length, ``said``, than its
    bare numbers were read in; ``units``: column key to the unit of those without one above them."""
    for key in ALIKE:
        if key not in draft.table.mapping:
            continue
        cell = draft.table.cell(draft.item.row, key)
        unit = draft.table.mapping[key].unit or units.get(key)
        bare = re.fullmatch("[0-9.,]+", cell.typed.strip()) and not unit_in_format(
            cell.number_format
        )
        if unit and unit != said and bare:
            message = (
                f"It was read as {unit}, but “{text}” stands above it. Write the unit beside it."
            )
            draft.add(key, "unit_said_above", message)


def _why_unlike(draft: Draft, length: object, weight: Decimal, others: Neighbours) -> str | None:
    """Asked of what is new: what is on record already has been answered."""
    known = draft.was.get(FIELDS["length"]) == length and draft.was.get(FIELDS["weight"]) == weight
    in_doubt = any(each.code == "implausible" for each in draft.problems)
    if known or in_doubt or not isinstance(length, Decimal):
        return None
    return others.why_unlike(str(draft.value("name") or ""), length, weight)


def check_named_length(draft: Draft) -> None:
    """Of a new instrument of a list without lengths: one that only the name tells goes in as not
    known, with a note and a question."""
    if draft.known or "length" in draft.table.mapping:
        return
    length = size_in_name(str(draft.value("name") or ""))
    if length is not None:
        draft.add("name", "length_in_name", LENGTH_IN_NAME.format(show_length(length)))
        draft.note = length_said(length)


def values_of(draft: Draft) -> dict[str, object]:
    """Field name to value. What the sheet does not say keeps what the catalog knows."""
    values: dict[str, object] = {}
    if draft.item.group is not None:
        values["group"] = draft.item.group
    for key, reading in draft.readings.items():
        if key in ("methods", "cycle"):
            continue
        said = not draft.says_nothing(key)
        if said or FIELDS[key] not in values:
            values[FIELDS[key]] = reading.value if said else draft.kept(key, reading.value)
    if asked := {"methods", "cycle"} & draft.readings.keys():
        read = _options(draft)
        said = not all(map(draft.says_nothing, asked))
        in_doubt = any(one.code in CYCLE_DOUBTS for one in draft.problems)
        values["methods"] = read if said and not in_doubt else draft.kept("methods", read)
    if draft.note:
        values["notes"] = "\n".join(filter(None, (str(values.get("notes") or ""), draft.note)))
    return values


CYCLE_DOUBTS = {"unreadable_cycle", "conflict", "missing_method"}
"""With one of these a known instrument keeps its cycles; those of a new one are unknown."""


def _options(draft: Draft) -> tuple[dict[str, object], ...]:
    """The permitted options from the two columns, with a problem where they do not agree.

    A cycle that cannot be read leaves the methods with their cycle unknown.
    """
    methods = draft.readings.get("methods", Reading())
    if methods.problems and not methods.value:
        return ()
    where = "cycle" if "cycle" in draft.table.mapping else "methods"
    named: Any = methods.value or ()
    read: Any = draft.value("cycle") or ()
    if not named and any(not one.method for one in read):
        message = "There is a cycle but no method. Write the method, for instance steam."
        draft.add(where, "missing_method", message)
        return ()
    try:
        found, doubts = _permitted(tuple(named), tuple(read))
    except UnreadableError as error:
        draft.add(where, error.code, error.message)
        found, doubts = _permitted(tuple(named), ())
    for doubt in doubts:
        draft.add(where, "no_temperature", f"{doubt}. Read the IFU, and write both.")
    return found


@lru_cache(maxsize=REMEMBERED)
def _permitted(
    methods: tuple[tuple[str, int | None], ...], cycles: tuple[ReadCycle, ...]
) -> tuple[tuple[dict[str, object], ...], tuple[str, ...]]:
    """The options, and what their IFU should be read for. Rows share them: nobody changes them."""
    found = options(methods, cycles)
    doubts = dict.fromkeys(doubt for one in found if (doubt := ReadCycle(**one).doubt))
    return found, tuple(doubts)

"""Check a whole spreadsheet against the catalog, and say what would become of each row.

Nothing is written here. All problems of a row are reported, not only the first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from catalog.spreadsheets.cells.cycles import ReadCycle, UnreadableError
from catalog.spreadsheets.cells.judging import (
    Evidence,
    Judgement,
    Middles,
    known_middles,
    why_implausible,
    why_too_large,
)
from catalog.spreadsheets.cells.permitted import options
from catalog.spreadsheets.cells.report import (
    Note,
    Problem,
    Report,
    RowReport,
    SkippedRow,
    Verdict,
    changes_between,
    verdict_on,
)
from catalog.spreadsheets.cells.typed import Reading, problem
from catalog.spreadsheets.checking.sets import check_sets, looks_like_sets
from catalog.spreadsheets.checking.tables import (
    ItemRow,
    Table,
    folded_number,
    no_table,
    tables_in,
    total_cell,
    unheaded_columns,
)
from catalog.spreadsheets.checking.whole_columns import (
    NEEDED_SIZES,
    SIZE_KEYS,
    ColumnReader,
    gather,
    group_of,
)
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.workbook.cell import Row
from catalog.spreadsheets.workbook.reading import Workbook
from catalog.units import UNKNOWN_MARKS

__all__ = ["check_instruments", "check_sets", "guess_kind"]

FIELDS: Mapping[str, str] = {column.key: column.name for column in INSTRUMENT_COLUMNS}

Known = Mapping[str, Mapping[str, object]]
"""Item number to what the catalog holds: field name to value."""


def guess_kind(workbook: Workbook) -> str | None:
    """ "sets" or "instruments", or None when the workbook is neither."""
    if looks_like_sets(workbook):
        return "sets"
    tables, _ = tables_in(workbook, INSTRUMENT_COLUMNS)
    return "instruments" if tables else None


def check_instruments(
    workbook: Workbook,
    known: Known,
    units: Mapping[str, str] | None = None,
    choices: Choices | None = None,
    protectors: Collection[str] | None = None,
) -> Report:
    """The report on a master list. ``known`` is keyed by item number.

    ``units`` answers, by column key, which unit bare numbers have where no heading says so:
    ``{"width": "mm"}``. A column without an answer is judged by its evidence. ``choices`` are
    a person's columns for a sheet. ``protectors`` are the names and codes of the tip protectors
    in stock, None where nobody asks: another is a question, since no package passes with it. An
    empty cell, or one marked as not known, never erases
    what the catalog knows.
    """
    check = InstrumentCheck(workbook, known, units, choices, protectors)
    return check.report(tuple(check.rows()))


class InstrumentCheck:
    """A check of a master list under way: rows one at a time, then the rest of the report."""

    def __init__(
        self,
        workbook: Workbook,
        known: Known,
        units: Mapping[str, str] | None = None,
        choices: Choices | None = None,
        protectors: Collection[str] | None = None,
    ) -> None:
        self._workbook = workbook
        self.file_problems = workbook.problems
        self._tables: list[Table] = []
        self._notes: list[Note] = []
        if not self.file_problems:
            self._tables, self._notes = tables_in(workbook, INSTRUMENT_COLUMNS, choices)
            if not self._tables:
                self.file_problems = (no_table(INSTRUMENT_COLUMNS),)
        found = {folded_number(number): (number, was) for number, was in known.items()}
        groups = [str(was.get("group") or "") for was in known.values()]
        sizes = {
            key: known_middles(groups, [was.get(FIELDS[key]) for was in known.values()])
            for key in SIZE_KEYS
        }
        stocked = None if protectors is None else {folded_words(one) for one in protectors}
        self._check = _Check(dict(units or {}), found, sizes, stocked)

    @property
    def row_count(self) -> int:
        """How many rows there are to go through, those that are no items included."""
        return sum(len(table.sheet.rows) for table in self._tables)

    def rows(self) -> Iterator[RowReport]:
        """Each item with its verdict, in the order of the file."""
        for table in self._tables:
            yield from self._check.rows(table)

    def report(self, rows: tuple[RowReport, ...] = ()) -> Report:
        """The whole report once all rows were gone through; ``rows`` when they were kept."""
        book = self._workbook
        return Report(
            "instruments",
            book.file_name,
            book.sha256,
            file_problems=self.file_problems,
            rows=rows,
            other_problems=tuple(self._check.totals),
            column_notes=(*self._notes, *self._check.notes),
            mapping={
                table.sheet.title: {key: mapped.letter for key, mapped in table.mapping.items()}
                for table in self._tables
            },
            skipped=tuple(self._check.skipped),
        )


def _total_row(row: Row, table: Table) -> Iterator[Problem]:
    cell = total_cell(row)
    if cell is not None:
        place = replace(table.place("name"), heading=table.heading_of(cell.column_letter))
        message = "This row is a total, not an instrument. It was left out."
        yield problem(cell, place, "total_row", message)


@dataclass(slots=True)
class _Draft:
    """One row while it is read: the reading of each column, by key."""

    item: ItemRow
    readings: dict[str, Reading]
    problems: list[Problem] = field(default_factory=list)

    def value(self, key: str) -> object:
        reading = self.readings.get(key)
        return reading.value if reading else None


@dataclass(slots=True)
class _Check:
    """The state of one check: what is known, and the item numbers met so far."""

    answers: dict[str, str]
    known: dict[str, tuple[str, Mapping[str, object]]]
    known_sizes: Mapping[str, Mapping[str, Decimal]]
    protectors: Collection[str] | None
    met: dict[str, tuple[str, int]] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    totals: list[Problem] = field(default_factory=list)
    skipped: list[SkippedRow] = field(default_factory=list)

    def rows(self, table: Table) -> Iterator[RowReport]:
        units, middles = self._columns_judged(table)
        readers = [
            ColumnReader(column, table.mapping[column.key].letter, place)
            for column in INSTRUMENT_COLUMNS
            if column.key in table.mapping
            for place in [table.place(column.key, units.get(column.key))]
        ]
        headed = {cell.column_letter for cell in table.header.cells}
        unheaded: set[str] = set()
        for each in table.walk():
            if each.reason is None:
                unheaded |= each.row.letters_beside(headed)
                yield self._row(_read(each, readers), table, middles)
                continue
            self.skipped.append(table.skipped_row(each))
            if each.reason == "total":
                self.totals.extend(_total_row(each.row, table))
        if unheaded:
            by_place = sorted(unheaded, key=lambda letter: (len(letter), letter))
            self.notes.append(unheaded_columns(table, by_place))

    def _columns_judged(self, table: Table) -> tuple[dict[str, str], dict[str, Middles]]:
        """The unit of each column of sizes that has none, and the middle of every one."""
        evidence = gather(table)
        units, middles = {}, {}
        for key, found in evidence.items():
            unit = table.mapping[key].unit
            if unit is None:
                unit = self.answers.get(key) or self._judged(table, key, found)
                if unit:
                    units[key] = unit
            middles[key] = found.middles(unit, self.known_sizes[key])
        return units, middles

    def _judged(self, table: Table, key: str, found: Evidence) -> str | None:
        judged = found.judgement()
        if judged is None:
            return None
        self.notes.append(_unit_note(table, key, judged))
        return judged.unit

    def _row(self, draft: _Draft, table: Table, middles: Mapping[str, Middles]) -> RowReport:
        key, was = self._identity(draft, table)
        _check_name(draft, table)
        _check_sizes(draft, table, middles, was)
        self._check_protector(draft, table, was)
        values = _values(draft, table, was)
        if key:
            values["item_number"] = key
        problems = sorted(draft.problems, key=lambda p: (len(p.column), p.column))
        changes = changes_between(was or {}, values)
        verdict = verdict_on(problems, was is not None, changes)
        return RowReport(
            table.sheet.title,
            draft.item.row.number,
            key,
            verdict,
            values,
            tuple(problems),
            () if verdict is Verdict.REFUSED else changes,
        )

    def _check_protector(
        self, draft: _Draft, table: Table, was: Mapping[str, object] | None
    ) -> None:
        """A question where the protector is none of the stocked and not on record already."""
        named = draft.value("protector")
        if self.protectors is None or not named or named == (was or {}).get("protector"):
            return
        if folded_words(str(named)) not in self.protectors:
            cell, place = table.cell(draft.item.row, "protector"), table.place("protector")
            message = f"“{named}” is no tip protector in stock. It goes in as it is written, and "
            message += "no package passes with it: write the name of one that is, or none."
            draft.problems.append(problem(cell, place, "not_stocked", message))

    def _identity(self, draft: _Draft, table: Table) -> tuple[str, Mapping[str, object] | None]:
        """The item number as the catalog spells it, and what the catalog knows of it."""
        cell, place = table.cell(draft.item.row, "item_number"), table.place("item_number")
        number = str(draft.value("item_number") or "")
        if number.casefold() in UNKNOWN_MARKS:
            number = ""
        if not number:
            if not draft.readings["item_number"].problems:
                message = "The row has no item number. Give it one, or delete the row."
                draft.problems.append(problem(cell, place, "missing_item_number", message))
            return "", None
        folded = folded_number(number)
        here = (table.sheet.title, cell.row)
        earlier = self.met.setdefault(folded, here)
        if earlier != here:
            where = f'row {earlier[1]} of "{earlier[0]}"'
            message = f"{number} stands already in {where}. Keep one of the two rows."
            draft.problems.append(problem(cell, place, "repeated_item_number", message))
        spelled, was = self.known.get(folded, (number, None))
        return spelled, was


def folded_words(text: str) -> str:
    """A name for comparing: one space between words, no capitals."""
    return " ".join(text.casefold().split())


def _read(item: ItemRow, readers: Sequence[ColumnReader]) -> _Draft:
    readings = {reader.key: reader.read(item.row) for reader in readers}
    found = [each for reading in readings.values() for each in reading.problems]
    return _Draft(item, readings, found)


def _unit_note(table: Table, key: str, judged: Judgement) -> Note:
    mapped = table.mapping[key]
    numbers = f"{judged.bare} numbers in {mapped.heading} have no unit"
    if judged.bare == 1:
        numbers = f"1 number in {mapped.heading} has no unit"
    if judged.unit:
        code, message = (
            "unit_judged",
            f"{numbers}; read as {judged.unit}, because {judged.evidence}.",
        )
    else:
        code = "no_unit"
        message = (
            f"{numbers}, and it is not clear which is meant: {judged.evidence}. "
            f'Write the unit in the heading, as in "{mapped.heading} (mm)".'
        )
        if key == "weight":
            message = message.replace("(mm)", "(g)")
    return Note(
        table.sheet.title, table.header.number, mapped.letter, mapped.heading, code, message
    )


def _check_name(draft: _Draft, table: Table) -> None:
    name = draft.readings["name"]
    if not name.problems and str(name.value).casefold() in UNKNOWN_MARKS | {""}:
        cell, place = table.cell(draft.item.row, "name"), table.place("name")
        message = "The row has no name. Give the instrument one, or delete the row."
        draft.problems.append(problem(cell, place, "missing_name", message))


def _check_sizes(
    draft: _Draft,
    table: Table,
    middles: Mapping[str, Middles],
    was: Mapping[str, object] | None,
) -> None:
    sizes = {key: draft.value(key) or (was or {}).get(FIELDS[key]) for key in SIZE_KEYS}
    for key in SIZE_KEYS:
        if key not in table.mapping:
            continue
        cell, place = table.cell(draft.item.row, key), table.place(key)
        value = draft.value(key)
        if isinstance(value, Decimal):
            group = group_of(draft.item, table)
            name = str(draft.value("name") or "")
            why = (
                why_implausible(key, value, middles[key].column, name)
                or middles[key].why_odd_in_group(key, value, group)
                or why_too_large(key, value, sizes)
            )
            if why:
                draft.problems.append(problem(cell, place, "implausible", why))
        elif key in NEEDED_SIZES and cell.is_empty and sizes[key] is None:
            message = f"The {key} is empty. It goes in as not known; no package passes without it."
            draft.problems.append(problem(cell, place, "missing_value", message))


def _values(draft: _Draft, table: Table, was: Mapping[str, object] | None) -> dict[str, object]:
    """Field name to value. What the sheet does not say keeps what the catalog knows."""
    values: dict[str, object] = {}
    if draft.item.group is not None:
        values["group"] = draft.item.group
    for key, reading in draft.readings.items():
        if key in ("methods", "cycle"):
            continue
        said = not _says_nothing(draft, table, key)
        if said or FIELDS[key] not in values:
            values[FIELDS[key]] = reading.value if said else _kept(key, reading.value, was)
    if asked := {"methods", "cycle"} & draft.readings.keys():
        read = _options(draft, table)
        said = any(not _says_nothing(draft, table, key) for key in asked)
        in_doubt = any(one.code in CYCLE_DOUBTS for one in draft.problems)
        values["methods"] = read if said and not in_doubt else _kept("methods", read, was)
    return values


def _says_nothing(draft: _Draft, table: Table, key: str) -> bool:
    reading = draft.readings[key]
    unknown = any(each.code == "unknown_value" for each in reading.problems)
    return unknown or reading.value is None or table.cell(draft.item.row, key).is_empty


def _kept(key: str, value: object, was: Mapping[str, object] | None) -> object:
    return (was or {}).get(FIELDS[key], value)


CYCLE_DOUBTS = {"unreadable_cycle", "conflict", "missing_method"}
"""With one of these a known instrument keeps its cycles; those of a new one are unknown."""


def _options(draft: _Draft, table: Table) -> tuple[dict[str, object], ...]:
    """The permitted options from the two columns, with a problem where they do not agree.

    A cycle that cannot be read leaves the methods with their cycle unknown.
    """
    nothing: Reading = Reading()
    methods, cycle = draft.readings.get("methods", nothing), draft.readings.get("cycle", nothing)
    if methods.problems and not methods.value:
        return ()
    where = "cycle" if "cycle" in table.mapping else "methods"
    cell, place = table.cell(draft.item.row, where), table.place(where)
    named: Any = methods.value or ()
    read: Any = cycle.value or ()
    if not named and any(not one.method for one in read):
        message = "There is a cycle but no method. Write the method, for instance steam."
        draft.problems.append(problem(cell, place, "missing_method", message))
        return ()
    try:
        found = options(named, read)
    except UnreadableError as error:
        draft.problems.append(problem(cell, place, error.code, error.message))
        found = options(named, ())
    doubts = dict.fromkeys(doubt for one in found if (doubt := ReadCycle(**one).doubt))
    for doubt in doubts:
        message = f"{doubt}. Read the IFU, and write both."
        draft.problems.append(problem(cell, place, "no_temperature", message))
    return found

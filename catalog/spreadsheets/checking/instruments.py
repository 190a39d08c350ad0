"""Check a whole spreadsheet against the catalog, and say what would become of each row.

Nothing is written here. All problems of a row are reported, not only the first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace

from catalog.spreadsheets.cells.folding import folded_number, folded_words
from catalog.spreadsheets.cells.judging import (
    BOUNDS,
    Evidence,
    Judgement,
    Middles,
    known_middles,
)
from catalog.spreadsheets.cells.report import (
    Note,
    Problem,
    Question,
    Report,
    RowReport,
    SkippedRow,
    Verdict,
    as_answered,
    changes_between,
    verdict_on,
)
from catalog.spreadsheets.cells.typed import Place, problem
from catalog.spreadsheets.checking.asking import column_question, unit_questions
from catalog.spreadsheets.checking.drafts import (
    FIELDS,
    Draft,
    check_name,
    check_named_length,
    check_sizes,
    check_unit_said,
    read_row,
    unit_said_in,
    values_of,
)
from catalog.spreadsheets.checking.matching import coverage, spares_kept
from catalog.spreadsheets.checking.neighbours import Neighbours, ReadSizes
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.sets.tables import looks_like_sets
from catalog.spreadsheets.checking.sheets import no_table, tables_asked, tables_below, tables_in
from catalog.spreadsheets.checking.tables import (
    Table,
    divided_by_a_comma,
    letters_of,
    reasons_of,
    total_cell,
)
from catalog.spreadsheets.checking.whole_columns import (
    SIZE_KEYS,
    ColumnReader,
    gather,
    judgement_of,
    mark_of,
)
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS, SIZES_TOGETHER
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.reading import Workbook
from catalog.units import UNKNOWN_MARKS

NAMED = (*INSTRUMENT_COLUMNS, SIZES_TOGETHER)
MOST = {key: most for key, (_, most) in BOUNDS.items()}
"""The largest size of one instrument in each column of sizes, in mm or g."""
Known = Mapping[str, Mapping[str, object]]
"""Item number to what the catalog holds: field name to value."""
HowFar = Callable[[int, int], None]
"""Told how many of how many are done."""


def guess_kind(workbook: Workbook) -> str | None:
    """ "sets" or "instruments", or None when the workbook is neither."""
    if looks_like_sets(workbook):
        return "sets"
    tables = tables_asked(workbook, INSTRUMENT_COLUMNS)
    return "instruments" if any(map(_may_be_instruments, tables)) else None


def _may_be_instruments(table: Table) -> bool:
    """Whether a table has what a list of instruments needs, or may have it once one is asked: names
    with numbers, or with sizes, for which numbers are proposed."""
    asked = table.unsure.keys if table.unsure else ()
    found = {*table.mapping, *asked}
    return "name" in found and bool(found & {"item_number", *SIZE_KEYS})


class InstrumentCheck:
    """A check of a master list under way: rows one at a time, then the rest of the report.

    ``known`` is keyed by item number. ``choices`` are what a person said of a sheet; a column of
    bare numbers whose unit nobody said is judged by its evidence. ``protectors`` are the names and
    codes of the tip protectors in stock, None where nobody asks: another is a question, since no
    package passes with it. ``in_use`` are the known numbers that are not retired. An empty cell,
    or one marked as not known, never erases what the catalog knows.
    """

    def __init__(
        self,
        workbook: Workbook,
        known: Known,
        choices: Choices | None = None,
        protectors: Collection[str] | None = None,
        in_use: Collection[str] = (),
    ) -> None:
        self._workbook, self._in_use = workbook, in_use
        self.file_problems = workbook.problems
        self._tables: list[Table] = []
        self._notes: list[Note] = []
        self._several = len(workbook.sheets) > 1
        self._numbers = Numbers({number: str(was.get("name")) for number, was in known.items()})
        self._question: Question | None = None
        self._questions: list[Question] = []
        if not self.file_problems:
            every = list(tables_asked(workbook, INSTRUMENT_COLUMNS, choices))
            self._question = column_question(every, NAMED, self._several)
            self._tables, self._notes = tables_in(workbook, INSTRUMENT_COLUMNS, choices)
            if not self._tables:
                self.file_problems = (no_table(INSTRUMENT_COLUMNS),)
                self._questions += self._numbers.questions(every, self._several)
        self._known = {folded_number(number): (number, was) for number, was in known.items()}
        groups = [str(was.get("group") or "") for was in known.values()]
        self._known_sizes = {
            key: known_middles(groups, [was.get(FIELDS[key]) for was in known.values()])
            for key in SIZE_KEYS
        }
        self._neighbours = Neighbours()
        for was in known.values():
            self._neighbours.add(
                str(was.get("name") or ""), was.get("length_mm"), was.get("weight_g")
            )
        self._protectors = None if protectors is None else set(map(folded_words, protectors))
        self._met: dict[str, tuple[str, int]] = {}
        self._spares = 0
        self._totals: list[Problem] = []
        self._skipped: list[SkippedRow] = []

    @property
    def row_count(self) -> int:
        """How many rows there are to go through, those that are no items included."""
        return sum(len(table.sheet.rows) for table in self._tables)

    def rows(self) -> Iterator[RowReport]:
        """Each item with its verdict, in the order of the file."""
        for table in self._tables:
            part: Table | None = replace(table, columns=INSTRUMENT_COLUMNS)
            while part is not None:
                yield from self._rows_of(part)
                part, note = tables_below(part)
                self._notes += [note] if note else []

    def whole(self, how_far: HowFar = lambda done, of: None) -> Report:
        """The report with every row kept."""
        rows: list[RowReport] = []
        for row in self.rows():
            rows.append(row)
            how_far(len(rows), self.row_count)
        return self.report(tuple(rows))

    def report(self, rows: tuple[RowReport, ...] = ()) -> Report:
        """The whole report once all rows were gone through; ``rows`` when they were kept."""
        return Report(
            "instruments",
            self._workbook.file_name,
            self._workbook.sha256,
            file_problems=self.file_problems,
            rows=rows,
            other_problems=tuple(self._totals),
            column_notes=(*self._numbers.notes(self._tables), *self._notes),
            mapping=letters_of(self._tables),
            why=reasons_of(self._tables),
            skipped=tuple(self._skipped),
            questions=(self._question,) if self._question else tuple(self._questions),
            updated=coverage(self._met, self._known, self._in_use, self._spares).as_json(),
        )

    def _rows_of(self, table: Table) -> Iterator[RowReport]:
        units, marks, middles = self._columns_judged(table)
        readers = [
            ColumnReader(column, table.mapping[column.key], place)
            for column in INSTRUMENT_COLUMNS
            if column.key in table.mapping
            for place in [
                replace(
                    table.place(column.key, units.get(column.key)),
                    mark=marks.get(column.key),
                    most=MOST.get(column.key),
                )
            ]
        ]
        headed = {cell.column_letter for cell in table.header.cells}
        unheaded: set[str] = set()
        said, text = "", ""
        for each in table.walk():
            if each.reason is None:
                unheaded |= each.row.letters_beside(headed)
                draft = read_row(each, table, readers)
                if said:
                    check_unit_said(draft, said, text, units)
                yield self._row(draft, middles)
                continue
            if unit := unit_said_in(each.row):
                said, text = unit, table.skipped_row(each).text
            self._skipped.append(table.skipped_row(each))
            if each.reason == "total":
                self._totals.extend(_total_row(each.row, table))
        if unheaded:
            by_place = sorted(unheaded, key=lambda letter: (len(letter), letter))
            words = f"These columns have no heading and were not read: {', '.join(by_place)}."
            self._notes.append(table.note("not_read", words, by_place[0]))

    def _columns_judged(
        self, table: Table
    ) -> tuple[dict[str, str], dict[str, str | None], dict[str, Middles]]:
        """The unit of each column of sizes that has none; the mark before decimals and the middle
        of every one."""
        unclear: list[str] = []
        read: list[ReadSizes] = []
        units, middles, evidence = {}, {}, gather(table, read)
        for key, found in evidence.items():
            unit = table.mapping[key].unit
            if unit is None:
                unit = table.unit_said(key) or self._judged(table, key, evidence)
                if unit:
                    units[key] = unit
                elif found.bare:
                    unclear.append(key)
            middles[key] = found.middles(unit, self._known_sizes[key])
        self._questions += unit_questions(table, evidence, unclear, self._several)
        by_heading = {key: table.mapping[key].unit for key in evidence}
        self._neighbours.add_read(read, {**by_heading, **units})
        return units, {key: mark_of(key, evidence) for key in evidence}, middles

    def _judged(self, table: Table, key: str, evidence: Mapping[str, Evidence]) -> str | None:
        judged = judgement_of(key, table, evidence)
        if judged is None:
            return None
        self._notes.append(_unit_note(table, key, judged))
        return judged.unit

    def _row(self, draft: Draft, middles: Mapping[str, Middles]) -> RowReport:
        key = self._identity(draft)
        check_name(draft)
        check_sizes(draft, middles, self._neighbours)
        check_named_length(draft)
        self._check_protector(draft)
        draft.problems += divided_by_a_comma(draft.item.row, draft.table)
        values = values_of(draft)
        if key:
            values["item_number"] = key
        found = as_answered(draft.problems, self._workbook.right)
        problems = sorted(found, key=lambda p: (len(p.column), p.column))
        changes = spares_kept(changes_between(draft.was, values))
        done = [each for each in changes if not each.left_out]
        self._spares += len(changes) - len(done)
        verdict = verdict_on(problems, draft.known, done)
        return RowReport(
            draft.table.sheet.title,
            draft.item.row.number,
            key,
            verdict,
            values,
            tuple(problems),
            () if verdict is Verdict.REFUSED else changes,
            cells=draft.item.row.typed if problems else {},
        )

    def _check_protector(self, draft: Draft) -> None:
        """A question where the protector is none of the stocked and not on record already."""
        named = draft.value("protector")
        if self._protectors is None or not named or named == draft.was.get("protector"):
            return
        if folded_words(str(named)) not in self._protectors:
            message = f"“{named}” is no tip protector in stock. It goes in as it is written, and "
            message += "no package passes with it: write the name of one that is, or none."
            draft.add("protector", "not_stocked", message)

    def _identity(self, draft: Draft) -> str:
        """The item number as the catalog spells it; what the catalog knows goes into the draft."""
        column = "item_number" if "item_number" in draft.table.mapping else "name"
        number = self._number_given(draft) if column == "name" else _number_in(draft)
        if not number:
            return ""
        folded = folded_number(number)
        here = (draft.table.sheet.title, draft.item.row.number)
        earlier = self._met.setdefault(folded, here)
        if earlier != here:
            where = f'row {earlier[1]} of "{earlier[0]}"'
            message = f"{number} stands already in {where}. Keep one of the two rows."
            draft.add(column, "repeated_item_number", message)
        if folded in self._known:
            number, draft.was = self._known[folded]
            draft.known = True
        return number

    def _number_given(self, draft: Draft) -> str:
        """The number of an instrument of a list without numbers; "" where it has no name."""
        name, first = str(draft.value("name") or ""), draft.table.said.numbers_from
        return self._numbers.of(name, first) if name else ""


def _number_in(draft: Draft) -> str:
    """The item number in the row; "" with a problem where there is none."""
    number = str(draft.value("item_number") or "")
    if number.casefold() in UNKNOWN_MARKS | {"none"}:
        number = ""
    if not number and not draft.readings["item_number"].problems:
        message = "The row has no item number. Give it one, or delete the row."
        draft.add("item_number", "missing_item_number", message)
    why = _no_number(draft.table.cell(draft.item.row, "item_number"))
    if number and why is not None:
        draft.add("item_number", *why)
    return number


_SHORTENED = re.compile(r"[0-9](?:[.,][0-9]+)?E[+-]?[0-9]+", re.IGNORECASE)
_BETWEEN = frozenset("\n\r;,")
_SEVERAL = re.compile(r"\S\s*(?:[\n\r;]|,\s)\s*\S")


def _no_number(cell: Cell) -> tuple[str, str] | None:
    """Code and message where a cell holds something else than one item number."""
    typed = cell.typed
    if _SHORTENED.fullmatch(typed.strip()):
        return "damaged_number", "The spreadsheet shortened this number. Retype it as text."
    if not _BETWEEN.isdisjoint(typed) and _SEVERAL.search(typed):
        return "ambiguous", "These are several numbers in one cell. Give each its own row."
    return None


def _total_row(row: Row, table: Table) -> Iterator[Problem]:
    cell = total_cell(row)
    if cell is not None:
        place = Place(table.sheet.title, table.heading_of(cell.column_letter))
        message = "This row is a total, not an instrument. It was left out."
        yield problem(cell, place, "total_row", message)


def _unit_note(table: Table, key: str, judged: Judgement) -> Note:
    mapped = table.mapping[key]
    numbers = f"{judged.bare} numbers in {mapped.heading} have no unit"
    if judged.bare == 1:
        numbers = f"1 number in {mapped.heading} has no unit"
    if judged.unit:
        message = f"{numbers}; read as {judged.unit}, because {judged.evidence}."
        return table.note("unit_judged", message, mapped.letter, mapped.heading)
    example = "g" if key == "weight" else "mm"
    message = (
        f"{numbers}, and it is not clear which is meant: {judged.evidence}. "
        f'Write the unit in the heading, as in "{mapped.heading} ({example})".'
    )
    return table.note("no_unit", message, mapped.letter, mapped.heading)

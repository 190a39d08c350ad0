"""What the program proposes for a file before it is checked: heading rows, columns, units.

A person sees the proposal with its evidence and corrects it. What was said once about the
same set of headings is proposed the next time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from catalog.spreadsheets.cells.report import Question
from catalog.spreadsheets.cells.typed import plain_text
from catalog.spreadsheets.checking.asking import column_question, unclear_units, unit_questions
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.sets.questions import sets_in
from catalog.spreadsheets.checking.sets.tables import set_table
from catalog.spreadsheets.checking.tables import Table, find_table, missing_in
from catalog.spreadsheets.checking.whole_columns import gather, judgement_of
from catalog.spreadsheets.columns.choices import NOTHING_SAID, Choices, SheetChoice, fingerprint
from catalog.spreadsheets.columns.column import Column, fold_heading, unit_in_heading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS, SIZES_TOGETHER
from catalog.spreadsheets.columns.sets import LIST_COLUMNS
from catalog.spreadsheets.evidence.assigning import Columns
from catalog.spreadsheets.evidence.finding import HEADER_WITHIN
from catalog.spreadsheets.workbook.cell import Row
from catalog.spreadsheets.workbook.reading import Sheet, Workbook

CHOICES_OF: Mapping[str, Sequence[Column]] = {
    "instruments": INSTRUMENT_COLUMNS,
    "sets": LIST_COLUMNS,
}
"""Kind of spreadsheet to the columns that a person may choose among. The set stands in a column
of a long list, or above the lines."""
NAMED_OF: Mapping[str, Sequence[Column]] = {
    **CHOICES_OF,
    "instruments": (*INSTRUMENT_COLUMNS, SIZES_TOGETHER),
}
"""The same, and what a person may say of a column that is several of them."""
SAMPLES = 3
"""Values of a column that are shown beside its heading."""
SAMPLE_ROWS = 60
"""Rows below the heading in which they are looked for."""
LONGEST_SAMPLE = 40


@dataclass(frozen=True, slots=True)
class ColumnProposal:
    """One column of a sheet. ``key`` is "" when it would not be read. ``judged`` is the unit
    its bare numbers seem to have, with the ``evidence`` in words; both "" when not asked.
    ``why``: the evidence for the key, in few words."""

    letter: str
    heading: str
    key: str
    samples: tuple[str, ...] = ()
    unit_in_heading: str = ""
    judged: str = ""
    evidence: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class SheetProposal:
    """One sheet. ``header_row`` is 0 when no row can be the heading."""

    title: str
    hidden: bool
    rows: int
    header_row: int
    columns: tuple[ColumnProposal, ...]
    fingerprint: str
    left_out: bool
    remembered: bool = False

    def choice(self) -> SheetChoice:
        """The proposal taken as it stands."""
        columns = {each.letter: each.key for each in self.columns}
        units = {each.key: each.judged for each in self.columns if each.key and each.judged}
        return SheetChoice(self.header_row, columns, units, self.left_out)


@dataclass(frozen=True, slots=True)
class Remembered:
    """What was said of a set of headings: folded heading to column key ("" for not read), and
    column key to the unit of bare numbers."""

    columns: Mapping[str, str]
    units: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Proposed:
    """What is proposed for a file, and what has to be asked."""

    sheets: tuple[SheetProposal, ...]
    questions: tuple[Question, ...]


def propose(
    workbook: Workbook,
    kind: str,
    remembered: Mapping[str, Remembered] | None = None,
    choices: Choices | None = None,
    sets: Mapping[str, str] | None = None,
    numbers: Numbers | None = None,
) -> Proposed:
    """A proposal for every sheet. ``remembered`` is keyed by fingerprint of headings; ``choices``
    are what a person has said so far, and the rest is proposed. ``sets``: the numbers of the
    sets on record, with their names; ``numbers``: those of the instruments.
    """
    numbers = numbers or Numbers({})
    sheets: list[SheetProposal] = []
    tables: list[Table] = []
    for sheet in workbook.sheets:
        said = (choices or {}).get(sheet.title, NOTHING_SAID)
        table, again = _table_of(sheet, kind, remembered or {}, said)
        sheets.append(_proposal(sheet, table, kind, again))
        if table is not None and not sheet.hidden and not said.left_out:
            tables.append(table)
    unclear = any(each.evidence and not each.judged for one in sheets for each in one.columns)
    if kind == "sets":
        merged = {table.sheet.title: table.said for table in tables if table.said.columns}
        merged = {**(choices or {}), **merged}
        asked = sets_in(workbook, merged, sets or {}, numbers, ask_all=True)[2]
        return Proposed(tuple(sheets), asked)
    return Proposed(tuple(sheets), _questions(workbook, tables, numbers, unclear))


def _questions(
    workbook: Workbook, tables: Sequence[Table], numbers: Numbers, unclear: bool
) -> tuple[Question, ...]:
    """A column first; then numbers, where no table can be read without them; then units, where
    those of a column are ``unclear``."""
    several = len(workbook.sheets) > 1
    column = column_question(tables, NAMED_OF["instruments"], several)
    if column is not None:
        return (column,)
    whole = [table for table in tables if not missing_in(table, INSTRUMENT_COLUMNS)]
    if not whole:
        return tuple(numbers.questions(tables, several))
    found: list[Question] = []
    for table in whole if unclear else ():
        evidence = gather(table)
        found += unit_questions(table, evidence, unclear_units(table, evidence), several)
    return tuple(found)


def _proposal(sheet: Sheet, table: Table | None, kind: str, remembered: bool) -> SheetProposal:
    if table is None:
        return SheetProposal(sheet.title, sheet.hidden, len(sheet.rows), 0, (), "", True)
    missing = bool(missing_in(table, CHOICES_OF[kind]))
    return SheetProposal(
        sheet.title,
        sheet.hidden,
        len(sheet.rows),
        table.header.number,
        _columns(table),
        _fingerprint(table),
        left_out=sheet.hidden or missing or bool(table.said.left_out),
        remembered=remembered,
    )


def _fingerprint(table: Table) -> str:
    headings = [cell.typed for cell in table.header.cells]
    return fingerprint(headings) if headings else ""


def _table_of(
    sheet: Sheet, kind: str, remembered: Mapping[str, Remembered], said: SheetChoice
) -> tuple[Table | None, bool]:
    """The table of a sheet, and whether its headings were met before. What is said now wins."""
    table = _table(sheet, kind, said)
    by_hand = said.header_row is not None and bool(said.columns)
    if table is None or by_hand or (earlier := remembered.get(_fingerprint(table))) is None:
        return table, False
    return _table(sheet, kind, _as_remembered(table.header, earlier, said)), True


def _table(sheet: Sheet, kind: str, said: SheetChoice) -> Table | None:
    """The table that is found, or that below the row that looks most like headings."""
    columns = CHOICES_OF[kind]
    table = set_table(sheet, said) if kind == "sets" else find_table(sheet, columns, said)
    if table is not None:
        return table
    first = [row for row in islice(sheet.rows, HEADER_WITHIN) if row.number <= HEADER_WITHIN]
    fullest = max(first, key=_texts, default=None)
    if fullest is None or _texts(fullest) <= 1:
        return None
    headings = {cell.column_letter: cell for cell in fullest.cells}
    return Table(sheet, fullest, Columns(headings, (), columns).solve().mapping)


def _texts(row: Row) -> int:
    return sum(isinstance(cell.value, str) for cell in row.cells)


def _as_remembered(header: Row, earlier: Remembered, said: SheetChoice) -> SheetChoice:
    """What was said of these headings before, below what is said now."""
    columns = {
        cell.column_letter: earlier.columns.get(fold_heading(cell.typed), "")
        for cell in header.cells
    }
    return replace(
        said,
        header_row=header.number,
        columns={**columns, **said.columns},
        units={**earlier.units, **said.units},
    )


def _columns(table: Table) -> tuple[ColumnProposal, ...]:
    key_of = {mapped.letter: key for key, mapped in table.mapping.items()}
    evidence = gather(table)
    samples = _samples(table)
    headings = {cell.column_letter: cell.typed.strip() for cell in table.header.cells}
    proposals = []
    for letter in sorted({*headings, *samples}, key=lambda each: (len(each), each)):
        key = key_of.get(letter, "")
        mapped = table.mapping.get(key)
        proposal = ColumnProposal(
            letter,
            headings.get(letter, ""),
            "sizes" if mapped and mapped.part else key,
            tuple(samples.get(letter, ())),
            _unit_told(table, key),
            why=table.why.get(letter, ""),
        )
        judged = judgement_of(key, table, evidence) if key in evidence else None
        if judged and not proposal.unit_in_heading:
            said = table.unit_said(key)
            numbers = "1 number has" if judged.bare == 1 else f"{judged.bare} numbers have"
            words = "" if said else f"{numbers} no unit; {judged.evidence}."
            proposal = replace(proposal, judged=said or judged.unit or "", evidence=words)
        proposals.append(proposal)
    return tuple(proposals)


def _unit_told(table: Table, key: str) -> str:
    """The unit that a heading, or the row of units below it, gives a column; "" for none."""
    mapped = table.mapping.get(key)
    if mapped is None:
        return ""
    said = table.unit_said(key)
    return (unit_in_heading(mapped.heading)[1] if said else mapped.unit) or ""


def _samples(table: Table) -> dict[str, list[str]]:
    """Column letter to its first different values."""
    found: dict[str, list[str]] = {}
    for each in islice(table.walk(), table.header.number + SAMPLE_ROWS):
        if each.reason is None:
            for cell in each.row.cells:
                shown = plain_text(cell)[:LONGEST_SAMPLE]
                values = found.setdefault(cell.column_letter, [])
                if shown and shown not in values and len(values) < SAMPLES:
                    values.append(shown)
    return found

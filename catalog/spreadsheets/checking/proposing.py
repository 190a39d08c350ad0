"""What the program proposes for a file before it is checked: heading rows, columns, units.

A person sees the proposal with its evidence and corrects it. What was said once about the
same set of headings is proposed the next time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from catalog.spreadsheets.cells.typed import plain_text
from catalog.spreadsheets.checking.finding import HEADER_WITHIN
from catalog.spreadsheets.checking.set_tables import set_table
from catalog.spreadsheets.checking.tables import Table, chosen_table, find_table
from catalog.spreadsheets.checking.whole_columns import gather
from catalog.spreadsheets.columns.choices import Choices, SheetChoice, fingerprint
from catalog.spreadsheets.columns.column import Column, Mapped, fold_heading, unit_in_heading
from catalog.spreadsheets.columns.evidence import Columns
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import LIST_COLUMNS
from catalog.spreadsheets.workbook.cell import Row
from catalog.spreadsheets.workbook.reading import Sheet, Workbook

CHOICES_OF: Mapping[str, Sequence[Column]] = {
    "instruments": INSTRUMENT_COLUMNS,
    "sets": tuple(replace(each, required=each.key == "quantity") for each in LIST_COLUMNS),
}
"""Kind of spreadsheet to the columns that a person may choose among. The set stands in a column
of a long list, or above the lines."""
SAMPLES = 3
"""Values of a column that are shown beside its heading."""
SAMPLE_ROWS = 60
"""Rows below the heading in which they are looked for."""
LONGEST_SAMPLE = 40


@dataclass(frozen=True, slots=True)
class ColumnProposal:
    """One column of a sheet. ``key`` is "" when it would not be read. ``judged`` is the unit
    its bare numbers seem to have, with the ``evidence`` in words; both "" when not asked."""

    letter: str
    heading: str
    key: str
    samples: tuple[str, ...] = ()
    unit_in_heading: str = ""
    judged: str = ""
    evidence: str = ""


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
        columns = {each.letter: each.key for each in self.columns if each.key}
        units = {each.key: each.judged for each in self.columns if each.key and each.judged}
        return SheetChoice(self.header_row, columns, units, self.left_out)


@dataclass(frozen=True, slots=True)
class Remembered:
    """What was said of a set of headings: folded heading to column key ("" for not read), and
    column key to the unit of bare numbers."""

    columns: Mapping[str, str]
    units: Mapping[str, str]


def propose(
    workbook: Workbook,
    columns: Sequence[Column],
    remembered: Mapping[str, Remembered] | None = None,
    choices: Choices | None = None,
) -> tuple[SheetProposal, ...]:
    """A proposal for every sheet. ``remembered`` is keyed by fingerprint of headings.

    ``choices`` are what a person has said so far: the heading row alone, and the columns are
    proposed anew; with columns, and only their units are judged.
    """
    return tuple(
        _sheet(sheet, columns, remembered or {}, (choices or {}).get(sheet.title))
        for sheet in workbook.sheets
    )


def _sheet(
    sheet: Sheet,
    columns: Sequence[Column],
    remembered: Mapping[str, Remembered],
    choice: SheetChoice | None,
) -> SheetProposal:
    table = _table(sheet, columns, choice)
    if table is None:
        return SheetProposal(sheet.title, sheet.hidden, len(sheet.rows), 0, (), "", True)
    headings = [cell.typed for cell in table.header.cells]
    print_ = fingerprint(headings) if headings else ""
    by_hand = choice is not None and bool(choice.columns)
    said = None if by_hand else remembered.get(print_)
    if said:
        table = replace(table, mapping=_as_remembered(table.header, said))
    required = {column.key for column in columns if column.required}
    return SheetProposal(
        sheet.title,
        sheet.hidden,
        len(sheet.rows),
        table.header.number,
        _columns(table, said),
        print_,
        left_out=sheet.hidden
        or not required <= set(table.mapping)
        or (choice is not None and by_hand and choice.left_out),
        remembered=said is not None,
    )


def _table(sheet: Sheet, columns: Sequence[Column], choice: SheetChoice | None) -> Table | None:
    """The table a person described, that below the row a person named, the one found, or
    that below the row that looks most like headings."""
    if choice and choice.columns:
        return chosen_table(sheet, choice)
    if choice and choice.header_row:
        return find_table(sheet, columns, header_row=choice.header_row)
    table = set_table(sheet) if columns is CHOICES_OF["sets"] else find_table(sheet, columns)
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


def _as_remembered(header: Row, said: Remembered) -> dict[str, Mapped]:
    mapping: dict[str, Mapped] = {}
    for cell in header.cells:
        key = said.columns.get(fold_heading(cell.typed))
        if key:
            heading = cell.typed.strip()
            mapped = Mapped(cell.column_letter, heading, unit_in_heading(heading)[1])
            mapping.setdefault(key, mapped)
    return mapping


def _columns(table: Table, said: Remembered | None) -> tuple[ColumnProposal, ...]:
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
            key,
            tuple(samples.get(letter, ())),
            (unit_in_heading(mapped.heading)[1] or "") if mapped else "",
        )
        judged = evidence[key].judgement() if key in evidence else None
        if judged and not proposal.unit_in_heading:
            unit = (said.units.get(key) if said else None) or judged.unit or ""
            numbers = "1 number has" if judged.bare == 1 else f"{judged.bare} numbers have"
            words = f"{numbers} no unit; {judged.evidence}."
            proposal = replace(proposal, judged=unit, evidence=words)
        proposals.append(proposal)
    return tuple(proposals)


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

"""Where the table is in a sheet, and which rows of it are items.

Lists start with titles, have grey heading rows between the items, repeat their headings
after a page break, and end in a total. None of these is an item, and none is an error. A group
heading holds down to the next one or to a blank row.
"""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from catalog.spreadsheets.cells import Place, plain_text
from catalog.spreadsheets.columns import Column, Mapped, fold_heading, propose_mapping
from catalog.spreadsheets.reading import Cell, Row, Sheet, Workbook
from catalog.spreadsheets.report import Note, SkippedRow
from catalog.spreadsheets.safety import FileProblem

HEADER_WITHIN = 30
"""The heading row is looked for in this many rows from the top."""
LEAST_HEADINGS = 2
"""Fewer known headings than this make no heading row."""
TOTAL_CELLS = 3
"""A row with more filled cells than this is no total row."""

_TOTAL = re.compile(r"(?:grand |sub ?)?total\b|sum\b|summe\b|gesamt|somme\b|suma\b")


@dataclass(frozen=True, slots=True)
class ItemRow:
    """A row of the table, with the group heading that stands above it, if any."""

    row: Row
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet with its heading row found and its rows sorted by what they are."""

    sheet: Sheet
    header: Row
    mapping: dict[str, Mapped]
    items: tuple[ItemRow, ...] = ()
    totals: tuple[Row, ...] = ()
    skipped: tuple[SkippedRow, ...] = field(default=())

    def cell(self, row: Row, key: str) -> Cell:
        """The cell of ``row`` in the column ``key``."""
        return row.at(self.mapping[key].letter)

    def place(self, key: str, unit: str | None = None) -> Place:
        """Where problems of the column ``key`` are."""
        mapped = self.mapping[key]
        return Place(self.sheet.title, mapped.heading, unit or mapped.unit)

    def heading_of(self, column_letter: str) -> str:
        """The heading above that column, as typed."""
        return self.header.at(column_letter).typed.strip()


def tables_in(workbook: Workbook, columns: Sequence[Column]) -> tuple[list[Table], list[Note]]:
    """The tables with all required columns, and notes on the sheets that have none."""
    tables: list[Table] = []
    notes: list[Note] = []
    for sheet in workbook.sheets:
        if sheet.hidden:
            notes.append(_sheet_note(sheet, "hidden_sheet", "is hidden and was not read"))
            continue
        table = find_table(sheet, columns)
        if table is None:
            notes.append(_sheet_note(sheet, "no_header", "has no heading row and was not read"))
            continue
        missing = [
            column for column in columns if column.required and column.key not in table.mapping
        ]
        if missing:
            notes.append(_missing_columns(table, missing))
        else:
            tables.append(table)
            notes.extend(_columns_not_read(table))
    return tables, notes


def _sheet_note(sheet: Sheet, code: str, what: str) -> Note:
    row = sheet.rows[0].number if sheet.rows else 1
    return Note(sheet.title, row, "", "", code, f'The sheet "{sheet.title}" {what}.')


def _missing_columns(table: Table, missing: Sequence[Column]) -> Note:
    titles = " and ".join(column.title for column in missing)
    message = (
        f'The sheet "{table.sheet.title}" was not read: row {table.header.number} has headings, '
        f"but none for {titles}. Name that column, for instance "
        f'"{missing[0].title}".'
    )
    return Note(table.sheet.title, table.header.number, "", "", "missing_column", message)


def _columns_not_read(table: Table) -> Iterator[Note]:
    used = {mapped.letter for mapped in table.mapping.values()}
    unused = [cell for cell in table.header.cells if cell.column_letter not in used]
    if unused:
        named = ", ".join(f"{cell.column_letter} “{cell.typed.strip()}”" for cell in unused)
        message = f"These columns are none that we know and were not read: {named}."
        yield Note(table.sheet.title, table.header.number, "", "", "not_read", message)


def find_table(sheet: Sheet, columns: Sequence[Column]) -> Table | None:
    """The table whose heading row has most known headings; None when no row has two."""
    best: tuple[int, Row, dict[str, Mapped]] | None = None
    for row in sheet.rows:
        if row.number > HEADER_WITHIN:
            break
        mapping = propose_mapping(row.cells, columns)
        if len(mapping) >= LEAST_HEADINGS and (best is None or len(mapping) > best[0]):
            best = (len(mapping), row, mapping)
    if best is None:
        return None
    return _sorted_rows(Table(sheet, best[1], best[2]))


def _sorted_rows(table: Table) -> Table:
    items: list[ItemRow] = []
    totals: list[Row] = []
    skipped: list[SkippedRow] = []
    group: str | None = None
    above = 0
    for row in table.sheet.rows:
        if row.number > above + 1:
            group = None  # What is added below a blank row belongs to no group we know.
        above = row.number
        reason = _reason_to_skip(row, table)
        if reason is None:
            items.append(ItemRow(row, group))
            continue
        text = plain_text(row.cells[0])
        skipped.append(SkippedRow(table.sheet.title, row.number, reason, text))
        if reason == "group":
            group = string.capwords(text)
        elif reason == "total":
            totals.append(row)
    return Table(
        table.sheet, table.header, table.mapping, tuple(items), tuple(totals), tuple(skipped)
    )


def _reason_to_skip(row: Row, table: Table) -> str | None:
    if row.number < table.header.number:
        return "title"
    if row.number == table.header.number or _repeats_header(row, table):
        return "heading"
    if is_total(row, table):
        return "total"
    return "group" if _is_group(row, table) else None


def _repeats_header(row: Row, table: Table) -> bool:
    return all(
        fold_heading(row.at(mapped.letter).typed) == fold_heading(mapped.heading)
        for mapped in table.mapping.values()
    )


def is_total(row: Row, table: Table) -> bool:
    """True for a short row that says "total" and has no item number."""
    if len(row.cells) > TOTAL_CELLS:
        return False
    number = table.mapping.get("item_number")
    said = total_cell(row)
    if said is None:
        return False
    in_number = row.at(number.letter) if number else said
    return in_number.is_empty or in_number is said


def total_cell(row: Row) -> Cell | None:
    """The cell that says that the row is a total."""
    for cell in row.cells:
        if isinstance(cell.value, str) and _TOTAL.match(fold_heading(cell.value)):
            return cell
    return None


def _is_group(row: Row, table: Table) -> bool:
    """One filled cell in the first column or the item number column, and no number in it."""
    if len(row.cells) != 1 or row.cells[0].formula is not None:
        return False
    only = row.cells[0]
    letters = {mapped.letter for mapped in table.mapping.values()}
    first = min(letters | {"A"}, key=lambda letter: (len(letter), letter))
    heads = (
        {first, table.mapping["item_number"].letter} if "item_number" in table.mapping else {first}
    )
    text = isinstance(only.value, str) and not re.search("[0-9]", only.value)
    return text and only.column_letter in heads


def folded_number(number: str) -> str:
    """An item number without case and spaces: two that differ in these only are the same.

    >>> folded_number("hf 1000 ") == folded_number("HF1000")
    True
    """
    return "".join(number.split()).casefold()


def no_table(columns: Sequence[Column]) -> FileProblem:
    """The problem of a file in which no sheet has the required columns."""
    titles = ", ".join(column.title for column in columns if column.required)
    return FileProblem(
        "no_table",
        f"No sheet has a heading row with these columns in its first {HEADER_WITHIN} rows: "
        f"{titles}. Name them and send the file again.",
    )

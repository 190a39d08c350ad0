"""Which tables of a workbook are read, and what is said of the rest.

Sheets that are left out, hidden or have no headings are named, and columns that are not read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from catalog.spreadsheets.cells.report import Note
from catalog.spreadsheets.checking.tables import Table, find_table, missing_in
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.evidence.beside import first_letters
from catalog.spreadsheets.evidence.finding import HEADER_WITHIN
from catalog.spreadsheets.workbook.reading import Sheet, Workbook
from catalog.spreadsheets.workbook.safety import FileProblem

SPANS_TOLD = 8
"""Runs of hidden rows that a note names."""


def tables_in(
    workbook: Workbook, columns: Sequence[Column], choices: Choices | None = None
) -> tuple[list[Table], list[Note]]:
    """The tables with all required columns, and notes on what was left out and hidden.

    ``choices`` is what a person said of a sheet, by its title; the rest is told by evidence.
    """
    tables: list[Table] = []
    notes: list[Note] = []
    for sheet in workbook.sheets:
        choice = (choices or {}).get(sheet.title)
        if choice and choice.left_out:
            notes.append(_sheet_note(sheet, "left_out", "was left out, as you said"))
            continue
        if sheet.hidden and (choice is None or choice.left_out is None):
            notes.append(_sheet_note(sheet, "hidden_sheet", "is hidden and was not read"))
            continue
        table = find_table(sheet, columns, choice)
        if table is None:
            notes.append(_sheet_note(sheet, "no_header", "has no heading row and was not read"))
            continue
        missing = missing_in(table, columns)
        if missing:
            notes.append(_missing_columns(table, missing))
        else:
            tables.append(table)
            notes.extend([*_columns_not_read(table), *_hidden_parts(table)])
    return tables, notes


def tables_asked(
    workbook: Workbook, columns: Sequence[Column], choices: Choices | None = None
) -> Iterator[Table]:
    """The table of each sheet that may be read, whether or not it has all required columns."""
    for sheet in workbook.sheets:
        choice = (choices or {}).get(sheet.title)
        left_out = choice.left_out if choice else None
        if left_out or (sheet.hidden and left_out is None):
            continue
        table = find_table(sheet, columns, choice)
        if table is not None:
            yield table


def tables_below(table: Table) -> tuple[Table | None, Note | None]:
    """The table below one that was walked, and the note on it; no table where it lacks columns."""
    below = table.below
    if below is None:
        return None, None
    missing = missing_in(below, table.columns)
    if missing:
        return None, _missing_columns(below, missing)
    message = f"Row {below.header.number} has headings again. The rows below it were read by them."
    return below, below.note("another_table", message)


def _hidden_parts(table: Table) -> Iterator[Note]:
    sheet = table.sheet
    rows = [number for number in sheet.hidden_rows if number > table.header.number]
    if rows:
        message = f"These rows are hidden in the spreadsheet; they were read: {_spans(rows)}."
        yield Note(sheet.title, rows[0], "", "", "hidden_rows", message)
    used = {mapped.letter for mapped in table.mapping.values()}
    letters = [letter for letter in sheet.hidden_columns if letter in used]
    if letters:
        named = ", ".join(f"{letter} “{table.heading_of(letter)}”" for letter in letters)
        message = f"These columns are hidden in the spreadsheet; they were read: {named}."
        yield table.note("hidden_columns", message, letters[0])


def _spans(numbers: Sequence[int]) -> str:
    """Runs of numbers in words; many runs are cut short.

    >>> _spans([5, 6, 7, 12])
    '5 to 7, 12'
    """
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    told = [f"{first} to {last}" if last > first else f"{first}" for first, last in spans]
    more = len(told) - SPANS_TOLD
    return ", ".join(told[:SPANS_TOLD]) + (f" and {more} more" if more > 0 else "")


def _sheet_note(sheet: Sheet, code: str, what: str) -> Note:
    row = sheet.rows[0].number if sheet.rows else 1
    return Note(sheet.title, row, "", "", code, f'The sheet "{sheet.title}" {what}.')


def _missing_columns(table: Table, missing: Sequence[Column]) -> Note:
    titles = " and ".join(column.title for column in missing)
    what = f"From row {table.first} on the" if table.first else "The"
    message = (
        f'{what} sheet "{table.sheet.title}" was not read: row {table.header.number} has headings, '
        f"but none for {titles}. Name that column, for instance "
        f'"{missing[0].title}".'
    )
    return table.note("missing_column", message)


def _columns_not_read(table: Table) -> Iterator[Note]:
    used = {mapped.letter for mapped in table.mapping.values()}
    headings = {cell.column_letter: cell.typed for cell in table.header.cells}
    for letter in first_letters(headings)[1:]:
        message = (
            f"From column {letter} on another table stands beside the first. It was not read: "
        )
        message += "move it below, or to a sheet of its own."
        yield table.note("table_beside", message, letter)
    unused = [cell for cell in table.header.cells if cell.column_letter not in used]
    if unused:
        named = ", ".join(f"{cell.column_letter} “{cell.typed.strip()}”" for cell in unused)
        message = f"These columns were not read: {named}."
        yield table.note("not_read", message)


def no_table(columns: Sequence[Column]) -> FileProblem:
    """The problem of a file in which no sheet has the required columns."""
    titles = ", ".join(column.title for column in columns if column.required)
    return FileProblem(
        "no_table",
        f"No sheet has a heading row with these columns in its first {HEADER_WITHIN} rows: "
        f"{titles}. Name them and send the file again.",
    )

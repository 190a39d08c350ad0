"""Where the sets are in a workbook: a sheet for each under its heading block, or one long list.

In a long list every line says its set; the lines of one set need not stand together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from openpyxl.utils import column_index_from_string, get_column_letter

from catalog.spreadsheets.cells.report import Note, Problem
from catalog.spreadsheets.cells.typed import Place, plain_text, problem, read_text
from catalog.spreadsheets.checking.set_blocks import blocks_of
from catalog.spreadsheets.checking.sheets import tables_in
from catalog.spreadsheets.checking.tables import ItemRow, Table, find_table, folded_number, part_of
from catalog.spreadsheets.columns.choices import Choices, SheetChoice
from catalog.spreadsheets.columns.column import Column, fold_heading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import LIST_COLUMNS, SET_COLUMNS, SET_LABELS
from catalog.spreadsheets.workbook.reading import Cell, Row, Sheet, Workbook

MOST_ROWS_OF_SETS = 5_000
"""A longer sheet is one list: it is not looked through for several sets (our limit)."""


@dataclass(frozen=True, slots=True)
class Head:
    """What heads the lines of one set, and what is wrong with it."""

    values: dict[str, str]
    code_cell: Cell
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class SetTable:
    """The lines of one set; ``whole`` is the table that they stand in."""

    table: Table
    head: Head
    whole: Table

    @property
    def in_a_list(self) -> bool:
        """True when the set number stands in a column."""
        return "set_code" in self.table.mapping


def looks_like_sets(workbook: Workbook) -> bool:
    """True when a sheet has the lines of a count sheet and says of which set."""
    return any(is_set_sheet(sheet) for sheet in workbook.sheets)


def without_sets(workbook: Workbook) -> tuple[Workbook, list[Note]]:
    """The sheets that are no count sheets, with a note on each that was set aside.

    A workbook of nothing but count sheets is left as it is.
    """
    sets = [sheet for sheet in workbook.sheets if is_set_sheet(sheet)]
    if not sets or len(sets) == len(workbook.sheets):
        return workbook, []
    notes = [
        Note(sheet.title, sheet.rows[0].number, "", "", "not_read",
             f'The sheet "{sheet.title}" holds count sheets. Read them on their own.')
        for sheet in sets
    ]  # fmt: skip
    left = tuple(sheet for sheet in workbook.sheets if sheet not in sets)
    return replace(workbook, sheets=left), notes


def is_set_sheet(sheet: Sheet) -> bool:
    """True for a count sheet under its heading block, a list with a set column, and lines with
    counts but no sizes: what has no set number is refused as a set, not read as instruments."""
    if list_table(sheet) is not None:
        return True
    table = find_table(sheet, SET_COLUMNS)
    if table is None or not _has_lines(table):
        return False
    return "set_code" in _head_cells(table) or not _has_sizes(sheet)


def _has_sizes(sheet: Sheet) -> bool:
    """True where the instruments of a sheet have sizes: a list of them, counts or not."""
    table = find_table(sheet, INSTRUMENT_COLUMNS)
    return table is not None and any(
        column.unit for column in INSTRUMENT_COLUMNS if column.key in table.mapping
    )


def _has_lines(table: Table) -> bool:
    counted = "quantity" in table.mapping or table.said.quantity
    return bool(counted) and bool({"item_number", "name"} & set(table.mapping))


def list_table(sheet: Sheet, choice: SheetChoice | None = None) -> Table | None:
    """The lines of many sets in one list, each saying its set; None where there is none."""
    table = find_table(sheet, LIST_COLUMNS, choice)
    return table if table and _has_lines(table) and "set_code" in table.mapping else None


def set_table(sheet: Sheet, choice: SheetChoice | None = None) -> Table | None:
    """The lines of a sheet of sets: a long list, or else below its heading block."""
    return list_table(sheet, choice) or find_table(sheet, SET_COLUMNS, choice)


def set_tables(
    workbook: Workbook, choices: Choices | None = None
) -> tuple[list[SetTable], list[Note]]:
    """Every set of the workbook with its lines, and notes on what was not read.

    ``choices`` are a person's columns for a sheet.
    """
    found: list[SetTable] = []
    notes: list[Note] = []
    for sheet in workbook.sheets:
        in_a_list = list_table(sheet, (choices or {}).get(sheet.title))
        columns: tuple[Column, ...] = LIST_COLUMNS if in_a_list else SET_COLUMNS
        tables, said = _tables_of(workbook, sheet, columns, choices)
        notes += said
        for table in tables:
            if not _has_lines(table):
                notes.append(_no_instrument_column(table))
            elif "set_code" in table.mapping:
                found += _sets_in_list(table)
            else:
                found.append(SetTable(table, _read_head(table), table))
    return found, notes


def _tables_of(
    workbook: Workbook, sheet: Sheet, columns: tuple[Column, ...], choices: Choices | None
) -> tuple[list[Table], list[Note]]:
    """The tables of a sheet: one, or one for each set that it holds."""
    choice = (choices or {}).get(sheet.title)
    in_a_list = columns is LIST_COLUMNS
    if in_a_list or (choice and choice.left_out) or len(sheet.rows) > MOST_ROWS_OF_SETS:
        return tables_in(replace(workbook, sheets=(sheet,)), columns, choices)
    tables: list[Table] = []
    notes: list[Note] = []
    parts = list(blocks_of(sheet, choice))
    for part in parts:
        said = choices
        if choice and choice.header_row and part.rows:
            said = {sheet.title: _choice_for(part, part is parts[0], sheet, choice)}
        found, more = tables_in(replace(workbook, sheets=(part,)), columns, said)
        tables += found
        notes += more
    return tables, notes


def _choice_for(part: Sheet, first: bool, sheet: Sheet, choice: SheetChoice) -> SheetChoice:
    """What was said of a sheet, for one of its parts: the columns hold below the same headings;
    those of another set beside the first are found."""
    named = choice.header_row or 0
    if part.rows[0].number <= named:
        return choice if first else replace(choice, header_row=None, columns={})
    chosen = next((row for row in sheet.rows if row.number == named), Row(named, ()))
    letters = [letter for letter, key in choice.columns.items() if key]
    for row in part.rows:
        if all(
            fold_heading(row.at(letter).typed) == fold_heading(chosen.at(letter).typed)
            for letter in letters
        ):
            return replace(choice, header_row=row.number)
    return replace(choice, header_row=None, columns={})


def _no_instrument_column(table: Table) -> Note:
    message = (
        f'The sheet "{table.sheet.title}" was not read: row {table.header.number} has headings, '
        'but none for the instrument. Name that column "Item number" or "Name".'
    )
    return table.note("missing_column", message)


def _sets_in_list(table: Table) -> Iterator[SetTable]:
    """The lines of a long list, set by set in the order in which they first appear."""
    groups: dict[str, list[ItemRow]] = {}
    totals: dict[str, list[Row]] = {}
    for item in table.items:
        code = folded_number(plain_text(table.cell(item.row, "set_code")))
        groups.setdefault(code, []).append(item)
    for total in table.totals:
        above = [item for item in table.items if item.row.number < total.number]
        code = folded_number(plain_text(table.cell(above[-1].row, "set_code"))) if above else ""
        totals.setdefault(code, []).append(total)
    for code, items in groups.items():
        part = part_of(table, items, totals.get(code, ()))
        yield SetTable(part, _head_of_list(part), table)


def _head_of_list(part: Table) -> Head:
    """What the lines of one set say of it. Lines that say something else are named."""
    values = dict.fromkeys(SET_LABELS, "")
    problems: list[Problem] = []
    for key in SET_LABELS:
        if key not in part.mapping:
            continue
        for item in part.items:
            cell, place = part.cell(item.row, key), part.place(key)
            reading = read_text(cell, place)
            problems += reading.problems
            said = str(reading.value or "")
            values[key] = values[key] or said
            same = fold_heading(said) == fold_heading(values[key])
            if said and not same and key != "set_code":
                message = f'Another line of this set says "{values[key]}". Make them agree.'
                problems.append(problem(cell, place, "heading_differs", message))
    code_cell = part.cell(part.items[0].row, "set_code")
    values["set_name"] = values["set_name"] or values["set_code"]
    return Head(values, code_cell, tuple(problems))


def _head_cells(table: Table) -> dict[str, tuple[Cell, Cell]]:
    """Label key to the label's cell and the value's cell, from the rows above the lines."""
    found: dict[str, tuple[Cell, Cell]] = {}
    for row in table.sheet.rows:
        if row.number >= table.header.number:
            break
        for place, cell in enumerate(row.cells):
            for key, labels in SET_LABELS.items():
                if isinstance(cell.value, str) and fold_heading(cell.value) in labels:
                    beside = row.cells[place + 1] if place + 1 < len(row.cells) else cell
                    if _is_label(beside):
                        number = column_index_from_string(cell.column_letter) + 1
                        beside = Cell(row.number, get_column_letter(number))
                    found.setdefault(key, (cell, beside))
    return found


def _is_label(cell: Cell) -> bool:
    folded = fold_heading(cell.typed)
    return any(folded in labels for labels in SET_LABELS.values())


def _read_head(table: Table) -> Head:
    cells = _head_cells(table)
    values = dict.fromkeys(SET_LABELS, "")
    problems: list[Problem] = []
    for key, (label, cell) in cells.items():
        reading = read_text(cell, Place(table.sheet.title, label.typed.strip()))
        values[key] = str(reading.value or "")
        problems += reading.problems
    if "set_name" not in cells:
        values["set_name"] = _title(table.sheet, table.header)
    empty = Cell(table.header.number, "A")
    code_cell = cells["set_code"][1] if "set_code" in cells else empty
    return Head(values, code_cell, tuple(problems))


def _title(sheet: Sheet, header: Row) -> str:
    """The name of a set: the first lonely text above the lines, else the sheet's title."""
    for row in sheet.rows:
        if row.number < header.number and len(row.cells) == 1 and not row.cells[0].formula:
            return plain_text(row.cells[0])
    return sheet.title

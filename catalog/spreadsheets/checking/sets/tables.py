"""Where the sets are in a workbook: a sheet for each under its heading block, or one long list.

In a long list every line says its set; the lines of one set need not stand together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.report import Note, Problem
from catalog.spreadsheets.cells.typed import plain_text, problem, read_text
from catalog.spreadsheets.checking.sets.across import heading_row, sets_across
from catalog.spreadsheets.checking.sets.blocks import blocks_of
from catalog.spreadsheets.checking.sets.heads import Head, labels_above, read_head
from catalog.spreadsheets.checking.sheets import tables_in
from catalog.spreadsheets.checking.tables import ItemRow, Table, find_table, part_of
from catalog.spreadsheets.columns.choices import NOTHING_SAID, Choices, SheetChoice
from catalog.spreadsheets.columns.column import Column, fold_heading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import LIST_COLUMNS, SET_COLUMNS, SET_LABELS
from catalog.spreadsheets.evidence.headings import speaks_of_a_set
from catalog.spreadsheets.workbook.reading import Row, Sheet, Workbook

OF_SETS = {"set_code", "set_name"}
"""Columns that tell the sets of a long list apart; the name where no column has the number."""
_LINES = tuple(replace(each, required=False) for each in SET_COLUMNS)
LEAST_NAMED = 2
"""Sets that are named in their first lines, and lines without a name, that show it as a habit."""
MOST_ROWS_OF_SETS = 5_000
"""A longer sheet is one list: it is not looked through for several sets (our limit)."""


@dataclass(frozen=True, slots=True)
class SetTable:
    """The lines of one set; ``whole`` is the table that they stand in."""

    table: Table
    head: Head
    whole: Table
    across: bool = False
    """Whether its counts stand in a column of a table with the sets across."""

    @property
    def in_a_list(self) -> bool:
        """True when the set's number or name stands in a column."""
        return bool(OF_SETS & set(self.table.mapping))


def looks_like_sets(workbook: Workbook) -> bool:
    """True when a sheet has the lines of a count sheet and says of which set."""
    return any(is_set_sheet(sheet, workbook.file_name) for sheet in workbook.sheets)


def without_sets(workbook: Workbook) -> tuple[Workbook, list[Note]]:
    """The sheets that are no count sheets, with a note on each that was set aside.

    A workbook of nothing but count sheets is left as it is.
    """
    sets = [sheet for sheet in workbook.sheets if is_set_sheet(sheet, workbook.file_name)]
    if not sets or len(sets) == len(workbook.sheets):
        return workbook, []
    notes = [
        Note(sheet.title, sheet.rows[0].number, "", "", "not_read",
             f'The sheet "{sheet.title}" holds count sheets. Read them on their own.')
        for sheet in sets
    ]  # fmt: skip
    left = tuple(sheet for sheet in workbook.sheets if sheet not in sets)
    return replace(workbook, sheets=left), notes


def is_set_sheet(sheet: Sheet, file_name: str) -> bool:
    """True for a count sheet under its heading block, a list with a set column, lines with counts
    but no sizes, and names alone where a title or the file's name speaks of a set: what has no set
    number is refused as a set, not read as instruments."""
    if list_table(sheet) is not None or _across(sheet):
        return True
    table = find_table(sheet, SET_COLUMNS)
    if table is None or not _has_lines(table):
        return table is not None and (_may_have_lines(table) or _are_contents(table, file_name))
    return "set_code" in labels_above(table) or not _has_sizes(sheet)


def _across(sheet: Sheet, said: SheetChoice | None = None) -> list[SetTable]:
    """The sets of a table with the sets across; nothing where a sheet is no such table."""
    counted = find_table(sheet, SET_COLUMNS, said)
    table = counted
    if counted is None or not _has_lines(counted):
        table = find_table(sheet, _LINES, said)
    if table is None and counted is None and (row := heading_row(sheet)) is not None:
        table = find_table(sheet, _LINES, replace(said or NOTHING_SAID, header_row=row))
    if table is None:
        return []
    found = sets_across(table, _has_sizes(sheet))
    return [
        SetTable(part, head, replace(table, mapping=part.mapping), across=True)
        for part, head in found
    ]


def _are_contents(table: Table, file_name: str) -> bool:
    """Whether instruments without sizes stand under the label of a set, or names alone under its
    name."""
    if not {"item_number", "name"} & set(table.mapping) or _has_sizes(table.sheet):
        return False
    if OF_SETS & set(labels_above(table)):
        return True
    if not table.has_names_alone:
        return False
    told = (read_head(table, file_name).values["set_name"], file_name.rsplit(".", 1)[0])
    return any(map(speaks_of_a_set, told))


def _has_sizes(sheet: Sheet) -> bool:
    """True where the instruments of a sheet have sizes: a list of them, counts or not."""
    table = find_table(sheet, INSTRUMENT_COLUMNS)
    return table is not None and any(
        column.unit for column in INSTRUMENT_COLUMNS if column.key in table.mapping
    )


def _has_lines(table: Table) -> bool:
    counted = "quantity" in table.mapping or table.said.quantity
    return bool(counted) and bool({"item_number", "name"} & set(table.mapping))


def _may_have_lines(table: Table) -> bool:
    """Whether there are counts without sizes, and the column of the instruments is to be asked."""
    asked = table.unsure.keys if table.unsure else ()
    counted = "quantity" in table.mapping and bool({"item_number", "name"} & set(asked))
    return counted and not _has_sizes(table.sheet)


def list_table(sheet: Sheet, choice: SheetChoice | None = None) -> Table | None:
    """A long list, in which a column has the set's number, or its name alone."""
    table = find_table(sheet, LIST_COLUMNS, choice)
    if table is None or not _has_lines(table):
        return None
    if "set_code" in table.mapping:
        return table
    named = table.mapping.get("set_name")
    return table if named and speaks_of_a_set(named.heading) else None


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
        said = (choices or {}).get(sheet.title)
        if not sheet.hidden and not (said and said.left_out) and (sets := _across(sheet, said)):
            found += sets
            notes += _not_across(sets)
            continue
        columns: tuple[Column, ...] = LIST_COLUMNS if list_table(sheet, said) else SET_COLUMNS
        tables, told = _tables_of(workbook, sheet, columns, choices)
        notes += told
        for table in tables:
            if not _has_lines(table):
                notes.append(_no_instrument_column(table))
            elif OF_SETS & set(table.mapping):
                found += _sets_in_list(table)
                notes += _filled_down(table)
            else:
                found.append(SetTable(table, read_head(table, workbook.file_name), table))
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


def _not_across(sets: list[SetTable]) -> Iterator[Note]:
    """The columns of a table with the sets across that are not read."""
    whole = sets[0].whole
    read = {mapped.letter for each in sets for mapped in each.table.mapping.values()}
    left = [cell for cell in whole.header.cells if cell.column_letter not in read]
    if left:
        named = ", ".join(f"{cell.column_letter} “{cell.typed.strip()}”" for cell in left)
        yield whole.note("not_read", f"These columns were not read: {named}.")


def _no_instrument_column(table: Table) -> Note:
    message = (
        f'The sheet "{table.sheet.title}" was not read: row {table.header.number} has headings, '
        'but none for the instrument. Name that column "Item number" or "Name".'
    )
    return table.note("missing_column", message)


def _sets_in_list(table: Table) -> Iterator[SetTable]:
    """The lines of a long list, set by set in the order in which they first appear."""
    key = "set_code" if "set_code" in table.mapping else "set_name"

    def of_set(row: Row) -> str:
        return folded_number(plain_text(table.cell(row, key)))

    first_lines, code = _names_first_lines(table, key), ""
    groups: dict[str, list[ItemRow]] = {}
    totals: dict[str, list[Row]] = {}
    for item in table.items:
        own = of_set(item.row)
        code = own or code
        unsaid = bool(code) and not own and not first_lines
        groups.setdefault(code, []).append(replace(item, without_set=unsaid))
    for total in table.totals:
        above = [code for code, items in groups.items() if items[0].row.number < total.number]
        last = [of_set(each.row) for each in table.items if each.row.number < total.number]
        said = next(filter(None, reversed(last)), above[0] if above else "")
        totals.setdefault(said, []).append(total)
    for code, items in groups.items():
        part = part_of(table, items, totals.get(code, ()))
        yield SetTable(part, _head_of_list(part), table)


def _names_first_lines(table: Table, key: str) -> bool:
    """Whether a list names each set in its first line alone: sets are named, and never one in two
    lines on end."""
    said = [folded_number(plain_text(table.cell(item.row, key))) for item in table.items]
    again = any(one and one == other for one, other in pairwise(said))
    named = [one for one in said if one]
    return bool(said and said[0]) and len(named) >= LEAST_NAMED and not again and (
        len(said) - len(named) >= LEAST_NAMED and len(set(named)) == len(named)
    )  # fmt: skip


def _filled_down(table: Table) -> Iterator[Note]:
    key = "set_code" if "set_code" in table.mapping else "set_name"
    if _names_first_lines(table, key):
        at = table.mapping[key]
        message = (
            f"{at.heading} stands in the first line of each set only. The lines below it were "
        )
        message += "read as lines of the same set."
        yield table.note("filled_down", message, at.letter, at.heading)


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
    first = "set_code" if "set_code" in part.mapping else "set_name"
    code_cell = part.cell(part.items[0].row, first)
    values["set_name"] = values["set_name"] or values["set_code"]
    return Head(values, code_cell, tuple(problems))

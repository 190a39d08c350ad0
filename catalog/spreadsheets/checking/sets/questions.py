"""What has to be asked of a workbook of count sheets, and sets with the numbers that were said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from catalog.spreadsheets.cells.numbering import following
from catalog.spreadsheets.cells.report import Note, Question
from catalog.spreadsheets.checking.asking import (
    column_question,
    quantity_question,
    set_number_question,
)
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.sets.tables import SetTable, list_table, set_tables
from catalog.spreadsheets.checking.sheets import tables_asked
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import LIST_COLUMNS, SET_COLUMNS
from catalog.spreadsheets.workbook.reading import Workbook

FIRST_SET = "SET-01"
"""Where the numbers of sets begin in a department that has none yet."""


def sets_in(
    workbook: Workbook, choices: Choices | None, known: Mapping[str, str], numbers: Numbers
) -> tuple[list[SetTable], list[Note], tuple[Question, ...]]:
    """The sets of a workbook with the numbers that were said, notes, and what has to be asked.

    ``known``: the numbers of the department's sets, and their names. ``numbers``: the item
    numbers of its instruments.
    """
    found, notes = set_tables(workbook, choices)
    sets = [_numbered(each, choices) for each in found]
    return sets, notes, tuple(_questions(workbook, choices, sets, known, numbers))


def _questions(
    workbook: Workbook,
    choices: Choices | None,
    found: Sequence[SetTable],
    known: Mapping[str, str],
    numbers: Numbers,
) -> Iterator[Question]:
    """A column first, since its answer may settle the rest; then quantities and numbers of sets,
    and of instruments where a sheet has their names alone."""
    several = len(workbook.sheets) > 1
    across = {each.table.sheet.title for each in found if each.across}
    tables = [
        list_table(table.sheet, table.said) or table
        for table in tables_asked(workbook, SET_COLUMNS, choices)
        if table.sheet.title not in across
    ]
    column = column_question(tables, LIST_COLUMNS, several)
    if column is not None:
        yield column
    elif not found:
        for table in tables:
            named = {"name", "item_number"} & set(table.mapping)
            if named and "quantity" not in table.mapping:
                yield quantity_question(table, several)
    else:
        yield from _numbers(found, known, several)
        names_alone = [each.table for each in found if each.table.has_names_alone]
        asked = [table for table in names_alone if not table.said.numbers_from]
        yield from numbers.questions(asked, several)


def _numbers(
    found: Sequence[SetTable], known: Mapping[str, str], several: bool
) -> Iterator[Question]:
    here = [each.head.values["set_code"] for each in found]
    numbers = following([*known, *filter(None, here)], FIRST_SET)
    for each in found:
        if not each.head.values["set_code"]:
            name = each.head.values["set_name"]
            same = [code for code, had in known.items() if fold_heading(had) == fold_heading(name)]
            offered = [*same, *each.head.may_be, next(numbers)]
            yield set_number_question(each.table, name, offered, several, bool(same))


def _numbered(each: SetTable, choices: Choices | None) -> SetTable:
    """The set, with the number that was said for its name where the file has none."""
    said = (choices or {}).get(each.table.sheet.title)
    values = each.head.values
    number = said.set_numbers.get(values["set_name"]) if said else None
    if not number or values["set_code"]:
        return each
    return replace(each, head=replace(each.head, values={**values, "set_code": number}))

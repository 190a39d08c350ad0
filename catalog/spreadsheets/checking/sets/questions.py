"""What has to be asked of a workbook of count sheets, and sets with the numbers that were said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.numbering import continues, following
from catalog.spreadsheets.cells.report import Note, Question
from catalog.spreadsheets.checking.asking import (
    column_question,
    quantity_question,
    set_number_question,
)
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.sets.tables import SetTable, list_table, set_tables
from catalog.spreadsheets.checking.sheets import tables_asked
from catalog.spreadsheets.columns.choices import NOTHING_SAID, Choices
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import LIST_COLUMNS, SET_COLUMNS
from catalog.spreadsheets.workbook.reading import Workbook

FIRST_SET = "SET-01"
"""Where the numbers of sets begin in a department that has none yet."""


def sets_in(
    workbook: Workbook,
    choices: Choices | None,
    known: Mapping[str, str],
    numbers: Numbers,
    *,
    ask_all: bool = False,
) -> tuple[list[SetTable], list[Note], tuple[Question, ...]]:
    """The sets of a workbook with the numbers that were said, notes, and what has to be asked.

    ``known``: the numbers of the department's sets, and their names. ``numbers``: the item
    numbers of its instruments. ``ask_all``: a number that is proposed is asked for too.
    """
    found, notes = set_tables(workbook, choices)
    sets = [_told_beside(_numbered(each, choices), known) for each in found]
    if not ask_all:
        sets, told = _with_proposals(sets, known, numbers)
        notes = [*notes, *told]
    asked = [*_questions(workbook, choices, sets, known, numbers)]
    if (counted := _counted(asked, choices)) is not None:
        asked += sets_in(workbook, counted, known, numbers, ask_all=ask_all)[2]
    return sets, notes, tuple(asked)


def _counted(asked: Sequence[Question], choices: Choices | None) -> Choices | None:
    """With one piece of each line where that is asked: what is asked beside it does not hang on the
    answer. None where nothing is."""
    sheets = {each.sheet for each in asked if each.option.startswith("--quantity")}
    said = choices or {}
    one = {title: replace(said.get(title, NOTHING_SAID), quantity=1) for title in sheets}
    return {**said, **one} if one else None


def _with_proposals(
    found: Sequence[SetTable], known: Mapping[str, str], numbers: Numbers
) -> tuple[list[SetTable], list[Note]]:
    """A number for each new set of names alone that has none: from which number on its instruments
    are numbered is asked, and with that a person sees what the set gets."""
    free, sets, notes = _free(found, known), list[SetTable](), list[Note]()
    for each in found:
        name = each.head.values["set_name"]
        if not each.head.values["set_code"] and not _may_be(each, known) and (
            each.table.has_names_alone and numbers.are_wanted(each.table)
        ):  # fmt: skip
            code = next(free)
            head = replace(each.head, values={**each.head.values, "set_code": code})
            each = replace(each, head=head)
            words = f"The set “{name}” has no number in the file. {code} is proposed."
            notes.append(each.table.note("how_read", words))
        sets.append(each)
    return sets, notes


def _questions(
    workbook: Workbook,
    choices: Choices | None,
    found: Sequence[SetTable],
    known: Mapping[str, str],
    numbers: Numbers,
) -> Iterator[Question]:
    """A column first, since its answer may settle the rest; then quantities; then numbers of sets,
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
            if named and "quantity" not in table.mapping and not table.said.quantity:
                yield quantity_question(table, several)
    else:
        yield from _numbers(found, known, several)
        names_alone = [each.table for each in found if each.table.has_names_alone]
        asked = [table for table in names_alone if not table.said.numbers_from]
        yield from numbers.questions(asked, several)


def _numbers(
    found: Sequence[SetTable], known: Mapping[str, str], several: bool
) -> Iterator[Question]:
    free = _free(found, known)
    for each in found:
        if not each.head.values["set_code"]:
            name, same = each.head.values["set_name"], _of_this_name(each, known)
            offered = [*same, *each.head.may_be, next(free)]
            yield set_number_question(each.table, name, offered, several, bool(same))


def _free(found: Sequence[SetTable], known: Mapping[str, str]) -> Iterator[str]:
    """The numbers that continue the department's own, and those of the file."""
    here = [each.head.values["set_code"] for each in found]
    return following([*known, *filter(None, here)], FIRST_SET)


def _of_this_name(each: SetTable, known: Mapping[str, str]) -> list[str]:
    name = fold_heading(each.head.values["set_name"])
    return [code for code, had in known.items() if fold_heading(had) == name]


def _told_beside(each: SetTable, known: Mapping[str, str]) -> SetTable:
    """The set with the code that stands beside its name, where that is its number on record, or
    continues the department's own for a set that is new."""
    name, code = each.head.beside
    if not code or each.head.values["set_code"]:
        return each
    on_record = {folded_number(number): number for number in known}.get(folded_number(code))
    same = [number for number, had in known.items() if fold_heading(had) == fold_heading(name)]
    is_sure = same == [on_record] if on_record else not same and continues(code, known)
    if not is_sure:
        return each
    values = {**each.head.values, "set_name": name, "set_code": on_record or code}
    return replace(each, head=replace(each.head, values=values))


def _may_be(each: SetTable, known: Mapping[str, str]) -> bool:
    """Whether the set may be one on record, or the file may say its number."""
    return bool(_of_this_name(each, known) or each.head.may_be)


def _numbered(each: SetTable, choices: Choices | None) -> SetTable:
    """The set, with the number that was said for its name where the file has none."""
    said = (choices or {}).get(each.table.sheet.title)
    values = each.head.values
    number = said.set_numbers.get(values["set_name"]) if said else None
    if not number or values["set_code"]:
        return each
    return replace(each, head=replace(each.head, values={**values, "set_code": number}))

"""A table with the sets across: a line for each instrument, a column of counts for each set."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from catalog.spreadsheets.cells.typed import plain_text
from catalog.spreadsheets.checking.sets.heads import Head, labels_above
from catalog.spreadsheets.checking.tables import ItemRow, Table, part_of, says_total
from catalog.spreadsheets.columns.column import Mapped, unit_in_heading
from catalog.spreadsheets.columns.sets import SET_LABELS
from catalog.spreadsheets.evidence.finding import HEADER_WITHIN
from catalog.spreadsheets.evidence.headings import all_known, heading_score, speaks_of_a_set
from catalog.spreadsheets.evidence.labels import is_code, name_and_number
from catalog.spreadsheets.evidence.values import NEARLY_ALL, Values
from catalog.spreadsheets.evidence.weighing import SAMPLED
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.reading import Sheet
from catalog.units import UNKNOWN_MARKS

_HAS_A_WORD = re.compile(r"[^\W\d_]{3}")
MOST_PIECES = 50
"""A larger number in a column is no count of one instrument in a set (ours)."""
LEAST_SETS = 2
"""One column of counts is the quantity of one set."""
LABEL_AND_VALUE = 2
"""Cells of a row that has the label of one set."""
LEAST_ROWS = 3
"""Rows in which a sum is no chance."""
LEAST_RUNNING = 5
"""Rows from which 1, 2, 3 ... number the lines; fewer may be counts."""
A_HEADING = 0.6
"""A heading fits a column from here."""


def sets_across(table: Table, has_sizes: bool) -> list[tuple[Table, Head]]:
    """The lines of each set of such a table; nothing where it is none.

    ``has_sizes``: the rows have sizes, so that columns of numbers are sets only if their headings
    say so.
    """
    things = [table.mapping[key] for key in ("item_number", "name") if key in table.mapping]
    if not any(mapped.heading for mapped in things) or _is_of_one_set(table):
        return []
    heads = [cell for cell in table.header.cells if _may_be_set(cell, table)]
    told = all(is_code(cell.typed) or speaks_of_a_set(cell.typed) for cell in heads)
    if len(heads) < LEAST_SETS or (has_sizes and not told):
        return []
    first = [each for each in islice(table.walk(), SAMPLED) if each.reason is None]
    heads = [cell for cell in heads if _has_counts(cell, first)]
    if len(heads) < LEAST_SETS or not _are_all_counts(table, heads, first):
        return []
    names = _names_row(table, heads, first)
    items = [each for each in table.walk() if each.reason is None and each.row is not names]
    return [_one_set(table, cell, names, items) for cell in heads]


def _is_of_one_set(table: Table) -> bool:
    """Whether the label of a set's number or name, with its value and no more, stands above."""
    rows = {row.number: row for row in table.sheet.rows if row.number < table.header.number}
    return any(
        label.key in ("set_code", "set_name") and len(rows[label.cell.row].cells) <= LABEL_AND_VALUE
        for label in labels_above(table).values()
    )


def _are_all_counts(table: Table, heads: list[Cell], items: list[ItemRow]) -> bool:
    """Whether no column is the quantity, or it is the sum of all the sets' in every row."""
    quantity = table.mapping.get("quantity")
    if quantity is None:
        return True
    rows = [each.row for each in items if each.row.at(quantity.letter).typed.strip().isdecimal()]
    return len(rows) >= LEAST_ROWS and all(
        int(row.at(quantity.letter).typed)
        == sum(int(text) for head in heads if (text := _digits(row, head)).isdecimal())
        for row in rows
    )


def _digits(row: Row, head: Cell) -> str:
    return row.at(head.column_letter).typed.strip()


def _may_be_set(head: Cell, table: Table) -> bool:
    """Whether a column that is not read has a heading of its own, or one that means a set."""
    taken = {mapped.letter for mapped in table.mapping.values()}
    if head.column_letter in taken or not (is_code(head.typed) or _HAS_A_WORD.search(head.typed)):
        return False
    if unit_in_heading(head.typed)[1] or says_total(head):
        return False
    if is_code(head.typed) or speaks_of_a_set(head.typed):
        return True
    return not all_known(head.typed)


def heading_row(sheet: Sheet) -> int | None:
    """The first row in which a name or an item number stands beside what may be sets; None."""
    for row in islice(sheet.rows, HEADER_WITHIN):
        texts = [cell.typed for cell in row.cells if isinstance(cell.value, str)]
        things = [
            text
            for text in texts
            if max(heading_score(text, key) for key in ("item_number", "name")) >= A_HEADING
        ]
        if things and len(texts) == len(row.cells) >= len(things) + LEAST_SETS:
            return row.number
    return None


def _has_counts(head: Cell, items: list[ItemRow]) -> bool:
    """Whether a column has counts and nothing else; below its heading a text may stand."""
    cells = [each.row.at(head.column_letter) for each in items]
    name = cells[:1] if cells and isinstance(cells[0].value, str) else []
    values = Values.of([cell for cell in cells if _says(cell) and cell not in name])
    running = values.running and values.filled == len(items) >= LEAST_RUNNING
    large = any(int(cell.typed) > MOST_PIECES for cell in cells if cell.typed.strip().isdecimal())
    return values.counts >= NEARLY_ALL and not running and not large


def _says(cell: Cell) -> bool:
    """Whether a cell has pieces of the set: not empty, a dash or a nought."""
    return not cell.is_empty and cell.typed.strip() not in UNKNOWN_MARKS | {"0"}


def _names_row(table: Table, heads: list[Cell], items: list[ItemRow]) -> Row | None:
    """A second row of headings below the first, or above it, with a text over each set."""
    letters = {cell.column_letter for cell in heads}
    above = [row for row in table.sheet.rows if row.number < table.header.number][-1:]
    for row in [*(each.row for each in items[:1]), *above]:
        if {cell.column_letter for cell in row.cells} == letters and all(
            isinstance(cell.value, str) for cell in row.cells
        ):
            return row
    return None


def _one_set(
    table: Table, head: Cell, names: Row | None, items: list[ItemRow]
) -> tuple[Table, Head]:
    letter = head.column_letter
    mapping = {**table.mapping, "quantity": Mapped(letter, head.typed.strip())}
    column = replace(table, mapping=mapping)
    lines = [each for each in items if _says(each.row.at(letter))]
    part = part_of(column, lines, [row for row in table.totals if _says(row.at(letter))])
    values = dict.fromkeys(SET_LABELS, "") | dict(_head_values(head, names))
    return part, Head(values, head)


def _head_values(head: Cell, names: Row | None) -> Iterator[tuple[str, str]]:
    texts = [plain_text(head)]
    if names is not None:
        texts.append(plain_text(names.at(head.column_letter)))
    for text in texts:
        if is_code(text):
            yield "set_code", text
        else:
            name, number = name_and_number(text, labelled=True)
            yield "set_name", name
            if number:
                yield "set_code", number
    if len(texts) == 1 and is_code(texts[0]):
        yield "set_name", texts[0]

"""What heads the lines of a set: labels with values beside or below them, titles, file names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from openpyxl.utils import column_index_from_string, get_column_letter

from catalog.spreadsheets.cells.report import Problem
from catalog.spreadsheets.cells.typed import Place, plain_text, read_text
from catalog.spreadsheets.checking.tables import Table
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import SET_LABELS
from catalog.spreadsheets.evidence.headings import speaks_of_a_set
from catalog.spreadsheets.evidence.labels import (
    is_code,
    label_of,
    name_and_number,
    name_in_file_name,
    only_says_contents,
)
from catalog.spreadsheets.evidence.values import PARAGRAPH
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.reading import Sheet

_GIVEN_BY_THE_PROGRAM = re.compile(
    r"(?:sheet|tabelle|feuil|blad|hoja|foglio|planilha|folha|arkusz|ark|list|table) ?[0-9]*",
    re.IGNORECASE,
)
"""Titles of sheets that nobody chose: a spreadsheet program gives them."""


@dataclass(frozen=True, slots=True)
class Head:
    """What heads the lines of one set, and what is wrong with it."""

    values: dict[str, str]
    code_cell: Cell
    problems: tuple[Problem, ...] = ()
    may_be: tuple[str, ...] = ()
    """What stands above the lines and may be the number, for want of a label that says so."""
    beside: tuple[str, str] = ("", "")
    """The set's name and the one code that stands right beside it, without a label."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label, the cell that it stands in, and the cell of its value; they may be one."""

    key: str
    cell: Cell
    value: Cell


def labels_in(row: Row, below: Row | None = None) -> Iterator[Label]:
    """The labels of a row: "Set: Major" in one cell, or the value to the right, or below it."""
    heads = _all_labels(row)
    for place, cell in enumerate(row.cells):
        if not isinstance(cell.value, str) or cell.formula is not None:
            continue
        text, _, rest = cell.value.partition(":")
        if rest.strip():
            if key := label_of(text, rest):
                yield Label(key, cell._replace(value=text), cell._replace(value=rest.strip()))
            continue
        value = _beside(row, place)
        if heads and below is not None and not below.at(cell.column_letter).is_empty:
            value = below.at(cell.column_letter)
        if key := label_of(text, _words(value) or "?"):
            yield Label(key, cell, value)


def _all_labels(row: Row) -> bool:
    """Whether a row has nothing but labels, so that their values stand below them."""
    keys = [_label(cell) for cell in row.cells]
    return len(keys) > 1 and None not in keys and len(set(keys)) == len(keys)


def _label(cell: Cell) -> str | None:
    return label_of(cell.typed.strip().rstrip(":"), "?")


def _beside(row: Row, place: int) -> Cell:
    """The cell to the right, an empty one where the next that is filled is a label itself."""
    cell, after = row.cells[place], row.cells[place + 1 : place + 3]
    if after and (len(after) == 1 or _label(after[0]) in (None, _label(cell))):
        return after[0]
    return Cell(row.number, get_column_letter(column_index_from_string(cell.column_letter) + 1))


def _words(cell: Cell) -> str:
    return cell.formula or cell.typed.strip()


def labels_above(table: Table) -> dict[str, Label]:
    """Label key to the first such label above the lines."""
    found: dict[str, Label] = {}
    rows = [row for row in table.sheet.rows if row.number < table.header.number]
    for place, row in enumerate(rows):
        below = rows[place + 1] if place + 1 < len(rows) else None
        for label in labels_in(row, below):
            found.setdefault(label.key, label)
    return found


def read_head(table: Table, file_name: str) -> Head:
    """The head of the lines of a sheet: from labels, else a title, else the sheet's or the file's
    name."""
    labels = labels_above(table)
    values = dict.fromkeys(SET_LABELS, "")
    problems: list[Problem] = []
    for key, label in labels.items():
        reading = read_text(label.value, Place(table.sheet.title, label.cell.typed.strip()))
        values[key] = str(reading.value or "")
        problems += reading.problems
    code_cell = Cell(table.header.number, "A")
    if "set_code" in labels:
        code_cell = labels["set_code"].value
    told, number = name_and_number(values["set_name"] or values["set_code"], labelled=True)
    if number and not (values["set_name"] and values["set_code"]):
        code_cell = labels.get("set_code", labels.get("set_name")).value  # type: ignore[union-attr]
        values |= {"set_name": told, "set_code": number}
    if "set_name" not in labels and not values["set_name"]:
        name, number = name_and_number(_title(table, file_name), labelled=False)
        values["set_name"] = name
        if number and "set_code" not in labels:
            values["set_code"] = number
    if values["set_code"]:
        return Head(values, code_cell, tuple(problems))
    may_be = tuple(_codes_above(table, labels))
    beside = _code_beside(table, labels, values["set_name"])
    return Head(values, code_cell, tuple(problems), may_be, beside)


def _codes_above(table: Table, labels: Mapping[str, Label]) -> Iterator[str]:
    """The texts above the lines that look like numbers of things, and are no label's value."""
    said = {label.value.typed for label in labels.values()}
    for row in table.sheet.rows:
        if row.number >= table.header.number:
            return
        for cell in row.cells:
            if _may_be_a_number(cell) and cell.typed.strip() not in said:
                yield cell.typed.strip()


def _may_be_a_number(cell: Cell) -> bool:
    text = cell.typed.strip()
    mixed = any(map(str.isalpha, text)) and any(map(str.isdigit, text))
    return mixed and is_code(text)


def _code_beside(table: Table, labels: Mapping[str, Label], name: str) -> tuple[str, str]:
    """The name of the set and the code in the next cell; two empty texts where there is not just
    one. Without a label the name is a text that speaks of a set, or is its name elsewhere."""
    labelled = labels["set_name"].value if "set_name" in labels else None
    values = [label.value for label in labels.values()]
    found = []
    for row in table.sheet.rows:
        if row.number >= table.header.number:
            break
        for one, other in pairwise(row.cells):
            for named, code in ((one, other), (other, one)):
                if not _may_be_a_number(code) or code in values:
                    continue
                text = plain_text(named)
                if labelled and _place(named) == _place(labelled):
                    found.append((name, code.typed.strip()))
                elif not labelled and len(row.cells) == 2 and (
                    speaks_of_a_set(text) or fold_heading(text) == fold_heading(name)
                ):  # fmt: skip
                    found.append((text, code.typed.strip()))
    return found[0] if len(found) == 1 else ("", "")


def _place(cell: Cell) -> tuple[int, str]:
    return cell.row, cell.column_letter


def _title(table: Table, file_name: str) -> str:
    """The name of a set that no label gives: a lonely text above the lines, one that speaks of a
    set before others; else the title of the sheet, if somebody chose it, or the file's name."""
    lonely = [
        text
        for row in table.sheet.rows
        if row.number < table.header.number and len(row.cells) == 1 and not row.cells[0].formula
        if (text := plain_text(row.cells[0])) and not only_says_contents(text)
        if len(text) <= PARAGRAPH
    ]
    spoken = [text for text in lonely if speaks_of_a_set(text)]
    if lonely:
        return (spoken or lonely)[0]
    return name_of_sheet(table.sheet, file_name)


def name_of_sheet(sheet: Sheet, file_name: str) -> str:
    """What a sheet is called by the person who made it, else by the file's name."""
    stem = file_name.rsplit(".", 1)[0]
    chosen = sheet.title != stem and not _GIVEN_BY_THE_PROGRAM.fullmatch(sheet.title.strip())
    return sheet.title if chosen else name_in_file_name(stem)

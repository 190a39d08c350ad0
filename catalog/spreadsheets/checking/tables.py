"""Where the table is in a sheet, and which rows of it are items.

Lists start with titles, have grey heading rows between the items, repeat their headings
after a page break, and end in a total. None of these is an item, and none is an error. A group
heading holds down to the next one or to a blank row.
"""

from __future__ import annotations

import re
import string
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice

from openpyxl.utils import column_index_from_string

from catalog.spreadsheets.cells.counts import BESIDE_A_TOTAL
from catalog.spreadsheets.cells.report import Note, Problem, SkippedRow
from catalog.spreadsheets.cells.typed import Place, plain_text, problem, read_text
from catalog.spreadsheets.columns.choices import NOTHING_SAID, SheetChoice
from catalog.spreadsheets.columns.column import (
    MAX_HEADING,
    Column,
    Mapped,
    fold_heading,
    unit_in_heading,
)
from catalog.spreadsheets.evidence.assigning import Columns, Unsure
from catalog.spreadsheets.evidence.finding import LEAST_HEADINGS, Found, find_columns
from catalog.spreadsheets.evidence.headings import STEMS, WHOLE_SIZES, heading_score
from catalog.spreadsheets.evidence.known import FOLDS
from catalog.spreadsheets.evidence.two_heads import A_HEADING, two_rows_as_one, units_in
from catalog.spreadsheets.evidence.values import PARAGRAPH
from catalog.spreadsheets.workbook.cell import CSV_FORMAT
from catalog.spreadsheets.workbook.reading import Cell, Row, Sheet

TOTAL_CELLS, SUM_ALONE = 3, 2
"""A row with more filled cells is no total row; with two the sum may stand in any column."""
_DIGIT = re.compile("[0-9]")
_TOTAL = re.compile(
    r"(?:grand|sub|sous|tussen|zwischen)? ?"
    r"(?:tota+l[eit]?s?|totaux|sum(?:me|ma|a)?|somm[ae]|gesamt\w*|insgesamt|ogolem|razem)(?: |$)"
)


@dataclass(frozen=True, slots=True)
class ItemRow:
    """A row of the sheet, with the group heading that stands above it, if any."""

    row: Row
    group: str | None = None
    reason: str | None = None
    """Why it is no item: title, heading, group or total. None for an item."""
    without_set: bool = False
    """Whether it is a line of a list and does not say of which set."""


@dataclass(frozen=True)
class Table:
    """A sheet with its heading row found. Its rows are gone through, never held."""

    sheet: Sheet
    header: Row
    mapping: dict[str, Mapped]
    columns: Sequence[Column] = ()
    """By their headings another table further down is known; none: there is none."""
    first: int = 0
    """The rows above it belong to another table."""
    units_rows: tuple[int, ...] = ()
    """Rows of units below the heading."""
    unsure: Unsure | None = None
    """The column to ask about."""
    said: SheetChoice = NOTHING_SAID
    """What a person said of the sheet."""
    why: Mapping[str, str] = field(default_factory=dict)
    """Column letter to the evidence for what it is, in few words."""

    def walk(self) -> Iterator[ItemRow]:
        """Every filled row, top to bottom; ``reason`` says why one is no item.

        It ends where another table begins, and then that one is :attr:`below`.
        """
        group: str | None = None
        above = items = 0
        for row in self.sheet.rows:
            if row.number < self.first:
                continue
            if row.number > above + 1:
                group = None  # What is added below a blank row belongs to no group we know.
            above = row.number
            reason = _reason_to_skip(row, self)
            if reason is None and self.columns and _is_heading(row, self):
                follows = _table_at(row, self)
                if items or not missing_in(follows, self.columns):
                    vars(self)["below"] = follows
                    return
                reason = "heading"
            items += reason is None
            if reason == "group":
                group = string.capwords(plain_text(row.cells[0]))
            yield ItemRow(row, group if reason is None else None, reason)

    @property
    def below(self) -> Table | None:
        """The table with headings of its own further down, once the rows were walked."""
        found: Table | None = vars(self).get("below")
        return found

    @cached_property
    def items(self) -> tuple[ItemRow, ...]:
        """The rows that are items. For short tables; long ones are walked."""
        return tuple(each for each in self.walk() if each.reason is None)

    @cached_property
    def totals(self) -> tuple[Row, ...]:
        """The rows that say "total"."""
        return tuple(each.row for each in self.walk() if each.reason == "total")

    @cached_property
    def skipped(self) -> tuple[SkippedRow, ...]:
        """The rows that are no items, with what they are."""
        return tuple(self.skipped_row(each) for each in self.walk() if each.reason)

    def skipped_row(self, each: ItemRow) -> SkippedRow:
        """How the report tells of a row that is no item."""
        text = plain_text(each.row.cells[0])
        return SkippedRow(self.sheet.title, each.row.number, each.reason or "", text)

    @property
    def has_names_alone(self) -> bool:
        """Whether a name is all that a row says of an instrument, without number and count."""
        return "name" in self.mapping and not {"item_number", "quantity"} & set(self.mapping)

    @cached_property
    def first_letter(self) -> str:
        """The column of the item number, else of the name; "" where it has neither."""
        keys = (key for key in ("item_number", "name") if key in self.mapping)
        return next((self.mapping[key].letter for key in keys), "")

    @cached_property
    def size_letters(self) -> tuple[str, ...]:
        """The columns of sizes."""
        return tuple(self.mapping[key].letter for key in WHOLE_SIZES if key in self.mapping)

    @cached_property
    def folded_headings(self) -> dict[str, str]:
        """Column letter to the heading above it, without case and spaces around it."""
        return {m.letter: m.heading.strip().casefold() for m in self.mapping.values()}

    def cell(self, row: Row, key: str) -> Cell:
        """The cell of ``row`` in the column ``key``."""
        return self.mapping[key].cell_of(row)

    def unit_said(self, key: str) -> str | None:
        """The unit that a person gave the bare numbers of a column."""
        return self.said.units.get("sizes" if self.mapping[key].part else key)

    def place(self, key: str, unit: str | None = None) -> Place:
        """Where problems of the column ``key`` are."""
        mapped = self.mapping[key]
        return Place(self.sheet.title, mapped.heading, unit or mapped.unit)

    def problem(self, row: Row, key: str, code: str, message: str) -> Problem:
        """A problem at the cell of ``row`` in the column ``key``."""
        return problem(self.cell(row, key), self.place(key), code, message)

    def text(self, row: Row, key: str, problems: list[Problem]) -> str:
        """The text in the column ``key``, "" where there is none; problems are added."""
        reading = read_text(self.cell(row, key), self.place(key))
        problems += reading.problems
        return "" if reading.problems else str(reading.value or "")

    def note(self, code: str, message: str, letter: str = "", heading: str = "") -> Note:
        """A note on the whole table, or on one of its columns."""
        return Note(self.sheet.title, self.header.number, letter, heading, code, message)

    def heading_of(self, column_letter: str) -> str:
        """The heading above that column, as typed."""
        return self.header.at(column_letter).typed.strip()


def divided_by_a_comma(row: Row, table: Table) -> Iterator[Problem]:
    """The problem of a row of a text table that has more cells than there are headings, and looks
    as if a comma in a number or a name had divided it: what follows stands a column too far."""
    if not table.header.cells or row.cells[-1].number_format != CSV_FORMAT:
        return
    last = column_index_from_string(table.header.cells[-1].column_letter)
    if column_index_from_string(row.cells[-1].column_letter) <= last:
        return
    for cell in row.cells:
        text = str(cell.value or "")
        if column_index_from_string(cell.column_letter) > last and (
            text.strip().isdecimal() or text.startswith(" ")
        ):
            message = "The row has more cells than there are headings: a comma in a number or a "
            message += "name may have divided it. Put that cell in quotation marks."
            yield problem(cell, Place(table.sheet.title), "divided_by_comma", message)
            return


def letters_of(tables: Iterable[Table]) -> dict[str, dict[str, str]]:
    """For each sheet, column key to column letter."""
    return {
        table.sheet.title: {key: mapped.letter for key, mapped in table.mapping.items()}
        for table in tables
    }


def reasons_of(tables: Iterable[Table]) -> dict[str, dict[str, str]]:
    """For each sheet, column letter to the evidence for what it is."""
    return {table.sheet.title: dict(table.why) for table in tables}


def part_of(table: Table, items: Sequence[ItemRow], totals: Sequence[Row]) -> Table:
    """Some items and totals of a table, as a table of their own that skips nothing."""
    part = Table(table.sheet, table.header, table.mapping, said=table.said)
    vars(part).update(items=tuple(items), totals=tuple(totals), skipped=())
    return part


def missing_in(table: Table, columns: Sequence[Column]) -> list[Column]:
    """The required columns that a table does not have, and for which nothing was said instead."""
    instead = {"quantity": table.said.quantity, "item_number": table.said.numbers_from}
    return [
        each
        for each in columns
        if each.required and each.key not in table.mapping and not instead.get(each.key)
    ]


def find_table(
    sheet: Sheet, columns: Sequence[Column], choice: SheetChoice | None = None
) -> Table | None:
    """The table of a sheet: what a person said of it, and for the rest what its evidence shows.

    None when nothing looks like a table.
    """
    said = choice or NOTHING_SAID
    found = _columns_of(sheet, columns, said)
    if found is None:
        return None
    solved = found.solved
    return Table(
        sheet,
        found.header,
        {
            key: replace(
                mapped, unit=mapped.unit or said.units.get("sizes" if mapped.part else key)
            )
            for key, mapped in solved.mapping.items()
        },
        units_rows=found.units_rows,
        unsure=solved.unsure,
        said=said,
        why=solved.why,
    )


def _columns_of(sheet: Sheet, columns: Sequence[Column], said: SheetChoice) -> Found | None:
    """Found once for a sheet: what it holds, and how it is read, is asked some ten times over."""
    asked = (columns, sheet.rows, sheet.on_record)
    key = (*map(id, asked), said.header_row, *sorted(said.columns.items()))
    if key not in sheet.found:
        found = find_columns(sheet.rows, columns, said.columns, said.header_row, sheet.on_record)
        sheet.found[key] = (found, asked)  # Held, so that nothing else gets their numbers.
    kept: Found | None = sheet.found[key][0]
    return kept


def _is_heading(row: Row, table: Table) -> bool:
    """Whether a row has headings of a table of its own: two known ones or two of this table's, or
    one where this table has a size."""
    if _heads_a_size(row, table):
        return True
    first = row.at(table.first_letter).value
    if isinstance(first, int | float) or (isinstance(first, str) and _DIGIT.search(first)):
        return False  # An item; asked first because it is cheap.
    if not all(isinstance(cell.value, str) for cell in row.cells):
        return False
    return len(_mapping_at(row, table)) >= LEAST_HEADINGS


def _heads_a_size(row: Row, table: Table) -> bool:
    """Whether words for a size stand where this table has one, and no size of an item."""
    texts: list[str] = []
    for letter in table.size_letters:
        value = row.at(letter).value
        if isinstance(value, str) and not _DIGIT.search(value):
            texts.append(value)
        elif value is not None:
            return False
    if not any(_heads(text, WHOLE_SIZES) for text in texts):
        return False
    return sum(_heads(cell.typed, tuple(STEMS)) for cell in row.cells) >= LEAST_HEADINGS


def _heads(text: str, keys: tuple[str, ...]) -> bool:
    return max(heading_score(text, key) for key in keys) >= A_HEADING


def _table_at(row: Row, table: Table) -> Table:
    """The table below a further heading row, and below a row of units, if there is one."""
    rows = list(islice((each for each in table.sheet.rows if each.number >= row.number), 3))
    first, units = row.number, dict[str, str]()
    if heads := two_rows_as_one(rows, 0):
        row, units = heads
        del rows[0]
    after = rows[1] if len(rows) > 1 else None
    below = units_in(after) if after is not None else {}
    units |= below
    mapping = {
        key: replace(mapped, unit=mapped.unit or units.get(mapped.letter))
        for key, mapped in _mapping_at(row, table).items()
    }
    of_units = (after.number,) if after is not None and below else ()
    return Table(table.sheet, row, mapping, table.columns, first, of_units, said=table.said)


def _mapping_at(row: Row, table: Table) -> dict[str, Mapped]:
    """The columns below a further heading row: as known, and as this table's headings were read."""
    said = {unit_in_heading(mapped.heading)[0]: key for key, mapped in table.mapping.items()}
    mapping: dict[str, Mapped] = {}
    for cell in row.cells:
        bare, unit = unit_in_heading(cell.typed.strip())
        if bare in said and len(cell.typed) <= MAX_HEADING:
            mapping.setdefault(said[bare], Mapped(cell.column_letter, cell.typed.strip(), unit))
    taken = {mapped.letter for mapped in mapping.values()}
    rest = [cell for cell in row.cells if cell.column_letter not in taken]
    known = Columns({cell.column_letter: cell for cell in rest}, (), table.columns)
    return {**known.solve().mapping, **mapping}


def _reason_to_skip(row: Row, table: Table) -> str | None:
    if row.number < table.header.number:
        return "title"
    if row.number in (table.header.number, *table.units_rows) or _repeats_header(row, table):
        return "heading"
    if table.has_names_alone and not _is_a_name(row, table):
        return "text"
    if is_total(row, table):
        return "total"
    return "group" if _is_group(row, table) else None


def _is_a_name(row: Row, table: Table) -> bool:
    """Whether a row of a list of names has one: words, and no paragraph between the names."""
    text = table.cell(row, "name").typed.strip()
    return len(text) <= PARAGRAPH and re.search(r"[^\W\d_]{2}", text) is not None


def _texts(row: Row) -> set[str]:
    return {cell.typed.strip().casefold() for cell in row.cells}


def _repeats_header(row: Row, table: Table) -> bool:
    headings = table.folded_headings
    if (
        not table.columns
        and len(row.cells) == len(table.header.cells)
        and _texts(row) == (_texts(table.header))
    ):
        return bool(headings)  # In another order too: no line of a set.
    for letter, heading in headings.items():
        if row.at(letter).typed.strip().casefold() != heading:
            return False
    return bool(headings)


def is_total(row: Row, table: Table) -> bool:
    """True for a short row that says "total" and has no item number."""
    if len(row.cells) > TOTAL_CELLS:
        return False
    number = table.mapping.get("item_number")
    said = total_cell(row)
    if said is None:
        return False
    in_number = row.at(number.letter) if number else said
    sum_alone = len(row.cells) == SUM_ALONE and in_number.typed.strip().isdecimal()
    return in_number.is_empty or in_number is said or sum_alone


def total_cell(row: Row) -> Cell | None:
    """The cell that says that the row is a total."""
    return next((cell for cell in row.cells if says_total(cell)), None)


def says_total(cell: Cell) -> bool:
    """Whether a text says that it heads a total."""
    if not isinstance(cell.value, str):
        return False
    text = fold_heading(cell.value)
    found = _TOTAL.match(text)
    rest = text[found.end() :].split() if found else []
    return bool(found) and all(word in BESIDE_A_TOTAL or word.isdigit() for word in rest)


def _is_group(row: Row, table: Table) -> bool:
    """One filled cell in the first column or the item number column, and no number in it."""
    if len(row.cells) != 1 or row.cells[0].formula is not None:
        return False
    only = row.cells[0]
    if FOLDS["name"](only.typed) in table.sheet.on_record.get("name", ()):
        return False  # An instrument of which the rest is missing.
    if table.has_names_alone and only.column_letter == table.mapping["name"].letter:
        return only.typed.rstrip().endswith(":")
    letters = {mapped.letter for mapped in table.mapping.values()}
    first = min(letters | {"A"}, key=lambda letter: (len(letter), letter))
    heads = (
        {first, table.mapping["item_number"].letter} if "item_number" in table.mapping else {first}
    )
    text = isinstance(only.value, str) and not re.search("[0-9]", only.value)
    return text and only.column_letter in heads

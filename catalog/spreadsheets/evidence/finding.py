"""Which row of a sheet has the headings: one, one with a row of units below it, or none.

Each row that may be it is tried, and the one whose columns fit best as a whole is taken.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from catalog.spreadsheets.columns.column import MAX_HEADING, Column, Mapped, declared_fit
from catalog.spreadsheets.evidence.assigning import Columns, Solved
from catalog.spreadsheets.evidence.headings import STEMS, heading_score
from catalog.spreadsheets.evidence.known import Told
from catalog.spreadsheets.evidence.two_heads import two_rows_as_one, units_in
from catalog.spreadsheets.evidence.values import MOST, NEARLY_ALL, Values
from catalog.spreadsheets.evidence.weighing import SAMPLED
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.spreadsheets.workbook.reading import OnRecord

HEADER_WITHIN = 30
"""The heading row is looked for in this many rows from the top."""
LEAST_HEADINGS = 2
"""Fewer known headings than this make no heading row."""
A_HEADING = 0.6
"""A heading fits a column from here."""
TRIED = 4
"""Rows that are tried as the heading row, those with most known headings."""
NEARLY = 0.3
"""The share of the best score from which a table further up is taken."""
LEAST_ROWS = 3
"""A list without headings shows by its values what it is from this many rows on."""
LIKE_THE_REST = 0.8
"""The share of the rows below from which a first row that is otherwise is their heading."""
FURTHER_DOWN = 0.01
"""What a row further down is less likely the heading row."""


@dataclass(frozen=True, slots=True)
class Found:
    """The heading row (without cells where there is none), the rows of units below it, and what
    the columns are."""

    header: Row
    units_rows: tuple[int, ...]
    solved: Solved


def find_columns(
    rows: Sequence[Row],
    columns: Sequence[Column],
    fixed: Mapping[str, str] | None = None,
    header_row: int | None = None,
    on_record: OnRecord | None = None,
) -> Found | None:
    """The likeliest heading row and columns; None where nothing looks like a table.

    ``fixed``: column letter to the key that somebody gave it, "" for not read. ``header_row``:
    the row that somebody named, 0 where there are no headings; None when it is to be found.
    ``on_record``: what the catalog has, by column key.
    """
    told = Told(fixed or {}, on_record or {})
    first = list(islice(rows, HEADER_WITHIN + SAMPLED))
    if header_row is not None:
        return _named(first, header_row, columns, told)
    top = first[0].number if first else 0
    within = [row for row in first if row.number < max(top, 1) + HEADER_WITHIN]
    known = {place: _known_headings(row, columns) for place, row in enumerate(within)}
    likely = sorted(
        (place for place, found in known.items() if found >= LEAST_HEADINGS),
        key=lambda place: (-known[place], place),
    )[:TRIED]
    tried = _each_way(first, likely, columns, told)
    with_heading = [each for each in tried if _is_table(each.solved)]
    if with_heading:
        return _where_it_first_stands(_first_of_the_good(with_heading, columns), first)
    return _by_values(first, columns, told) or next(filter(_has_names, tried), None)


def _where_it_first_stands(found: Found, first: Sequence[Row]) -> Found:
    """The same headings further up, if they stand there too: nothing below them is lost."""
    texts = [(cell.column_letter, cell.typed) for cell in found.header.cells]
    for row in first:
        if row.number >= found.header.number:
            break
        if texts and [(cell.column_letter, cell.typed) for cell in row.cells] == texts:
            return replace(found, header=row, units_rows=())
    return found


def _has_names(found: Found) -> bool:
    """Whether a known heading stands above names, though nothing else of the table is read."""
    name = found.solved.mapping.get("name")
    return name is not None and heading_score(name.heading, "name") >= A_HEADING


def _named(
    first: Sequence[Row],
    header_row: int,
    columns: Sequence[Column],
    told: Told,
) -> Found | None:
    """The columns below the row that somebody named, or below it and another as one; an empty row
    has no headings."""
    place = next((place for place, row in enumerate(first) if row.number >= header_row), None)
    if place is None:
        return None
    if first[place].number == header_row:
        unnamed = replace(told, fixed={})
        alone = _below(first, place, columns, unnamed).solved.score
        for upper in (place - 1, place):
            heads = two_rows_as_one(first, upper)
            if heads is None:
                continue
            if _below(first, upper + 1, columns, unnamed, *heads).solved.score > alone:
                return _below(first, upper + 1, columns, told, *heads)
        return _below(first, place, columns, told)
    solved = Columns({}, first[place:], columns, None, told).solve()
    return Found(Row(header_row, ()), (), solved)


def _each_way(
    first: Sequence[Row],
    likely: Sequence[int],
    columns: Sequence[Column],
    told: Told,
) -> list[Found]:
    """Every likely row as the heading row, and as one of two where those fit better together."""
    alone = {place: _below(first, place, columns, told) for place in likely}
    for place in likely:
        for upper in (place - 1, place):
            heads = two_rows_as_one(first, upper)
            if heads is None:
                continue
            both = _below(first, upper + 1, columns, told, *heads)
            rivals = [alone[each] for each in (upper, upper + 1) if each in alone]
            if all(both.solved.score > each.solved.score for each in rivals):
                alone = {each: found for each, found in alone.items() if each != upper}
                alone[upper + 1] = both
    return list(alone.values())


def _is_table(solved: Solved) -> bool:
    return len({each.letter for each in solved.mapping.values()}) + bool(solved.unsure) >= (
        LEAST_HEADINGS
    )


def _first_of_the_good(tried: Sequence[Found], columns: Sequence[Column]) -> Found:
    """The uppermost that has all required columns and is nearly as good as the best: a sheet may
    hold a second table further down. Else the best."""

    def worth(found: Found) -> float:
        return found.solved.score - FURTHER_DOWN * found.header.number

    best = max(tried, key=worth)
    needed = {column.key for column in columns if column.required}
    whole = [
        each
        for each in tried
        if needed <= set(each.solved.mapping) and worth(each) >= NEARLY * worth(best)
    ]
    return min(whole, key=lambda each: each.header.number, default=best)


def _known_headings(row: Row, columns: Sequence[Column]) -> int:
    """How many cells of the row are headings; a row with two numbers of its own has none."""
    texts = [cell.typed for cell in row.cells if _can_head(cell)]
    numbers = sum(bool(_NUMBER.fullmatch(cell.typed.strip())) for cell in row.cells)
    declared = sum(any(declared_fit(text, each) is not None for each in columns) for text in texts)
    if declared >= LEAST_HEADINGS:
        return 2 * declared + len(texts)
    if numbers >= LEAST_HEADINGS:
        return 0
    return sum(max(heading_score(text, key) for key in STEMS) >= A_HEADING for text in texts)


_NUMBER = re.compile(r"[0-9][0-9.,]*")


def _can_head(cell: Cell) -> bool:
    return isinstance(cell.value, str) and cell.formula is None and len(cell.value) <= MAX_HEADING


def _below(
    first: Sequence[Row],
    place: int,
    columns: Sequence[Column],
    told: Told,
    heads: Row | None = None,
    units_above: Mapping[str, str] | None = None,
) -> Found:
    """The columns below a row; ``heads`` are its headings together with those above it."""
    header = heads or first[place]
    below = list(first[place + 1 :])
    units = {**(units_above or {})}
    rows_of_units: tuple[int, ...] = ()
    if below and (found := units_in(below[0])):
        units |= found
        rows_of_units = (below.pop(0).number,)
    headings = {cell.column_letter: cell for cell in header.cells}
    solved = Columns(headings, below, columns, units, told).solve()
    return Found(header, rows_of_units, solved)


def _by_values(first: Sequence[Row], columns: Sequence[Column], told: Told) -> Found | None:
    """A list without known headings: by its values alone, where those are clear.

    Its first row is a heading row of strange words when it is unlike the rows below it; where no
    word of it says anything, the values alone are asked about.
    """
    filled = [place for place, row in enumerate(first) if len(row.cells) >= LEAST_HEADINGS]
    if len(filled) < LEAST_ROWS:
        return _names_alone(first, columns)
    start = filled[0]
    if _unlike(first[start], first[start + 1 :]):
        found = _below(first, start, columns, told)
        if not _known_headings(first[start], columns):
            solved = Columns({}, first[start + 1 :], columns, None, told).solve()
            found = Found(first[start], (), solved)
    else:
        solved = Columns({}, first[start:], columns, None, told).solve()
        found = Found(Row(first[start].number - 1, ()), (), solved)
    keys = {*found.solved.mapping, *((found.solved.unsure.keys) if found.solved.unsure else ())}
    return found if {"item_number", "name"} <= keys else None


def _names_alone(first: Sequence[Row], columns: Sequence[Column]) -> Found | None:
    """A single column of names, with a heading above them or none."""
    letters = {cell.column_letter for row in first for cell in row.cells}
    known = [column for column in columns if column.key == "name"]
    if len(letters) != 1 or not known or len(first) < LEAST_ROWS:
        return None
    (letter,) = letters
    heads = heading_score(first[0].at(letter).typed, "name") >= A_HEADING
    rows = first[1:] if heads else first
    values = Values.of([row.at(letter) for row in rows])
    if values.words < NEARLY_ALL or values.paragraphs > 1 - MOST or values.different < NEARLY_ALL:
        return None
    header = first[0] if heads else Row(first[0].number - 1, ())
    mapping = {"name": Mapped(letter, header.at(letter).typed.strip())}
    return Found(header, (), Solved(mapping, 0.0))


def _unlike(row: Row, below: Sequence[Row]) -> bool:
    """True when a row has words where most of those below it have digits, or letters where they
    are plain numbers, as in "Column3"."""
    for cell in row.cells:
        texts = [
            one.typed.strip() for each in below if not (one := each.at(cell.column_letter)).is_empty
        ]
        digits = [bool(re.search("[0-9]", text)) for text in texts]
        numbers = [bool(_NUMBER.fullmatch(text)) for text in texts]
        if _most(digits) and not re.search("[0-9]", cell.typed):
            return True
        if _most(numbers) and re.match(r"[^\W\d_]", cell.typed.strip()):
            return True
    return False


def _most(found: Sequence[bool]) -> bool:
    return bool(found) and sum(found) / len(found) > LIKE_THE_REST

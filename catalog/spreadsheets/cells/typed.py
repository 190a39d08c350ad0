"""One reader for each kind of cell: it answers with a value, problems, or both.

No reader raises for anything a spreadsheet can hold. Of a formula the last result counts,
and the report says so.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from decimal import Decimal
from functools import wraps

from catalog.spreadsheets.cells.number_formats import (
    says_more_than_is_in_it,
    shown,
    unit_in_format,
)
from catalog.spreadsheets.cells.report import Problem
from catalog.spreadsheets.workbook.cell import CSV_FORMAT, Cell
from catalog.units import (
    FRACTION_PARTS,
    LENGTH_UNITS,
    UNKNOWN_MARKS,
    WEIGHT_UNITS,
    UnitError,
    read_length,
    read_weight,
    tidy,
)

MAX_TEXT = 200
"""Characters in one text cell (our limit: the name column of a label)."""
MAX_TYPED = 1000
"""Characters in any cell that is read; a longer one is a note (our limit)."""
MAX_REVISION = 20
"""Characters in a revision (our limit)."""
MAX_NOTES = 4000
"""Characters in a cell of notes (our limit)."""
WHOLE_DIGITS = 15
"""A spreadsheet keeps 15 digits of a number; the rest are lost (IEEE 754 double)."""
ERROR_VALUES = frozenset(
    {"#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!"}
)


@dataclass(frozen=True, slots=True)
class Place:
    """What a reader knows of its column: sheet, heading as typed, unit and marks of numbers."""

    sheet: str
    heading: str = ""
    unit: str | None = None
    mark: str | None = None
    """Before decimals: "." or ",", None when the column does not show it."""
    most: Decimal | None = None
    """The largest size of one instrument, in mm or g."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read. ``value`` is None, "" or () where nothing is known."""

    value: object = None
    problems: tuple[Problem, ...] = ()


Reader = Callable[[Cell, Place], Reading]


def problem(cell: Cell, place: Place, code: str, message: str) -> Problem:
    """A problem at ``cell``, with the value as it was typed."""
    at = (place.sheet, cell.row, cell.column_letter, place.heading)
    return Problem(*at, cell.typed, code, message)


def refused(cell: Cell, place: Place, code: str, message: str) -> Reading:
    """No value, and the problem at ``cell`` that says why."""
    return Reading(None, (problem(cell, place, code, message),))


GOES_IN = " The row goes in without it."


def unknown(cell: Cell, place: Place, what: str, done: str = "") -> Reading:
    """No value, because the cell itself says that ``what`` is not known."""
    message = f'"{cell.typed}" says that {what} is not known.{done}'
    return refused(cell, place, "unknown_value", message)


def typed_cells_only(empty: object, most: int = MAX_TYPED) -> Callable[[Reader], Reader]:
    """The reader gets values of up to ``most`` characters; an empty cell gives ``empty``.

    A formula counts with its last result and a note that says so. One that was never
    calculated is refused: what it would give is not in the file.
    """

    def guard(reader: Reader) -> Reader:
        @wraps(reader)
        def guarded(cell: Cell, place: Place) -> Reading:
            if cell.formula is not None or cell.merged:
                return _at_second_hand(cell, place, guarded)
            if cell.is_empty:
                return Reading(empty)
            return _refusal(cell, place, most) or reader(cell, place)

        return guarded

    return guard


def _at_second_hand(cell: Cell, place: Place, reader: Reader) -> Reading:
    """A value that was not typed into its cell, with the note that says so."""
    if cell.formula is not None and cell.value is None:
        return refused(cell, place, "formula", NEVER_CALCULATED)
    reading = reader(cell._replace(formula=None, merged=""), place)
    found = tuple(replace(each, value=cell.typed) for each in reading.problems)
    return Reading(reading.value, (_taken_from(cell, place), *found))


NEVER_CALCULATED = (
    "This is a formula without a result. Open the file in your spreadsheet program and save it, "
    "or type the value itself."
)


def _taken_from(cell: Cell, place: Place) -> Problem:
    """The note on a value that was not typed into its cell."""
    if cell.formula is not None:
        shown = cell._replace(formula=None).typed
        message = f"This is a formula. Its last result was used: {shown[:MAX_TEXT]}."
        return problem(cell, place, "formula_value", message)
    message = f"This cell is merged with {cell.merged}. The value there was used."
    return problem(cell, place, "merged_value", message)


def _refusal(cell: Cell, place: Place, most: int) -> Reading | None:
    """What no reader can use: an error of the spreadsheet, or far too long a text."""
    if not isinstance(cell.value, str):
        return None
    if len(cell.value) > most:
        message = f"This has {len(cell.value)} characters, far too many. Shorten it."
        return refused(cell, place, "too_long", message)
    if "#" in cell.value and cell.value.strip().upper() in ERROR_VALUES:
        message = f"The spreadsheet shows an error here ({cell.typed}). Type the value."
        return refused(cell, place, "error_value", message)
    return None


def plain_text(cell: Cell) -> str:
    """The text of a cell with single spaces and no control characters; '' when empty.

    Cut at :data:`MAX_TYPED` characters.
    """
    return _one_line((shown(cell) or cell.typed)[:MAX_TYPED])


_PRINTED = {"Cc": " ", "Cs": " ", "Cf": ""}
"""What is left of marks that nobody sees, by their category (Unicode standard, chapter 4)."""


def _one_line(text: str) -> str:
    if not text.isprintable():
        text = "".join(_PRINTED.get(unicodedata.category(mark), mark) for mark in text)
    return " ".join(text.split())


def text_reader(most: int) -> Reader:
    """The reader of texts of up to ``most`` characters."""

    @typed_cells_only("")
    def reader(cell: Cell, place: Place) -> Reading:
        return _text(cell, place, most)

    return reader


def _text(cell: Cell, place: Place, most: int) -> Reading:
    value = cell.value
    if isinstance(value, date | time | timedelta):
        message = f"The spreadsheet made a date of this ({cell.typed}). Format it as text, retype."
        return refused(cell, place, "looks_like_date", message)
    if isinstance(value, bool):
        return refused(cell, place, "not_text", "This is a yes or no. Type a text.")
    if isinstance(value, int | float | Decimal) and not abs(value) < 10**WHOLE_DIGITS:
        message = "The spreadsheet lost the last digits of this number. Retype it as text."
        return refused(cell, place, "damaged_number", message)
    if says_more_than_is_in_it(cell):
        message = (
            f"The spreadsheet shows more than the cell holds ({cell.typed}). Retype it as text."
        )
        return refused(cell, place, "damaged_number", message)
    text = plain_text(cell)
    if len(text) > most:
        message = f"This has {len(text)} characters; the limit is {most}. Shorten it."
        return refused(cell, place, "too_long", message)
    return Reading("" if text.casefold() in UNKNOWN_MARKS else text)


read_text: Reader = text_reader(MAX_TEXT)
"""A text; "" for a mark that says it is not known. Dates are refused: a catalog number like 3-4
turns into one when typed."""


@typed_cells_only("", MAX_NOTES)
def read_notes(cell: Cell, place: Place) -> Reading:
    """A longer text with its lines; whatever else is in the cell is taken as it is shown."""
    if isinstance(cell.value, bool):
        return Reading("yes" if cell.value else "no")
    lines = (_one_line(line) for line in re.split("\r\n|\r|\n", cell.typed))
    text = "\n".join(lines).strip()
    return Reading("" if text.casefold() in UNKNOWN_MARKS else text)


@typed_cells_only(())
def read_names(cell: Cell, place: Place) -> Reading:
    """Several names with a semicolon between them, as a tuple; repeats once."""
    reading = read_text(cell, place)
    if reading.problems:
        return reading
    names = (name.strip() for name in str(reading.value).split(";"))
    return Reading(tuple(dict.fromkeys(name for name in names if name)))


@typed_cells_only("")
def read_revision(cell: Cell, place: Place) -> Reading:
    """A revision such as 2020-01. A date the spreadsheet made of it is turned back."""
    if isinstance(cell.value, date):
        has_day = "d" in cell.number_format.lower()
        return Reading(f"{cell.value:%Y-%m-%d}" if has_day else f"{cell.value:%Y-%m}")
    return _text(cell, place, MAX_REVISION)


def number_as_text(cell: Cell, place: Place) -> tuple[Problem, ...]:
    """The note on a number that a workbook holds as text; nothing for any other cell."""
    if not isinstance(cell.value, str) or cell.number_format == CSV_FORMAT:
        return ()
    if not re.fullmatch(r"\s*[0-9]+(?:[.,][0-9]+)?\s*", cell.value):
        return ()
    message = f"The number {cell.value.strip()} is stored as text. It was read as a number."
    return (problem(cell, place, "number_as_text", message),)


def _maybe_fraction(value: object) -> str:
    """Which fractions a date may have been before the spreadsheet took it for one."""
    fractions = fractions_of(value) if isinstance(value, date) else []
    return f"It may have been {' or '.join(fractions)}. " if fractions else ""


def fractions_of(day: date) -> list[str]:
    """The fractions that turn into this date when typed, day or month first.

    >>> fractions_of(date(2002, 5, 1)), fractions_of(date(2026, 1, 2))
    (['5 1/2'], ['1/2'])
    """
    year = day.year % 100
    orders = ((day.month, day.day), (day.day, day.month))
    mixed = [f"{a} {b}/{year}" for a, b in orders if year in FRACTION_PARTS and b < year]
    plain = [f"{a}/{b}" for a, b in orders if b in FRACTION_PARTS and a < b]
    return list(dict.fromkeys(mixed + plain))


def size_reader(what: str) -> Reader:
    """The reader of a length as mm, or of a weight as g; sentences call it ``what``.

    An explicit "?" gives None and a question.
    """

    @typed_cells_only(None)
    def reader(cell: Cell, place: Place) -> Reading:
        if isinstance(cell.value, date | time | timedelta):
            message = (
                f"The spreadsheet made a date of this ({cell.typed}). {_maybe_fraction(cell.value)}"
                f"Format the cell as text and retype the {what}."
            )
            return refused(cell, place, "looks_like_date", message)
        shown = unit_in_format(cell.number_format)
        if shown is None and _is_bare_fraction(cell) and place.unit in METRIC:
            message = (
                f'"{cell.typed}" is a fraction in a column of {place.unit}. Is it in inches? Write '
                f"the unit beside it, or the {what} as a decimal number."
            )
            return refused(cell, place, "ambiguous", message)
        try:
            size = _size(cell.value, shown or place.unit, what, place.mark)
            alone = isinstance(cell.value, str) and not place.mark
            if place.most and alone and size * 1000 <= place.most:
                _refuse_point_before_three(cell.typed)
            return Reading(size, number_as_text(cell, place))
        except UnitError as error:
            code = {"unknown_mark": "unknown_value", "empty": "missing_value"}.get(
                error.code, error.code
            )
            done = GOES_IN if code == "unknown_value" else ""
            return refused(cell, place, code, error.message + done)

    return reader


_POINT_BEFORE_THREE = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2})\.([0-9]{3})(?![0-9.,/])")


def _refuse_point_before_three(typed: str) -> None:
    """The point may divide thousands: nothing in the list tells, and both could be."""
    found = _POINT_BEFORE_THREE.search(tidy(typed))
    if found:
        short = f"{found[1]}.{found[2]}".rstrip("0").rstrip(".")
        message = f"“{typed}” may be {found[1]}{found[2]} or {short}. Write it as one of them."
        raise UnitError("ambiguous", message)


METRIC = ("mm", "cm", "m", "g", "kg")


def _is_bare_fraction(cell: Cell) -> bool:
    """Whether the cell shows a fraction without a unit: typed so, or by its number format."""
    if isinstance(cell.value, str):
        return re.fullmatch("(?:[0-9]+[ -]+)?[0-9]+ ?/ ?[0-9]+", tidy(cell.value)) is not None
    return "?/" in cell.number_format and cell.value != cell.value // 1  # type: ignore[operator]


def _size(value: object, unit: str | None, what: str, mark: str | None) -> Decimal:
    if what == "weight":
        return read_weight(value, unit if unit in WEIGHT_UNITS else None, mark=mark)
    return read_length(value, unit if unit in LENGTH_UNITS else None, what=what, mark=mark)

"""The reader of cells that hold a day. One whose order must be guessed is a problem."""

from __future__ import annotations

import re
from datetime import date, datetime

from catalog.spreadsheets.cells.typed import (
    Place,
    Reading,
    plain_text,
    problem,
    refused,
    typed_cells_only,
    unknown,
)
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import UNKNOWN_MARKS, tidy

FIRST_YEAR, LAST_YEAR = 2000, 2099
"""Years of a day on record; another is a slip of the finger (our limit)."""


@typed_cells_only(None)
def read_day(cell: Cell, place: Place) -> Reading:
    """A day, from a cell that is a date or a text like 2026-04-30; None when not known.

    A text in another order is never read: 03/04/2026 is one day here and another there.
    """
    if isinstance(cell.value, date):
        if not _shows_day(cell.number_format):
            message = "The cell shows no day of the month. Write year, month and day: 2026-04-30."
            return refused(cell, place, "not_a_date", message)
        day = cell.value.date() if isinstance(cell.value, datetime) else cell.value
    else:
        text = tidy(plain_text(cell))
        if text.casefold() in UNKNOWN_MARKS:
            return unknown(cell, place, "the day")
        days = days_meant(text)
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) or not days:
            return _no_day(cell, place, days)
        day = days[0]
    if FIRST_YEAR <= day.year <= LAST_YEAR:
        return Reading(day)
    message = f"This was read as {day}. A day lies between {FIRST_YEAR} and {LAST_YEAR}. Is it?"
    return Reading(day, (problem(cell, place, "implausible", message),))


def _shows_day(number_format: str) -> bool:
    """Whether the day was typed, and not added by the spreadsheet program to a month."""
    bare = re.sub(r'\[[^\]]*\]|"[^"]*"|\\.', "", number_format).lower()
    return "d" in bare or not bare


def _no_day(cell: Cell, place: Place, days: list[date]) -> Reading:
    """Why a text is no day, and how to write the one or the several that it may be."""
    meant = " or ".join(day.isoformat() for day in days)
    if len(days) > 1:
        message = f'"{cell.typed}" may be {meant}. Write year, month and day.'
        return refused(cell, place, "ambiguous", message)
    message = f'"{cell.typed}" is not read as a day. Write year, month and day: '
    return refused(cell, place, "not_a_date", message + (meant or "2026-04-30") + ".")


def days_meant(text: str) -> list[date]:
    """Every day that three numbers may mean, the earliest first; a year of two digits is 20..

    >>> [str(day) for day in days_meant("03/04/2026")], days_meant("25.12.2026")
    (['2026-03-04', '2026-04-03'], [datetime.date(2026, 12, 25)])
    """
    found = re.fullmatch(r"([0-9]{1,4}) ?[./-] ?([0-9]{1,2}) ?[./-] ?([0-9]{1,4})", text)
    if found is None:
        return []
    first, second, third = found.groups()
    orders = ((third, second, first), (third, first, second), (first, second, third))
    days = (_day(*order) for order in orders)
    return sorted({day for day in days if day is not None})


def _day(year: str, month: str, day: str) -> date | None:
    if len(year) not in (2, 4) or max(len(month), len(day)) > 2:
        return None
    try:
        return date(int(year) + (2000 if len(year) == 2 else 0), int(month), int(day))
    except ValueError:
        return None

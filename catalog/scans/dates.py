"""Dates as codes write them: two figures for the year, sometimes no day."""

from __future__ import annotations

import calendar
from datetime import date

WINDOW_YEARS = 50


def full_year(two_figures: int, today: date) -> int:
    """The year within about 50 years of today that ends in these two figures.

    Source: GS1 General Specifications 7.12, from memory: 51 to 99 years ahead means the
    century before, 50 to 99 years back the century after.

    >>> full_year(17, date(2026, 1, 1)), full_year(80, date(2026, 1, 1))
    (2017, 1980)
    """
    year = today.year - today.year % 100 + two_figures
    if year - today.year > WINDOW_YEARS:
        return year - 100
    if today.year - year >= WINDOW_YEARS:
        return year + 100
    return year


def month_end(year: int, month: int) -> date:
    """The last day of a month.

    >>> month_end(2024, 2)
    datetime.date(2024, 2, 29)
    """
    return date(year, month, calendar.monthrange(year, month)[1])


def is_digits(text: str) -> bool:
    """Whether ``text`` is plain figures 0 to 9 only: no other script's figures, not empty."""
    return text.isascii() and text.isdigit()

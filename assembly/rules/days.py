"""Days and times on paper, in one form."""

from __future__ import annotations

from datetime import date, datetime

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_words(day: date) -> str:
    """A date that nobody reads as another one, whatever the country.

    >>> day_words(date(2026, 3, 6))
    '6 Mar 2026'
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def time_words(moment: datetime) -> str:
    """A date with the time of day, 24 hours, in the time zone it was given in.

    >>> time_words(datetime(2026, 3, 6, 14, 5))
    '6 Mar 2026, 14:05'
    """
    return f"{day_words(moment)}, {moment:%H:%M}"

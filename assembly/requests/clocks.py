"""Times and lengths of time as people say them."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils import timezone

WEEK_DAYS = 7


def span(length: timedelta) -> str:
    """A length of time as people say it, in whole minutes; never below nothing.

    >>> span(timedelta(minutes=12, seconds=40)), span(timedelta(hours=3, minutes=5))
    ('12 min', '3 h 5 min')
    >>> span(timedelta(days=2, hours=1)), span(timedelta(seconds=20))
    ('2 days', 'less than a minute')
    """
    minutes = int(length.total_seconds() // 60)
    if minutes < 1:
        return "less than a minute"
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        hours, rest = divmod(minutes, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days = minutes // (24 * 60)
    return f"{days} day{'' if days == 1 else 's'}"


def clock(moment: datetime, now: datetime) -> str:
    """A time of day; with its weekday in the week to come, else with its date."""
    local = timezone.localtime(moment)
    ahead = (local.date() - timezone.localtime(now).date()).days
    return f"{local:%a %H:%M}" if 0 < ahead < WEEK_DAYS else dated(moment, now)


def dated(moment: datetime, now: datetime) -> str:
    """A time of day, for what is kept and read later; with the date where it is not today."""
    local = timezone.localtime(moment)
    today = timezone.localtime(now).date()
    if local.date() == today:
        return f"{local:%H:%M}"
    year = "" if local.year == today.year else f" {local.year}"
    return f"{local:%a %d %b}{year}, {local:%H:%M}"

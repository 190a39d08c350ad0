"""Why things go missing: what waits to be replenished, and what went short again and again.

Only reads; :mod:`assembly.shortfalls.replenishing` puts pieces back.

A set packed short does not count once its package was made void: the set was opened again and
counted anew. What was missed in the OR does not count once the request was withdrawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from assembly.models import RequestState, Shortfall
from catalog.models import Instrument, InstrumentSet

PACKED_SHORT, MISSED = Shortfall.Kind.PACKED_SHORT, Shortfall.Kind.MISSED
WEEKS = 26
OFTEN = 2
"""From so many times on it is a repeated shortage."""


def shortfalls() -> QuerySet[Shortfall]:
    """Every shortfall that counts, oldest first."""
    return (
        Shortfall.objects.exclude(kind=PACKED_SHORT, package__void_at__isnull=False)
        .exclude(request__state=RequestState.WITHDRAWN)
        .select_related("instrument_set", "package", "request")
    )


def of_instrument(instrument: Instrument) -> QuerySet[Shortfall]:
    """Every time a set went without this instrument, oldest first."""
    return shortfalls().filter(instrument=instrument)


def waiting_for(instrument: Instrument) -> QuerySet[Shortfall]:
    """Every set that waits for this instrument, the one that waits longest first."""
    return of_instrument(instrument).filter(closed_at=None)


def open_on(instrument_set: InstrumentSet) -> QuerySet[Shortfall]:
    """What a set went without and has not got back, oldest first."""
    return shortfalls().filter(instrument_set=instrument_set, closed_at=None)


# --- again and again ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Repeated:
    """How often one instrument, set or department went short."""

    label: str
    times: int
    pieces: int
    open: int
    last: datetime

    @property
    def often(self) -> bool:
        return self.times >= OFTEN


def repeated(found: Iterable[Shortfall], by: Callable[[Shortfall], str]) -> list[Repeated]:
    """Shortfalls gathered under a label, the most frequent first."""
    groups: dict[str, list[Shortfall]] = {}
    for one in found:
        groups.setdefault(by(one) or "not on record", []).append(one)
    rows = [
        Repeated(label, len(ones), sum(one.quantity for one in ones),
                 sum(one.closed_at is None for one in ones), max(one.opened_at for one in ones))
        for label, ones in groups.items()
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (-row.times, -row.last.timestamp(), row.label))


def by_instrument(one: Shortfall) -> str:
    return f"{one.item_number} {one.name}"


def by_set(one: Shortfall) -> str:
    return str(one.instrument_set)


def by_department(one: Shortfall) -> str:
    return one.department


@dataclass(frozen=True, slots=True)
class Week:
    """The shortfalls of one week, by the Monday it begins with."""

    monday: date
    packed_short: int
    missed: int


def weekly(found: Iterable[Shortfall], until: date, weeks: int = WEEKS) -> list[Week]:
    """One row for each of the last weeks, empty ones too; the last holds ``until``."""
    last = until - timedelta(days=until.weekday())
    counts: dict[tuple[date, str], int] = {}
    for one in found:
        day = timezone.localtime(one.opened_at).date()
        key = (day - timedelta(days=day.weekday()), one.kind)
        counts[key] = counts.get(key, 0) + 1
    mondays = [last - timedelta(weeks=back) for back in reversed(range(weeks))]
    return [
        Week(day, counts.get((day, PACKED_SHORT), 0), counts.get((day, MISSED), 0))
        for day in mondays
    ]

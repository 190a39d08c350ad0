"""Why things go missing: what waits to be replenished, and what went short again and again.

Only reads; :mod:`assembly.shortfalls.replenishing` puts pieces back.

Two kinds count: a set that was packed short (the Bench's shortage), and a set that came up
short in theatre (a request that names the set it was missing from). A shortage of a package
that was made void is not counted: the set was opened again and counted anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from assembly.models import Request, RequestState, Shortage
from catalog.models import Instrument, InstrumentSet

PACKED_SHORT, MISSED = "packed short", "missed in theatre"
WEEKS = 26
OFTEN = 2
"""From so many times on it is a repeated shortage."""


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One time that a set went without an instrument.

    ``key`` names it on pages, ``pk`` is that of its shortage or request, by ``kind``.
    """

    kind: str
    key: str
    pk: int
    at: datetime
    item_number: str
    name: str
    pieces: int
    set_code: str
    set_name: str
    department: str
    by: str
    package: str = ""
    returned: int = 0
    closed_at: datetime | None = None
    closed_by: str = ""
    closed_because: str = ""

    @property
    def set_words(self) -> str:
        return f"{self.set_code} {self.set_name}"

    @property
    def waits_for(self) -> int:
        """Pieces that are not back yet; 0 once it is closed."""
        return 0 if self.closed_at else self.pieces - self.returned

    @property
    def waiting(self) -> str:
        """How an open shortfall stands, in words: ``waits for 1 of 3``."""
        return f"waits for {self.waits_for} of {self.pieces}"


def shortfalls() -> list[Shortfall]:
    """Every shortfall, oldest first: two queries."""
    return _oldest_first(_packed(), _missing())


def _packed(**which: Any) -> QuerySet[Shortage]:
    return Shortage.objects.filter(package__void_at=None, **which).select_related(
        "package__build__instrument_set"
    )


def _missing(**which: Any) -> QuerySet[Request]:
    """What theatre missed; not what its package was known to go without: that waits already."""
    known = Shortage.objects.filter(
        package=OuterRef("missing_in_package"), instrument=OuterRef("instrument")
    )
    return (
        Request.objects.filter(missing_from__isnull=False, instrument__isnull=False, **which)
        .exclude(Exists(known))
        .exclude(state=RequestState.WITHDRAWN)
        .select_related("missing_from", "missing_in_package")
    )


def _oldest_first(packed: Iterable[Shortage], missed: Iterable[Request]) -> list[Shortfall]:
    found = [_packed_short(one) for one in packed] + [_missed(one) for one in missed]
    return sorted(found, key=lambda one: (one.at, one.key))


def _packed_short(one: Shortage) -> Shortfall:
    build = one.package.build
    return Shortfall(
        kind=PACKED_SHORT, key=f"shortage:{one.pk}", pk=one.pk, at=one.opened_at,
        item_number=one.item_number, name=one.name, pieces=one.quantity,
        set_code=one.package.number, set_name=one.package.what,
        department=build.instrument_set.service if build else "", by=one.opened_by,
        package=one.package.code, returned=one.returned, closed_at=one.closed_at,
        closed_by=one.closed_by, closed_because=one.closed_because,
    )  # fmt: skip


def _missed(one: Request) -> Shortfall:
    whose = one.missing_from
    return Shortfall(
        kind=MISSED, key=f"request:{one.pk}", pk=one.pk, at=one.asked_at,
        item_number=one.number, name=one.what, pieces=one.quantity,
        set_code=whose.code if whose else "", set_name=whose.name if whose else "",
        department=one.department, by=one.asked_by,
        package=one.missing_in_package.code if one.missing_in_package else "",
        returned=one.returned, closed_at=one.replenished_at, closed_by=one.replenished_by,
        closed_because=one.replenished_because,
    )  # fmt: skip


def of_instrument(instrument: Instrument) -> list[Shortfall]:
    """Every time a set went without this instrument, oldest first."""
    number = instrument.item_number
    return _oldest_first(_packed(item_number=number), _missing(number=number))


def waiting_for(instrument: Instrument) -> list[Shortfall]:
    """Every set that waits for this instrument, the one that waits longest first."""
    return [one for one in of_instrument(instrument) if one.closed_at is None]


def open_on(instrument_set: InstrumentSet) -> list[Shortfall]:
    """What a set went without and has not got back, oldest first."""
    code = instrument_set.code
    return _oldest_first(
        _packed(package__number=code, closed_at=None),
        _missing(missing_from__code=code, replenished_at=None),
    )


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
        Repeated(label, len(ones), sum(one.pieces for one in ones),
                 sum(one.closed_at is None for one in ones), max(one.at for one in ones))
        for label, ones in groups.items()
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (-row.times, -row.last.timestamp(), row.label))


def by_instrument(one: Shortfall) -> str:
    return f"{one.item_number} {one.name}"


def by_set(one: Shortfall) -> str:
    return one.set_words


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
        day = timezone.localtime(one.at).date()
        key = (day - timedelta(days=day.weekday()), one.kind)
        counts[key] = counts.get(key, 0) + 1
    mondays = [last - timedelta(weeks=back) for back in reversed(range(weeks))]
    return [
        Week(day, counts.get((day, PACKED_SHORT), 0), counts.get((day, MISSED), 0))
        for day in mondays
    ]

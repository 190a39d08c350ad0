"""Why things go missing: what waits to be replenished, and what went short again and again.

Two kinds count: a set that was packed short (the Bench's shortage), and a set that came up
short in theatre (a request that names the set it was missing from). A shortage of a package
that was made void is not counted: the set was opened again and counted anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from assembly.builds import Refused
from assembly.models import Request, RequestState, Shortage
from assembly.packages import close_request
from assembly.persons import Person
from catalog.actions import record
from catalog.models import Change, Instrument, InstrumentSet

PACKED_SHORT, MISSED = "packed short", "missed in theatre"
WEEKS = 26
OFTEN = 2
"""From so many times on it is a repeated shortage."""


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One time that a set went without an instrument."""

    kind: str
    key: str
    at: datetime
    item_number: str
    name: str
    pieces: int
    set_code: str
    set_name: str
    department: str
    by: str
    package: str = ""
    closed_at: datetime | None = None
    closed_by: str = ""
    closed_because: str = ""


def shortfalls() -> list[Shortfall]:
    """Every shortfall, oldest first: two queries."""
    return _oldest_first(_packed(), _missing())


def _packed(**which: Any) -> QuerySet[Shortage]:
    return Shortage.objects.filter(package__void_at=None, **which).select_related(
        "package__build__instrument_set"
    )


def _missing(**which: Any) -> QuerySet[Request]:
    return (
        Request.objects.filter(missing_from__isnull=False, instrument__isnull=False, **which)
        .exclude(state=RequestState.WITHDRAWN)
        .select_related("missing_from", "missing_in_package")
    )


def _oldest_first(packed: Iterable[Shortage], missed: Iterable[Request]) -> list[Shortfall]:
    found = [_packed_short(one) for one in packed] + [_missed(one) for one in missed]
    return sorted(found, key=lambda one: (one.at, one.key))


def _packed_short(one: Shortage) -> Shortfall:
    build = one.package.build
    return Shortfall(
        kind=PACKED_SHORT, key=f"shortage:{one.pk}", at=one.opened_at,
        item_number=one.item_number, name=one.name, pieces=one.quantity,
        set_code=one.package.number, set_name=one.package.what,
        department=build.instrument_set.service if build else "", by=one.opened_by,
        package=one.package.code, closed_at=one.closed_at, closed_by=one.closed_by,
        closed_because=one.closed_because,
    )  # fmt: skip


def _missed(one: Request) -> Shortfall:
    whose = one.missing_from
    return Shortfall(
        kind=MISSED, key=f"request:{one.pk}", at=one.asked_at,
        item_number=one.number, name=one.what, pieces=one.quantity,
        set_code=whose.code if whose else "", set_name=whose.name if whose else "",
        department=one.department, by=one.asked_by,
        package=one.missing_in_package.code if one.missing_in_package else "",
        closed_at=one.replenished_at, closed_by=one.replenished_by,
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


@transaction.atomic
def replenish(
    person: Person, instrument: Instrument, ticked: Iterable[str], because: str = ""
) -> list[Shortfall]:
    """The instrument is back in the sets that were ticked; they wait no longer.

    Refused when nothing is ticked, or something that does not wait for this instrument.
    What another person closed meanwhile changes nothing.
    """
    Instrument.objects.select_for_update().get(pk=instrument.pk)
    keys = set(ticked)
    if not keys:
        raise Refused("Tick the sets that have it back.")
    every = {one.key: one for one in of_instrument(instrument)}
    if strange := keys - set(every):
        raise Refused(f"{', '.join(sorted(strange))} does not wait for {instrument}. "
                      "Load the page again.")  # fmt: skip
    closed = [one for one in every.values() if one.key in keys and one.closed_at is None]
    for one in closed:
        _close(person, one, because.strip()[:300] or "replenished")
    return closed


def _close(person: Person, one: Shortfall, because: str) -> None:
    pk = int(one.key.partition(":")[2])
    if one.kind == PACKED_SHORT:
        close_request(person, Shortage, pk, because)
        return
    request = Request.objects.select_for_update().get(pk=pk)
    request.replenished_at, request.replenished_by = timezone.now(), person.name
    request.replenished_because = because
    request.save(update_fields=["replenished_at", "replenished_by", "replenished_because"])
    record(person.actor(because), Change.Verb.CHANGED, request, f"request {pk}",
           {"set": "without it"}, {"set": "has it back"})  # fmt: skip


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
    return f"{one.set_code} {one.set_name}"


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

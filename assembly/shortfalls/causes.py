"""Why things go missing: what waits to be replenished, and what went short again and again.

Only reads; :mod:`assembly.shortfalls.replenishing` puts pieces back.

A set packed short does not count once its package was made void: the set was opened again and
counted anew. What was missed in the OR does not count once the request was withdrawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import CharField, Count, Max, Q, QuerySet, Sum, Value
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce, Concat, NullIf, TruncWeek
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


def repeated(found: QuerySet[Shortfall], by: Combinable, most: int) -> list[Repeated]:
    """The ``most`` frequent labels with their shortfalls, the most frequent first: one query."""
    rows = found.order_by().values(label=Coalesce(NullIf(by, Value("")), Value("not on record")))
    rows = rows.annotate(
        times=Count("pk"), pieces=Sum("quantity"), open=Count("pk", filter=Q(closed_at=None)),
        last=Max("opened_at"),
    )  # fmt: skip
    return [Repeated(**row) for row in rows.order_by("-times", "-last", "label")[:most]]


BY_INSTRUMENT = Concat("item_number", Value(" "), "name", output_field=CharField())
BY_SET = Concat("instrument_set__code", Value(" "), "instrument_set__name")
BY_DEPARTMENT = Coalesce("request__department", "instrument_set__service")


@dataclass(frozen=True, slots=True)
class Week:
    """The shortfalls of one week, by the Monday it begins with."""

    monday: date
    packed_short: int
    missed: int


def recent(until: date) -> QuerySet[Shortfall]:
    """The shortfalls of the last weeks, of which the last holds ``until``."""
    return shortfalls().filter(opened_at__gte=timezone.make_aware(
        datetime.combine(_monday(until) - timedelta(weeks=WEEKS - 1), time.min)))  # fmt: skip


def weekly(until: date) -> list[Week]:
    """One row for each of the last weeks, empty ones too; the last holds ``until``: one query."""
    last, counts = _monday(until), dict[tuple[date, str], int]()
    rows = recent(until).order_by().values("kind", week=TruncWeek("opened_at"))
    for row in rows.annotate(times=Count("pk")):
        counts[timezone.localdate(row["week"]), row["kind"]] = row["times"]
    mondays = [last - timedelta(weeks=back) for back in reversed(range(WEEKS))]
    return [
        Week(day, counts.get((day, PACKED_SHORT), 0), counts.get((day, MISSED), 0))
        for day in mondays
    ]


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())

"""What was wrong, by month: how often, of how many packages. Only reads; four queries.

What was said counts in the month in which it was said, of the packages packed in that month;
what was wet at the sterilizer in the month of its load, of the packages run in that month. What
was said by mistake does not count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.db.models import Count, QuerySet
from django.db.models.functions import TruncMonth
from django.utils import timezone

from assembly.models import Complaint, LoadedPackage, Package, Wrong

MONTHS = 12
PER = 1000
Counts = Mapping[date, int]
WET_AT_THE_STERILIZER = "Wet at the sterilizer"


@dataclass(frozen=True, slots=True)
class Figure:
    """How often something was wrong in one month, of so many packages."""

    month: date
    count: int
    of: int

    @property
    def rate(self) -> float | None:
        """How many that is of each 1,000; None where there was no package.

        >>> Figure(date(2026, 11, 1), 3, 1500).rate
        2.0
        """
        return PER * self.count / self.of if self.of else None

    @property
    def words(self) -> str:
        """As it stands on a plot and in the table.

        >>> Figure(date(2026, 11, 1), 3, 1500).words, Figure(date(2026, 11, 1), 0, 0).words
        ('3 of 1,500 · 2.0', '0 of 0')
        """
        rate = "" if self.rate is None else f" · {self.rate:.1f}"
        return f"{self.count:,} of {self.of:,}{rate}"


@dataclass(frozen=True, slots=True)
class Series:
    """One thing that can be wrong, month by month, the oldest first."""

    title: str
    figures: tuple[Figure, ...]

    @property
    def total(self) -> int:
        return sum(one.count for one in self.figures)


def series(until: date, months: int = MONTHS) -> list[Series]:
    """Every kind over the last months, the month of ``until`` last; wet at the sterilizer
    first."""
    firsts, since = _firsts(until, months), first_moment(until, months)
    packed = _by_month(Package.objects.filter(packed_at__gte=since), "packed_at")
    ran = LoadedPackage.objects.filter(load__started_at__isnull=False, taken_out_at=None,
                                       load__day__gte=firsts[0])  # fmt: skip
    run, wet = _by_month(ran, "load__day"), _by_month(ran.exclude(wet_because=""), "load__day")
    said = Complaint.objects.filter(at__gte=since).exclude(state=Complaint.State.MISTAKE)
    counts = _by_month(said, "at", "kind")
    found = [_series(WET_AT_THE_STERILIZER, firsts, wet, run)]
    for kind in Wrong:
        of_kind = {month: count for (month, one), count in counts.items() if one == kind}
        found.append(_series(kind.label, firsts, of_kind, packed))
    return found


def _series(title: str, firsts: list[date], counts: Counts, of: Counts) -> Series:
    return Series(title, tuple(Figure(one, counts.get(one, 0), of.get(one, 0)) for one in firsts))


def _by_month(rows: QuerySet[Any], field: str, *also: str) -> dict[Any, int]:
    """How many rows there are in each month of ``field``, by the month's first day."""
    found = rows.order_by().annotate(month=TruncMonth(field)).values_list("month", *also)
    counted: dict[Any, int] = {}
    for month, *rest, count in found.annotate(count=Count("pk")):
        first = month.date() if isinstance(month, datetime) else month
        counted[(first, *rest) if rest else first] = count
    return counted


def first_moment(until: date, months: int = MONTHS) -> datetime:
    """When the first of the last months began."""
    return timezone.make_aware(datetime.combine(_firsts(until, months)[0], time()))


def _firsts(until: date, months: int) -> list[date]:
    """The first day of each month, the oldest first.

    >>> _firsts(date(2026, 2, 17), 3)
    [datetime.date(2025, 12, 1), datetime.date(2026, 1, 1), datetime.date(2026, 2, 1)]
    """
    whole = until.year * 12 + until.month - 1
    return [date(n // 12, n % 12 + 1, 1) for n in range(whole - months + 1, whole + 1)]

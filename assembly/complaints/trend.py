"""What was wrong, by month: how often, of how many packages. Only reads.

What was said counts in the month in which it was said, of the packages packed in that month;
what was wet at the sterilizer in the month of its load, of the packages run in that month. What
was said by mistake does not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import pairwise
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from assembly.models import Complaint, LoadedPackage, Package, Wrong

MONTHS = 12
PER = 1000
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
    edges = _edges(until, months)
    packed = _counted(Package.objects.all(), "packed_at", edges)
    ran = LoadedPackage.objects.filter(load__started_at__isnull=False, taken_out_at=None)
    found = [_series(WET_AT_THE_STERILIZER, edges,
                     _counted(ran.exclude(wet_because=""), "load__day", edges),
                     _counted(ran, "load__day", edges))]  # fmt: skip
    said = Complaint.objects.exclude(state=Complaint.State.MISTAKE)
    for kind in Wrong:
        counts = _counted(said.filter(kind=kind), "at", edges)
        found.append(_series(kind.label, edges, counts, packed))
    return found


def _counted(rows: QuerySet[Any], field: str, edges: Sequence[date]) -> list[int]:
    """How many rows there are in each month of ``field``, a day or a moment: one query, which
    the database answers from its index."""
    ends = edges if field.endswith("day") else [_midnight(one) for one in edges]
    inside = rows.order_by().filter(**{f"{field}__gte": ends[0], f"{field}__lt": ends[-1]})
    each = {
        f"month_{place}": Count("pk", filter=Q(**{f"{field}__gte": begins, f"{field}__lt": over}))
        for place, (begins, over) in enumerate(pairwise(ends))
    }
    return list(inside.aggregate(**each).values())


def _series(title: str, edges: list[date], counts: list[int], of: list[int]) -> Series:
    return Series(title, tuple(map(Figure, edges, counts, of)))


def first_moment(until: date, months: int = MONTHS) -> datetime:
    """When the first of the last months began."""
    return _midnight(_edges(until, months)[0])


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))


def _edges(until: date, months: int) -> list[date]:
    """The first day of each month, the oldest first, and of the month after them.

    >>> [str(one) for one in _edges(date(2026, 2, 17), 3)]
    ['2025-12-01', '2026-01-01', '2026-02-01', '2026-03-01']
    """
    whole = until.year * 12 + until.month - 1
    return [date(n // 12, n % 12 + 1, 1) for n in range(whole - months + 1, whole + 2)]

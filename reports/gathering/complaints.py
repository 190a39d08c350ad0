"""What was wrong with packages: by month with its plots, and by who packed them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from django.db.models import Count
from django.utils import timezone

from assembly.complaints.plot import plots
from assembly.complaints.trend import MONTHS, PER, Figure, first_moment, series
from assembly.models import Complaint, Package, Wrong
from assembly.rules.drawing.shapes import Scene
from reports.documents.lists import ListColumn, ListKind, Row


def _by_month() -> Iterator[Row]:
    """A row for each month, the last first."""
    here, *kinds = series(timezone.localdate())
    for figures in reversed(list(zip(here.figures, *(one.figures for one in kinds), strict=True))):
        wet, *said = figures
        yield (f"{wet.month:%Y-%m}", f"{said[0].of:,}", f"{wet.of:,}", *map(_cell, figures))


def _cell(one: Figure) -> str:
    return f"{one.count} ({one.rate:.1f})" if one.count and one.rate is not None else str(one.count)


def _plots() -> tuple[Scene, ...]:
    return plots(series(timezone.localdate()))


def _by_packer() -> Iterator[Row]:
    """A row for each person who packed in these months, by name."""
    since = first_moment(timezone.localdate())
    packed = Package.objects.filter(packed_at__gte=since).order_by()
    many = dict(packed.values_list("packed_by").annotate(Count("pk")))
    said: dict[str, Counter[str]] = {}
    found = Complaint.objects.filter(package__packed_at__gte=since)
    for name, kind in (
        found.exclude(state=Complaint.State.MISTAKE)
        .order_by()
        .values_list("package__packed_by", "kind")
    ):
        said.setdefault(name, Counter())[kind] += 1
    for name in sorted(many, key=str.casefold):
        kinds = said.get(name, Counter())
        what = "; ".join(f"{Wrong(kind).label.lower()} {count}" for kind, count
                         in kinds.most_common())  # fmt: skip
        total = kinds.total()
        yield name, f"{many[name]:,}", str(total), f"{PER * total / many[name]:.1f}", what


LISTS: list[ListKind] = []
LISTS.append(ListKind(
    "wrong-by-month", "What was wrong, by month",
    (ListColumn("Month", 0.9), ListColumn("Packed", 0.8, "right"), ListColumn("Run", 0.8, "right"),
     ListColumn("Wet at the sterilizer", 1.1, "right"),
     *(ListColumn(one.label, 1.1, "right") for one in Wrong)),
    _by_month, f"How many packages, and how many that is of each {PER:,} packed in that month (wet "
    f"at the sterilizer: of each {PER:,} run). Every bar has the same scale. The last {MONTHS} "
    "months; what was said by mistake is left out.",
    None, "assembly.view_package", plots=_plots,
))  # fmt: skip
LISTS.append(ListKind(
    "wrong-by-packer", "What was wrong, by who packed it",
    (ListColumn("Packed by", 1.2), ListColumn("Packages", 0.6, "right"),
     ListColumn("Wrong", 0.5, "right"), ListColumn(f"Of each {PER:,}", 0.7, "right"),
     ListColumn("What", 2.4)),
    _by_packer, f"Packages of the last {MONTHS} months. What is wrong may come from the load, the "
    "sterilizer or the way as well: look at the package first.",
    None, "reports.view_skillscheck", "Nothing was packed yet.",
))  # fmt: skip

"""A month of one sterilizer or sealer on one paper: a row for each day, what was run or closed
on it beside what was tested."""

from __future__ import annotations

from calendar import monthrange
from collections import Counter
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from assembly.equipment.months import tests_of
from assembly.equipment.standing import Thing, kinds_of
from assembly.models import EquipmentTest, Load, Package
from catalog.models import Sealer
from reports.documents.lists import ListColumn, ListDocument, ListKind, Row

NOT_ON_RECORD = "none on record"
"""Said of a test on a day on which the thing was used without it, where it is one for each day."""
DAILY = (EquipmentTest.Kind.AIR_REMOVAL, EquipmentTest.Kind.SEAL)


def month_document(thing: Thing, month: date, made_by: str) -> ListDocument:
    """Every day of the month. Tests that were taken back are left out: the page has them."""
    kinds, used = kinds_of(thing), _used(thing, month)
    days: dict[tuple[int, str], list[EquipmentTest]] = {}
    for test in tests_of(thing, month).exclude(state=EquipmentTest.State.TAKEN_BACK):
        days.setdefault((test.day.day, test.kind), []).append(test)
    what = "Packages sealed" if isinstance(thing, Sealer) else "Cycles"
    columns = (ListColumn("Day", 0.55), ListColumn(what, 0.6, "right"),
               *(ListColumn(EquipmentTest.Kind(kind).label, 2.0) for kind in kinds))  # fmt: skip
    rows = tuple(
        _row(date(month.year, month.month, day), used[day], kinds, days)
        for day in range(1, monthrange(month.year, month.month)[1] + 1)
    )
    named = f"{thing.code} {thing.name}".strip()
    kind = ListKind(
        f"{thing.code}-{month:%Y-%m}", f"{named}, {month:%B %Y}", columns, list,
        "Each test with its result, what was read, its lot, and who did, read or signed it.",
    )  # fmt: skip
    return ListDocument(kind, rows, timezone.localtime(), made_by)


def _used(thing: Thing, month: date) -> Counter[int]:
    """How many cycles were started, or packages sealed, on each day of the month."""
    if not isinstance(thing, Sealer):
        run = Load.objects.filter(sterilizer=thing, started_at__isnull=False)
        of_month = run.filter(day__year=month.year, day__month=month.month)
        return Counter(day.day for day in of_month.order_by().values_list("day", flat=True))
    first = timezone.make_aware(datetime.combine(month, time()))
    sealed = Package.objects.filter(sealer=thing, sealed_at__gte=first,
                                    sealed_at__lt=first + timedelta(days=32))  # fmt: skip
    whens = map(timezone.localtime, sealed.order_by().values_list("sealed_at", flat=True))
    return Counter(when.day for when in whens if when.month == month.month)


def _row(
    day: date, used: int, kinds: tuple[str, ...], days: dict[tuple[int, str], list[EquipmentTest]]
) -> Row:
    cells = []
    for kind in kinds:
        said = "; ".join(map(_said, days.get((day.day, kind), [])))
        cells.append(said or (NOT_ON_RECORD if used and kind in DAILY else ""))
    return (f"{day:%a} {day.day}", str(used or ""), *cells)


def _said(test: EquipmentTest) -> str:
    reasons = [step.reason for step in test.steps.all() if step.reason]
    parts = [test.get_state_display(), test.detail, test.people, *reasons]
    return ", ".join(part for part in parts if part)

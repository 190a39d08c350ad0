"""Where an instrument is used, and what is missing of the instruments in use."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet
from django.utils.formats import date_format

from catalog.models import CountSheet, CycleOption, Instrument, Line


@dataclass(frozen=True, slots=True)
class Use:
    """One count sheet on which an instrument stands."""

    sheet: CountSheet
    quantity: int
    as_substitute_for: str = ""

    @property
    def words(self) -> str:
        """How it is used there."""
        if self.as_substitute_for:
            return f"may stand in for {self.as_substitute_for}"
        return f"{self.quantity} on it"


def where_used(instrument: Instrument) -> list[Use]:
    """Every current and draft count sheet with the instrument, current ones first; a constant
    number of queries."""
    alive = Q(
        count_sheet__state__in=[CountSheet.State.CURRENT, CountSheet.State.DRAFT],
        count_sheet__instrument_set__retired=False,
    )
    order = ("count_sheet__state", "count_sheet__instrument_set__code", "order")
    related = ("count_sheet__instrument_set", "instrument")
    own = Line.objects.filter(alive, instrument=instrument)
    standing_in = Line.objects.filter(alive, substitutes=instrument)
    return [
        *(Use(line.count_sheet, line.quantity)
          for line in own.select_related(*related).order_by(*order)),
        *(Use(line.count_sheet, line.quantity, line.instrument.name)
          for line in standing_in.select_related(*related).order_by(*order)),
    ]  # fmt: skip


NO_SIZE = Q(length_mm=None) | Q(width_mm=None) | Q(height_mm=None)
NO_WEIGHT = Q(weight_g=None)


def missing_something(today: date) -> QuerySet[Instrument]:
    """The instruments in use of which a fact is missing, those that block most sets first:
    ``sets_blocked``, the sets in use whose count sheet has it; with ``has_cycle``."""
    in_force = Q(
        lines__count_sheet__state=CountSheet.State.CURRENT,
        lines__count_sheet__instrument_set__retired=False,
    )
    rows = Instrument.objects.filter(retired=False).annotate(
        sets_blocked=Count("lines__count_sheet__instrument_set", filter=in_force, distinct=True),
        has_cycle=Exists(CycleOption.objects.filter(instrument=OuterRef("pk"))),
    )
    overdue = Q(ifu_review_on__lte=today)
    lacking = rows.filter(NO_SIZE | NO_WEIGHT | overdue | Q(has_cycle=False))
    return lacking.order_by(F("sets_blocked").desc(), "item_number")


def missing_words(instrument: Instrument, today: date) -> list[str]:
    """What is missing of a row of :func:`missing_something`."""
    sizes = {"length": instrument.length_mm, "width": instrument.width_mm,
             "height": instrument.height_mm}  # fmt: skip
    found = [name for name, size in sizes.items() if size is None]
    if instrument.weight_g is None:
        found.append("weight")
    if not getattr(instrument, "has_cycle", True):
        found.append("cycle")
    if instrument.ifu_review_on is not None and instrument.ifu_review_on <= today:
        found.append(f"IFU review, due {date_format(instrument.ifu_review_on)}")
    return found

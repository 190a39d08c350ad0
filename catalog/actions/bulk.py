"""The verbs of catalog.actions for many instruments at once: the same changes, the same
records, far fewer statements. Each is one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction

from catalog.actions import Actor, change_record
from catalog.models import Change, CountSheet, CycleOption, Instrument, InstrumentSet

ROWS_AT_A_TIME = 500
"""Rows of one INSERT: keeps memory flat; the database backend may split it further."""

Values = Mapping[str, Any]
Cycles = Sequence[Mapping[str, Any]]
Tick = Callable[[int], None]
"""Told how many are done so far."""


def no_tick(_done: int) -> None:
    """For those who do not watch."""


@transaction.atomic
def add_instruments(actor: Actor, rows: Sequence[tuple[Values, Cycles]]) -> list[Instrument]:
    """New instruments with their cycles. IntegrityError when an item number is taken."""
    made = [Instrument(**values) for values, _ in rows]
    Instrument.objects.bulk_create(made, batch_size=ROWS_AT_A_TIME)
    options = [_options(instrument, cycles) for instrument, (_, cycles) in _pairs(made, rows)]
    flat = [option for each in options for option in each]
    CycleOption.objects.bulk_create(flat, batch_size=ROWS_AT_A_TIME)
    Change.objects.bulk_create(
        [
            change_record(
                actor, Change.Verb.ADDED, instrument, instrument.item_number, None,
                {**values, "cycles": [_words(option) for option in cycles]},
            )
            for (instrument, (values, _)), cycles in zip(_pairs(made, rows), options, strict=True)
        ],
        batch_size=ROWS_AT_A_TIME,
    )  # fmt: skip
    return made


@transaction.atomic
def change_instruments(
    actor: Actor, rows: Sequence[tuple[Instrument, Values, Cycles | None]]
) -> None:
    """New values for some fields of each; cycles None leaves the cycles alone.

    Each instrument comes with its cycles prefetched.
    """
    records = []
    for instrument, values, cycles in rows:
        before = {name: getattr(instrument, name) for name in values}
        after = dict(values)
        for name, value in values.items():
            setattr(instrument, name, value)
        if values:
            instrument.save(update_fields=list(values))
        if cycles is not None:
            before["cycles"] = [_words(option) for option in instrument.cycles.all()]
            instrument.cycles.all().delete()
            options = CycleOption.objects.bulk_create(_options(instrument, cycles))
            after["cycles"] = [_words(option) for option in options]
        records.append(
            change_record(
                actor, Change.Verb.CHANGED, instrument, instrument.item_number, before, after
            )
        )
    Change.objects.bulk_create(records, batch_size=ROWS_AT_A_TIME)


@transaction.atomic
def remove_instruments(actor: Actor, instruments: Sequence[Instrument]) -> None:
    """Take instruments out that a batch had added; ProtectedError when a set counts one."""
    records = []
    for instrument in instruments:
        before = {
            field.name: getattr(instrument, field.name)
            for field in Instrument._meta.concrete_fields
            if field.name != "id"
        }
        before["cycles"] = [_words(option) for option in instrument.cycles.all()]
        records.append(
            change_record(
                actor, Change.Verb.REMOVED, instrument, instrument.item_number, before, None
            )
        )
    Instrument.objects.filter(pk__in=[each.pk for each in instruments]).delete()
    Change.objects.bulk_create(records, batch_size=ROWS_AT_A_TIME)


def _pairs(
    made: Sequence[Instrument], rows: Sequence[tuple[Values, Cycles]]
) -> list[tuple[Instrument, tuple[Values, Cycles]]]:
    return list(zip(made, rows, strict=True))


def _options(instrument: Instrument, cycles: Cycles) -> list[CycleOption]:
    return [
        CycleOption(instrument=instrument, order=order, **cycle)
        for order, cycle in enumerate(cycles)
    ]


_NUMBERS = ("temperature_c", "exposure_min", "exposure_max", "drying_min")


def _words(option: CycleOption) -> str:
    """The cycle as people read it; its numbers may still be the spreadsheet's."""
    for name in _NUMBERS:
        value = getattr(option, name)
        if value is not None:
            setattr(option, name, Decimal(value))
    return str(option)


@transaction.atomic
def take_back_sets(actor: Actor) -> None:
    """Remove the sets and the draft count sheets that the actor's batch had added."""
    mine = Change.objects.filter(batch=actor.batch, verb=Change.Verb.ADDED)
    sheet_keys = set(mine.filter(kind="count sheet").values_list("object_key", flat=True))
    codes = set(mine.filter(kind="set").values_list("object_key", flat=True))
    for instrument_set in InstrumentSet.objects.filter(code__in=codes):
        before = {"name": instrument_set.name, "service": instrument_set.service}
        change_record(
            actor, Change.Verb.REMOVED, instrument_set, instrument_set.code, before, None
        ).save()
        instrument_set.delete()
    drafts = CountSheet.objects.filter(state=CountSheet.State.DRAFT).select_related(
        "instrument_set"
    )
    for sheet in drafts:
        key = f"{sheet.instrument_set.code} r{sheet.revision}"
        if key in sheet_keys:
            lines = {"lines": [str(line) for line in sheet.lines.all()]}
            change_record(actor, Change.Verb.REMOVED, sheet, key, lines, None).save()
            sheet.delete()

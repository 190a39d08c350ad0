"""The verbs of catalog.actions for many instruments at once: the same changes, the same
records, far fewer statements. Each is one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import Any

from django.db import transaction

from catalog.actions import Actor, record
from catalog.models import Change, CountSheet, CycleOption, Instrument, InstrumentSet

ROWS_AT_A_TIME = 500
"""Rows of one INSERT: keeps memory flat; the database backend may split it further."""

Values = Mapping[str, Any]
Cycles = Sequence[Mapping[str, Any]]


@transaction.atomic
def add_instruments(actor: Actor, rows: Sequence[tuple[Values, Cycles]]) -> list[Instrument]:
    """New instruments with their cycles. IntegrityError when an item number is taken."""
    made = [Instrument(**values) for values, _ in rows]
    Instrument.objects.bulk_create(made, batch_size=ROWS_AT_A_TIME)
    options = [_options(one, cycles) for one, (_, cycles) in zip(made, rows, strict=True)]
    CycleOption.objects.bulk_create(chain.from_iterable(options), batch_size=ROWS_AT_A_TIME)
    _write(
        _record(actor, Change.Verb.ADDED, one, None, {**values, "cycles": _words(cycles)})
        for one, (values, _), cycles in zip(made, rows, options, strict=True)
    )
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
            before["cycles"] = _words(instrument.cycles.all())
            instrument.cycles.all().delete()
            options = CycleOption.objects.bulk_create(_options(instrument, cycles))
            after["cycles"] = _words(options)
        records.append(_record(actor, Change.Verb.CHANGED, instrument, before, after))
    _write(records)


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
        before["cycles"] = _words(instrument.cycles.all())
        records.append(_record(actor, Change.Verb.REMOVED, instrument, before, None))
    Instrument.objects.filter(pk__in=[each.pk for each in instruments]).delete()
    _write(records)


def _record(
    actor: Actor, verb: Change.Verb, one: Instrument, before: Values | None, after: Values | None
) -> Change:
    return record(actor, verb, one, one.item_number, before, after, write=False)


def _write(records: Iterable[Change]) -> None:
    Change.objects.bulk_create(records, batch_size=ROWS_AT_A_TIME)


def _options(instrument: Instrument, cycles: Cycles) -> list[CycleOption]:
    return [
        CycleOption(instrument=instrument, order=order, **cycle)
        for order, cycle in enumerate(cycles)
    ]


def _words(options: Iterable[CycleOption]) -> list[str]:
    """The cycles as people read them."""
    return [str(option) for option in options]


@transaction.atomic
def take_back_sets(actor: Actor) -> None:
    """Remove the sets and the draft count sheets that the actor's batch had added."""
    mine = Change.objects.filter(batch=actor.batch, verb=Change.Verb.ADDED)
    sheet_keys = set(mine.filter(kind="count sheet").values_list("object_key", flat=True))
    codes = set(mine.filter(kind="set").values_list("object_key", flat=True))
    for instrument_set in InstrumentSet.objects.filter(code__in=codes):
        before = {"name": instrument_set.name, "service": instrument_set.service}
        record(actor, Change.Verb.REMOVED, instrument_set, instrument_set.code, before, None)
        instrument_set.delete()
    drafts = CountSheet.objects.filter(state=CountSheet.State.DRAFT).select_related(
        "instrument_set"
    )
    for sheet in drafts:
        key = f"{sheet.instrument_set.code} r{sheet.revision}"
        if key in sheet_keys:
            lines = {"lines": [str(line) for line in sheet.lines.all()]}
            record(actor, Change.Verb.REMOVED, sheet, key, lines, None)
            sheet.delete()

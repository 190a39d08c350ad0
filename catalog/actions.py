"""One verb, one function: the change and its record in the same transaction.

Every function takes the actor's name and writes a :class:`~catalog.models.Change`; nothing
else in the program alters the catalog. Names are copied into the record as text, so that
it stays readable when a person or an instrument is gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import models, transaction
from django.utils import timezone

from catalog.models import Change, CountSheet, CycleOption, Instrument, InstrumentSet, Line
from catalog.models.supplies import Supply


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does it, for which batch, and why."""

    name: str
    batch: str = ""
    reason: str = ""


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, models.Model):
        return str(value)
    return value


def change_record(
    actor: Actor,
    verb: Change.Verb,
    thing: models.Model,
    key: str,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> Change:
    """The record of one change, not yet saved."""
    return Change(
        at=timezone.now(),
        actor=actor.name,
        verb=verb,
        kind=str(thing._meta.verbose_name),
        object_key=key,
        object_name=str(thing),
        before=before and {name: _plain(value) for name, value in before.items()},
        after=after and {name: _plain(value) for name, value in after.items()},
        batch=actor.batch,
        reason=actor.reason,
    )


def _record(
    actor: Actor,
    verb: Change.Verb,
    thing: models.Model,
    key: str,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> None:
    change_record(actor, verb, thing, key, before, after).save()


@transaction.atomic
def add_instrument(
    actor: Actor, values: Mapping[str, Any], cycles: Iterable[Mapping[str, Any]] = ()
) -> Instrument:
    """A new instrument with its cycles. IntegrityError when its item number is taken."""
    instrument = Instrument(**values)
    instrument.save(force_insert=True)
    cycles = list(cycles)
    _set_cycles(instrument, cycles)
    _record(actor, Change.Verb.ADDED, instrument, instrument.item_number, None,
            {**values, "cycles": cycle_words(instrument)})  # fmt: skip
    return instrument


@transaction.atomic
def change_instrument(
    actor: Actor,
    instrument: Instrument,
    values: Mapping[str, Any],
    cycles: Iterable[Mapping[str, Any]] | None = None,
) -> Instrument:
    """New values for some fields; ``cycles`` None leaves the cycles alone."""
    before: dict[str, Any] = {name: getattr(instrument, name) for name in values}
    for name, value in values.items():
        setattr(instrument, name, value)
    instrument.save(update_fields=list(values)) if values else None
    after: dict[str, Any] = dict(values)
    if cycles is not None:
        before["cycles"] = cycle_words(instrument)
        instrument.cycles.all().delete()
        _set_cycles(instrument, cycles)
        after["cycles"] = cycle_words(instrument)
    _record(actor, Change.Verb.CHANGED, instrument, instrument.item_number, before, after)
    return instrument


def _set_cycles(instrument: Instrument, cycles: Iterable[Mapping[str, Any]]) -> None:
    CycleOption.objects.bulk_create(
        CycleOption(instrument=instrument, order=order, **cycle)
        for order, cycle in enumerate(cycles)
    )


def cycle_words(instrument: Instrument) -> list[str]:
    """The instrument's cycles as people read them."""
    return [str(cycle) for cycle in CycleOption.objects.filter(instrument=instrument)]


@transaction.atomic
def add_set(actor: Actor, values: Mapping[str, Any]) -> InstrumentSet:
    """A new set, without a count sheet yet."""
    instrument_set = InstrumentSet(**values)
    instrument_set.save(force_insert=True)
    _record(actor, Change.Verb.ADDED, instrument_set, instrument_set.code, None, values)
    return instrument_set


@transaction.atomic
def add_count_sheet(
    actor: Actor,
    instrument_set: InstrumentSet,
    revision: int,
    lines: Iterable[Mapping[str, Any]],
    left_out: Iterable[str] = (),
) -> CountSheet:
    """A draft revision with its lines; ``left_out`` says what could not be taken over."""
    sheet = CountSheet.objects.create(
        instrument_set=instrument_set, revision=revision, left_out=list(left_out)
    )
    made = Line.objects.bulk_create(Line(count_sheet=sheet, **line) for line in lines)
    _record(
        actor,
        Change.Verb.ADDED,
        sheet,
        f"{instrument_set.code} r{revision}",
        None,
        {"lines": [str(line) for line in made], "left_out": sheet.left_out},
    )
    return sheet


@transaction.atomic
def approve_count_sheet(actor: Actor, sheet: CountSheet) -> CountSheet:
    """The draft becomes current; the revision in force until now is retired."""
    CountSheet.objects.filter(
        instrument_set=sheet.instrument_set, state=CountSheet.State.CURRENT
    ).update(state=CountSheet.State.RETIRED)
    sheet.state = CountSheet.State.CURRENT
    sheet.approved_by = actor.name
    sheet.approved_on = timezone.localdate()
    sheet.save(update_fields=["state", "approved_by", "approved_on"])
    _record(
        actor,
        Change.Verb.APPROVED,
        sheet,
        f"{sheet.instrument_set.code} r{sheet.revision}",
        {"state": CountSheet.State.DRAFT.value},
        {"state": sheet.state},
    )
    return sheet


@transaction.atomic
def add_supply(actor: Actor, model: type[Supply], values: Mapping[str, Any]) -> Any:
    """A new supply of one kind (pouch, roll, wrap, container, basket, protector)."""
    supply = model(**values)
    supply.full_clean()
    supply.save(force_insert=True)
    _record(actor, Change.Verb.ADDED, supply, supply.code, None, values)
    return supply

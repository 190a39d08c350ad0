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

from catalog.models import (
    Change,
    CountSheet,
    CycleOption,
    Identifier,
    Instrument,
    InstrumentSet,
    Line,
)
from catalog.models.supplies import Supply
from catalog.scans.elements import IdentifierKind, Wanted


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


def record(
    actor: Actor,
    verb: Change.Verb,
    thing: models.Model,
    key: str,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> None:
    """Write one change to the history; call it inside the change's own transaction."""
    Change.objects.create(
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


@transaction.atomic
def add_instrument(
    actor: Actor, values: Mapping[str, Any], cycles: Iterable[Mapping[str, Any]] = ()
) -> Instrument:
    """A new instrument with its cycles. IntegrityError when its item number is taken."""
    instrument = Instrument(**values)
    instrument.save(force_insert=True)
    cycles = list(cycles)
    _set_cycles(instrument, cycles)
    record(actor, Change.Verb.ADDED, instrument, instrument.item_number, None,
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
    record(actor, Change.Verb.CHANGED, instrument, instrument.item_number, before, after)
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
    record(actor, Change.Verb.ADDED, instrument_set, instrument_set.code, None, values)
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
    record(
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
    record(
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
    record(actor, Change.Verb.ADDED, supply, supply.code, None, values)
    return supply


class IdentifierRefusedError(ValueError):
    """The identifier cannot be put on record; the message says why and what to do."""


@transaction.atomic
def add_identifier(
    actor: Actor, instrument: Instrument, wanted: Wanted, where_found: str
) -> Identifier:
    """Put one code on record for an instrument. ``wanted`` comes from a scan.

    IdentifierRefusedError without a place, or when the code leads somewhere else already.
    """
    where_found = where_found.strip()
    if not where_found:
        raise IdentifierRefusedError("Say where the code was found: on the instrument, on the box.")
    kind = Identifier.Kind(wanted.kind.value)
    if taken := Identifier.objects.filter(kind=kind, value=wanted.value).first():
        raise IdentifierRefusedError(
            f"{taken} is on record for {taken.instrument} already. One code leads to one "
            "instrument: take it off there first if that is wrong."
        )
    if wanted.kind is IdentifierKind.TEXT:
        _refuse_own_number(wanted.value)
    identifier = Identifier.objects.create(
        instrument=instrument, kind=kind, value=wanted.value, where_found=where_found
    )
    values = {"instrument": instrument.item_number, "where_found": where_found}
    record(actor, Change.Verb.ADDED, identifier, wanted.value[:80], None, values)
    return identifier


def _refuse_own_number(text: str) -> None:
    """An item number or a set's code is found before any other text would be."""
    owners = (
        Instrument.objects.filter(item_number__iexact=text).first(),
        InstrumentSet.objects.filter(code__iexact=text).first(),
    )
    if owner := next((owner for owner in owners if owner), None):
        raise IdentifierRefusedError(
            f"“{text}” is the number of {owner} itself and leads there already."
        )


@transaction.atomic
def remove_identifier(actor: Actor, identifier: Identifier) -> None:
    """Take a code off its instrument; what it was stays in the history."""
    before = {
        "instrument": identifier.instrument.item_number,
        "where_found": identifier.where_found,
    }
    record(actor, Change.Verb.RETIRED, identifier, identifier.value[:80], before, None)
    identifier.delete()

"""Verbs for instruments and the cycles that their instructions allow."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from catalog.actions.identifiers import keep_former_number, number_is_own
from catalog.actions.recording import Actor, put, record
from catalog.models import Change, CycleOption, Instrument


@transaction.atomic
def add_instrument(
    actor: Actor, values: Mapping[str, Any], cycles: Iterable[Mapping[str, Any]] = ()
) -> Instrument:
    """A new instrument with its cycles. IntegrityError when its item number is taken."""
    instrument = Instrument(**values)
    instrument.save(force_insert=True)
    number_is_own(instrument.item_number)
    _set_cycles(instrument, cycles)
    after = {**values, "cycles": cycle_words(instrument)}
    record(actor, Change.Verb.ADDED, instrument, instrument.item_number, None, after)
    return instrument


@transaction.atomic
def change_instrument(
    actor: Actor,
    instrument: Instrument,
    values: Mapping[str, Any],
    cycles: Iterable[Mapping[str, Any]] | None = None,
) -> Instrument:
    """New values for some fields; ``cycles`` None leaves the cycles alone."""
    before, after = put(instrument, values)
    if "item_number" in after:
        keep_former_number(instrument, before["item_number"])
    if cycles is not None:
        were = cycle_words(instrument)
        instrument.cycles.all().delete()
        _set_cycles(instrument, cycles)
        are = cycle_words(instrument)
        if were != are:
            before["cycles"], after["cycles"] = were, are
    if after:
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

"""Verbs for sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from catalog.actions.recording import Actor, really_changed, record, set_retired
from catalog.models import Change, InstrumentSet


@transaction.atomic
def add_set(actor: Actor, values: Mapping[str, Any]) -> InstrumentSet:
    """A new set, without a count sheet yet."""
    instrument_set = InstrumentSet(**values)
    instrument_set.save(force_insert=True)
    record(actor, Change.Verb.ADDED, instrument_set, instrument_set.code, None, values)
    return instrument_set


@transaction.atomic
def change_set(
    actor: Actor, instrument_set: InstrumentSet, values: Mapping[str, Any]
) -> InstrumentSet:
    """New values for some fields of a set; its count sheets stay as they are."""
    after = really_changed(instrument_set, values)
    before = {name: getattr(instrument_set, name) for name in after}
    for name, value in after.items():
        setattr(instrument_set, name, value)
    if after:
        instrument_set.save(update_fields=list(after))
        record(actor, Change.Verb.CHANGED, instrument_set, instrument_set.code, before, after)
    return instrument_set


@transaction.atomic
def retire_set(actor: Actor, instrument_set: InstrumentSet) -> InstrumentSet:
    """Out of the lists, never out of the records. ``actor.reason`` says why."""
    return set_retired(actor, instrument_set, instrument_set.code, True)


@transaction.atomic
def restore_set(actor: Actor, instrument_set: InstrumentSet) -> InstrumentSet:
    """A retired set comes back into the lists."""
    return set_retired(actor, instrument_set, instrument_set.code, False)

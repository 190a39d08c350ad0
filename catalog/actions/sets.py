"""Verbs for sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from catalog.actions.recording import Actor, put, record
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
    before, after = put(instrument_set, values)
    if after:
        record(actor, Change.Verb.CHANGED, instrument_set, instrument_set.code, before, after)
    return instrument_set

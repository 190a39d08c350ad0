"""Verbs for sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from catalog.actions.recording import Actor, put, record
from catalog.models import Change, CountSheet, InstrumentSet


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

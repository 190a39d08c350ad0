"""Verbs for sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from catalog.actions.count_sheets import sheet_key
from catalog.actions.recording import Actor, put, record
from catalog.models import Change, CountSheet, Instrument, InstrumentSet


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
    """Remove the sets, draft count sheets and instruments that the actor's batch had added."""
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
        key = sheet_key(sheet)
        if key in sheet_keys:
            lines = {"lines": [str(line) for line in sheet.lines.all()]}
            record(actor, Change.Verb.REMOVED, sheet, key, lines, None)
            sheet.delete()
    added = mine.filter(kind="instrument").values("object_key")
    for instrument in Instrument.objects.filter(item_number__in=added):
        before = {"name": instrument.name, "notes": instrument.notes}
        record(actor, Change.Verb.REMOVED, instrument, instrument.item_number, before, None)
        instrument.delete()

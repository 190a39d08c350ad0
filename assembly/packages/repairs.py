"""Pieces that are damaged: to repair from a package of their own, and back, or written off."""

from __future__ import annotations

from django.utils import timezone

from assembly.ledger import Refused, begin_new, lock_one, verb
from assembly.models import Repair
from assembly.persons import ASSEMBLE, Person
from catalog.actions import record
from catalog.models import Change, Instrument


@verb(ASSEMBLE)
def to_repair(person: Person, instrument: Instrument, reason: str, key: str) -> Repair:
    """One piece does not work and goes to repair instead of into a package; the same key gives
    the same. Refused without what is wrong with it: the repair shop reads it."""
    if before := begin_new(Repair, key, under=instrument):
        return before
    if not reason.strip():
        raise Refused("Say what is wrong with it: the repair shop reads it.")
    made = Repair.objects.create(
        key=key, instrument=instrument, item_number=instrument.item_number,
        name=instrument.name, reason=reason.strip()[:300], sent_by=person.name,
        sent_at=timezone.now(),
    )  # fmt: skip
    record(person.actor(made.reason), Change.Verb.ADDED, made, made.item_number, None,
           {"state": "open"})  # fmt: skip
    return made


@verb(ASSEMBLE)
def close_repair(person: Person, pk: int, because: str) -> Repair:
    """A repair is settled: the piece is back or written off. Closed again changes nothing."""
    found = lock_one(Repair, pk)
    if found.closed_at is not None:
        return found
    found.closed_at, found.closed_by = timezone.now(), person.name
    found.closed_because = because.strip() or "settled"
    found.save(update_fields=["closed_at", "closed_by", "closed_because"])
    record(person.actor(found.closed_because), Change.Verb.CHANGED, found, found.item_number,
           {"state": "open"}, {"state": "closed"})  # fmt: skip
    return found

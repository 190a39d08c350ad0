"""Pieces that are damaged: laid aside from any page, out to be mended, and back or written off.

A piece that is away is not in its set: its line says so while it is counted, and what the set
goes without is a shortfall like any other, which waits for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from assembly.ledger import Refused, begin_new, inside, lock_one, verb
from assembly.models import Build, Package, Repair
from assembly.packages.standing import check_opened
from assembly.persons import ASSEMBLE, Person
from assembly.rules.days import time_words
from assembly.upkeep.sharpening import came_back_sharp
from catalog.actions import move_spares, record
from catalog.models import Change, Instrument, InstrumentSet

Outcome = Repair.Outcome
WHAT_IS_WRONG = "Say what is wrong with it: the repair shop reads it."
MOST_DAYS = 366
"""Nobody waits longer for a repair that is still expected. Our own bound."""


def away() -> QuerySet[Repair]:
    """Every piece that is not back, the one that is away longest first."""
    return Repair.objects.filter(closed_at=None).order_by("sent_at", "pk")


def away_from_many(sets: Iterable[InstrumentSet]) -> dict[int, dict[int, list[Repair]]]:
    """What is away from each of many sets, by its key and that of the instrument."""
    found: dict[int, dict[int, list[Repair]]] = {one.pk: {} for one in sets}
    for one in away().filter(instrument_set__in=found):
        of_set = found[one.instrument_set_id or 0]
        of_set.setdefault(one.instrument_id, []).append(one)
    return found


def away_from(
    instrument_set: InstrumentSet, besides: Build | None = None
) -> dict[int, list[Repair]]:
    """What is away from a set, by the number of its instrument; ``besides`` what was found in
    this assembly, which its page counts itself."""
    found: dict[int, list[Repair]] = {}
    for one in away().filter(instrument_set=instrument_set).exclude(event__build=besides or 0):
        found.setdefault(one.instrument_id, []).append(one)
    return found


@verb(ASSEMBLE)
def to_repair(
    person: Person, instrument: Instrument, reason: str, key: str, *,
    instrument_set: InstrumentSet | None = None, package: Package | None = None,
    from_spares: bool = False,
) -> Repair:  # fmt: skip
    """One piece does not work and is out of use; the same key gives the same.

    It belongs to a set, was found in a package, or lay with the loose spares, and is counted
    down there. Refused without what is wrong with it, and from a package that is closed and may
    still be used: it would go on as if it were whole.
    """
    if before := begin_new(Repair, key, under=instrument):
        return before
    if package is not None:
        check_opened(package)
        if package.build and instrument_set is None:
            instrument_set = package.build.instrument_set
    made = lay_aside(person, instrument, reason, key=key, instrument_set=instrument_set,
                     package=package, from_spares=from_spares)  # fmt: skip
    if from_spares:
        move_spares(person.actor(f"to repair: {made.reason}"), instrument, -made.quantity)
    return made


@inside
def lay_aside(person: Person, instrument: Instrument, reason: str, **of: Any) -> Repair:
    """One piece out of use, with where it was found. Refused without a reason."""
    if not reason.strip():
        raise Refused(WHAT_IS_WRONG)
    made = Repair.objects.create(
        instrument=instrument, item_number=instrument.item_number, name=instrument.name,
        reason=reason.strip()[:300], sent_by=person.name, sent_at=timezone.now(), **of,
    )  # fmt: skip
    record(person.actor(made.reason), Change.Verb.ADDED, made, made.item_number, None,
           {"state": "laid aside"})  # fmt: skip
    return made


@verb(ASSEMBLE)
def send_out(person: Person, pk: int, to: str, expected_on: date | None = None) -> Repair:
    """Somebody has it now, and may have said when it is to be back. Said again it is corrected.

    Refused where it is back already, without who has it, or for a day that has passed.
    """
    found = lock_one(Repair, pk)
    to, today = to.strip()[:120], timezone.localdate()
    if found.closed_at is not None:
        raise Refused(f"{found.name} is {found.outcome} since "
                      f"{time_words(timezone.localtime(found.closed_at))}.")  # fmt: skip
    if not to:
        raise Refused("Write who has it: the repair shop or the maker.")
    latest, same = today + timedelta(days=MOST_DAYS), expected_on == found.expected_on
    if expected_on and not same and not today <= expected_on <= latest:
        raise Refused(f"{expected_on} was read. Write a day from today on, such as "
                      f"{today + timedelta(days=14)}, or leave it empty.")  # fmt: skip
    before = {"with": found.gone_to or "laid aside", "expected": found.expected_on}
    found.gone_at = found.gone_at if found.gone_to == to else timezone.now()
    found.gone_to, found.expected_on = to, expected_on
    found.save(update_fields=["gone_to", "gone_at", "expected_on"])
    record(person.actor(found.reason), Change.Verb.CHANGED, found, found.item_number, before,
           {"with": to, "expected": expected_on})  # fmt: skip
    return found


@verb(ASSEMBLE)
def come_back(
    person: Person, pk: int, outcome: str, because: str = "", *, to_spares: bool = False,
    sharp: bool = False,
) -> Repair:  # fmt: skip
    """It is back, or written off. Ended again changes and counts nothing.

    ``to_spares``: it lies with the loose spares now, and is counted there. ``sharp``: it was
    sharpened, and its uses count anew.
    """
    found = lock_one(Repair, pk)
    if found.closed_at is not None:
        return found
    if outcome not in (Outcome.BACK, Outcome.WRITTEN_OFF):
        raise Refused("Say whether it is back or written off.")
    end([found], person, Outcome(outcome), because)
    record(person.actor(found.closed_because), Change.Verb.CHANGED, found, found.item_number,
           {"state": "away"}, {"state": outcome})  # fmt: skip
    if sharp and outcome == Outcome.BACK:
        came_back_sharp(person, found)
    if to_spares and outcome == Outcome.BACK:
        move_spares(person.actor("back from repair"), found.instrument, found.quantity)
    return found


@inside
def end(found: Iterable[Repair], person: Person, outcome: Outcome, because: str = "") -> None:
    """These pieces are away no longer."""
    for one in found:
        one.closed_at, one.closed_by, one.outcome = timezone.now(), person.name, outcome
        one.closed_because = because.strip()[:300] or outcome.label
        one.save(update_fields=["closed_at", "closed_by", "outcome", "closed_because"])

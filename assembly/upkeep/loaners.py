"""What is lent: taken in, weighed, its IFU received, given back. What is not said is not known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db.models import F, QuerySet
from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, note, verb, write
from assembly.models import Loaner, LoanerStep, Package, Repair
from assembly.packages.standing import is_closed, standing_of, with_standing
from assembly.packages.whereabouts import Whereabouts, whereabouts_of
from assembly.persons import ASSEMBLE, Person
from assembly.upkeep.repairs import away
from catalog.models import Instrument, InstrumentSet

State = Loaner.State
MOST_PIECES, HEAVIEST_G = 9_999, Decimal(100_000)
"""Beyond these it is a slip of the hand. Our own bounds."""


def here() -> QuerySet[Loaner]:
    """All that is still to be returned, what goes back first; without a day last."""
    first = F("return_by").asc(nulls_last=True)
    return Loaner.objects.filter(state=State.HERE).order_by(first, "came_at", "pk")


@dataclass(frozen=True, slots=True)
class Lent:
    """What is said of a thing that is lent when it comes."""

    what: str
    vendor: str
    instrument_set: InstrumentSet | None = None
    instrument: Instrument | None = None
    needed_for: str = ""
    pieces: int | None = None
    weight_g: Decimal | None = None
    ifu_reference: str = ""
    return_by: date | None = None


@verb(ASSEMBLE)
def take_in(person: Person, lent: Lent, key: str) -> Loaner:
    """It is here, with what is known of it. Refused without what it is and whose."""
    if before := begin_new(Loaner, key, under=User(pk=person.pk)):
        return before
    _check(lent)
    said = {name: getattr(lent, name) for name in Lent.__slots__}
    now = timezone.now()
    received = now if lent.ifu_reference else None
    one = Loaner.objects.create(
        key=key, came_by=person.name, came_at=now, ifu_received_at=received, **said
    )
    write(one, person, key, said="came")
    note(person, one, None, {name: value for name, value in said.items() if value})
    return one


def _check(lent: Lent) -> None:
    if not lent.what.strip() or not lent.vendor.strip():
        raise Refused("Write what it is, and whose it is.")
    if lent.instrument and lent.instrument_set:
        raise Refused("Write the code of the set it is assembled as, or the item number of the "
                      "instrument: one of them.")  # fmt: skip
    if lent.pieces is not None and not 1 <= lent.pieces <= MOST_PIECES:
        raise Refused(f"{lent.pieces} pieces were read. Write 1 to {MOST_PIECES}, or leave it "
                      "empty.")  # fmt: skip
    if lent.weight_g is not None and not 0 < lent.weight_g < HEAVIEST_G:
        raise Refused(f"{lent.weight_g:f} g was read. Read the scale again, and its unit.")
    if lent.return_by and lent.return_by < timezone.localdate():
        raise Refused(f"{lent.return_by} has passed. Write the day it goes back, or leave it "
                      "empty.")  # fmt: skip


@verb(ASSEMBLE)
def ifu_came(person: Person, pk: int, key: str, reference: str) -> LoanerStep:
    """Its IFU is here, by its number and revision: from now on it is decided as any other."""
    one, before = begin(Loaner, pk, key, (State.HERE,))
    if before:
        return before
    if not reference.strip():
        raise Refused("Write the number and revision of the IFU, as it stands on it.")
    changes = {"ifu_reference": reference.strip()[:120], "ifu_received_at": timezone.now()}
    return _done(person, one, key, changes, f"IFU received: {reference.strip()}")


@verb(ASSEMBLE)
def weigh(person: Person, pk: int, key: str, weight_g: Decimal) -> LoanerStep:
    """What it weighs as it came, or is to go back (g)."""
    one, before = begin(Loaner, pk, key, (State.HERE,))
    if before:
        return before
    if not 0 < weight_g < HEAVIEST_G:
        raise Refused(f"{weight_g:f} g was read. Read the scale again, and its unit.")
    return _done(person, one, key, {"weight_g": weight_g}, f"weighs {weight_g:f} g")


@verb(ASSEMBLE)
def give_back(person: Person, pk: int, key: str, reason: str = "") -> LoanerStep:
    """It went back to whose it is. ``reason`` says what did not go with it.

    Refused without one while pieces of it are away for repair, and while a package of its set is
    closed and here: it would still be offered.
    """
    one, before = begin(Loaner, pk, key, (State.HERE,))
    if before:
        return before
    if closed := _closed(one):
        raise Refused(f"{', '.join(closed)}: closed and here. Open the set again first, or hand it "
                      "over.")  # fmt: skip
    missing = [f"{gone.quantity} × {gone.name}" for gone in away_of(one)]
    if missing and not reason.strip():
        raise Refused(f"Away for repair: {', '.join(missing)}. Write what goes back without them, "
                      "and who knows.")  # fmt: skip
    return _done(person, one, key, {"state": State.RETURNED}, "went back", reason)


def _closed(one: Loaner) -> list[str]:
    """The packages of its set that are here as they were closed, since it came."""
    if one.instrument_set_id is None:
        return []
    found = Package.objects.filter(build__instrument_set=one.instrument_set_id, void_at=None,
                                   packed_at__gte=one.came_at)  # fmt: skip
    return [each.code for each in with_standing(found) if is_closed(standing_of(each))]


def _done(
    person: Person, one: Loaner, key: str, changes: dict[str, Any], said: str, reason: str = ""
) -> LoanerStep:
    was = {name: getattr(one, name) for name in changes if name != "state"}
    step: LoanerStep = write(one, person, key, changes, reason=reason, said=said[:200])
    if was:
        note(person, one, was, {name: changes[name] for name in was}, reason)
    return step


def away_of(one: Loaner) -> list[Repair]:
    """What is away for repair of it."""
    found = away()
    if one.instrument_set_id:
        return list(found.filter(instrument_set=one.instrument_set_id))
    return list(found.filter(instrument=one.instrument_id)) if one.instrument_id else []


def where_it_is(one: Loaner) -> list[Whereabouts]:
    """The packages of it that were not made void since it came, and where each is."""
    packages = Package.objects.filter(packed_at__gte=one.came_at, void_at=None)
    if one.instrument_set_id:
        packages = packages.filter(build__instrument_set=one.instrument_set_id)
    elif one.instrument_id:
        packages = packages.filter(kind=Package.Kind.SINGLE, instrument=one.instrument_id)
    else:
        return []
    return whereabouts_of(packages)

"""Containers one by one: into use, their filters and gaskets, faults.

Which may be packed: :mod:`assembly.packages.containers`.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, note, verb, write
from assembly.models import ContainerStep, OwnContainer
from assembly.packages.containers import LONGEST_NUMBER
from assembly.packages.recording import looks_like_package_code
from assembly.persons import ADD_SUPPLIES, ASSEMBLE, Person
from catalog.models import Container

Kind, Filter, Gasket = ContainerStep.Kind, OwnContainer.Filter, OwnContainer.Gasket


@verb(ADD_SUPPLIES)
def add_container(person: Person, kind: Container, number: str, key: str) -> OwnContainer:
    """A container of a kind, by the number on it. Refused where the number is another's."""
    if before := begin_new(OwnContainer, key, under=kind):
        return before
    number = number.strip()
    if not number or len(number) > LONGEST_NUMBER:
        raise Refused(f"Write the number on the container: 1 to {LONGEST_NUMBER} letters.")
    if looks_like_package_code(number):
        raise Refused(f"{number} looks like a package's code. Take another number.")
    if OwnContainer.objects.filter(number__folded=number).exists():
        raise Refused(f"There is a container {number} already.")
    one = OwnContainer.objects.create(key=key, number=number, kind=kind)
    write(one, person, key, kind=Kind.ADDED)
    note(person, one, None, {"kind": str(kind)})
    return one


@verb(ASSEMBLE)
def change_filter(
    person: Person, pk: int, key: str, filter_kind: str = "", changed_on: date | None = None,
    until: date | None = None,
) -> ContainerStep:  # fmt: skip
    """Its filter was changed, today where no day is named, and by when it is changed again.

    Without its kind that stays as it was. Refused where the days cannot be.
    """
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    today = timezone.localdate()
    changed_on, kind = changed_on or today, filter_kind or one.filter_kind
    if changed_on > today:
        raise Refused(f"{changed_on} is still to come. Write the day the filter was changed.")
    if until and until <= changed_on:
        raise Refused(f"{until} is not after {changed_on}, the day the filter was changed.")
    if until and kind != Filter.STAYS:
        raise Refused("Only a filter that stays in has a date to be changed by. Choose “reusable”, "
                      "or leave the date empty.")  # fmt: skip
    said = f"{kind or 'kind not on record'}{f', by {until}' if until else ''}"
    changes = {"filter_kind": kind, "filter_changed_on": changed_on, "filter_until": until}
    return _done(person, one, key, changes, Kind.FILTER, said)


@verb(ASSEMBLE)
def look_at_gasket(person: Person, pk: int, key: str, gasket: str) -> ContainerStep:
    """Its gasket is good or worn; worn, nothing is packed in it until it is good."""
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    if gasket not in Gasket.values:
        raise Refused("Say whether the gasket is good or worn.")
    changes = {"gasket": gasket, "gasket_seen_on": timezone.localdate()}
    return _done(person, one, key, changes, Kind.GASKET, gasket)


@verb(ASSEMBLE)
def say_fault(person: Person, pk: int, key: str, reason: str) -> ContainerStep:
    """Something is wrong with it: nothing is packed in it until it is mended."""
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    if not reason.strip():
        raise Refused("Say what is wrong with it: a dent, a latch, a hole.")
    return _done(person, one, key, {"fault": reason.strip()}, Kind.FAULT, reason=reason)


@verb(ASSEMBLE)
def mended(person: Person, pk: int, key: str, reason: str = "") -> ContainerStep:
    """Its fault is no more. Refused where it has none."""
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    if not one.fault:
        raise Refused(f"{one.number} has no fault on record.")
    return _done(person, one, key, {"fault": ""}, Kind.MENDED, reason=reason or one.fault)


@verb(ADD_SUPPLIES)
def use_no_more(person: Person, pk: int, key: str, reason: str) -> ContainerStep:
    """It is out of use, with the reason; its record stays."""
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    if not reason.strip():
        raise Refused("Write the reason: it stays on record with the container.")
    return _done(person, one, key, {"out_of_use": True}, Kind.OUT, reason=reason)


@verb(ADD_SUPPLIES)
def use_again(person: Person, pk: int, key: str, reason: str = "") -> ContainerStep:
    """It is back in use."""
    one, before = begin(OwnContainer, pk, key)
    if before:
        return before
    return _done(person, one, key, {"out_of_use": False}, Kind.BACK, reason=reason)


def _done(
    person: Person, one: OwnContainer, key: str, changes: dict[str, Any], kind: str,
    said: str = "", reason: str = "",
) -> ContainerStep:  # fmt: skip
    was = {name: getattr(one, name) for name in changes}
    step: ContainerStep = write(one, person, key, changes, reason=reason, kind=kind, said=said)
    note(person, one, was, changes, reason)
    return step

"""Containers one by one: into use, their filters and gaskets, faults; and which may be packed.

What nobody has recorded of one stops nothing; a fault, a worn gasket and a filter beyond its date
do, wherever a container is named.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.utils import timezone

from assembly.judging.taking import supplies_in
from assembly.ledger import Refused, begin, begin_new, inside, lock, note, verb, write
from assembly.models import ContainerStep, OwnContainer, Package
from assembly.packages.recording import looks_like_package_code
from assembly.packages.standing import is_closed, standing_of, with_standing
from assembly.persons import ADD_SUPPLIES, ASSEMBLE, Person
from assembly.rules.policy.values import Policy
from catalog import vocabulary
from catalog.models import Container

Kind, Filter, Gasket = ContainerStep.Kind, OwnContainer.Filter, OwnContainer.Gasket
LONGEST_NUMBER, LONGEST_SUPPLY = 20, 114
CONTAINER, ASKED = str(vocabulary.Kind.CONTAINER), "container_number_asked"
NOT_HERE = "“{text}” is no container on record. Scan or type the number on it."


# --- which may be packed ---------------------------------------------------------------


def hindrance(one: OwnContainer, today: date) -> str:
    """Why nothing is packed in it, as a sentence; "" where nothing on record speaks against it."""
    if one.out_of_use:
        return f"{one.number} is out of use."
    if one.fault:
        return f"{one.number} has a fault: {one.fault}."
    if one.gasket == Gasket.WORN:
        return f"The gasket of {one.number} is worn."
    if one.filter_until and one.filter_until < today:
        return f"The filter of {one.number} was to be changed by {one.filter_until}."
    return ""


def around(containers: Iterable[OwnContainer]) -> dict[int, Package]:
    """The closed package that each is around here, by the container's number of its row."""
    packages = Package.objects.filter(own_container__in=containers, void_at=None)
    packages = with_standing(packages.order_by("packed_at"))
    closed = [one for one in packages if is_closed(standing_of(one))]
    return {one.own_container_id: one for one in closed if one.own_container_id}


def to_be_packed(option_key: str) -> list[OwnContainer] | None:
    """The containers that a set may go into now, for what it is packed in; None where that is no
    container, or none of its kind has its number on record."""
    code = _kind_of(option_key)
    every = list(OwnContainer.objects.filter(kind__code=code, out_of_use=False)) if code else []
    if not every:
        return None
    busy, today = around(every), timezone.localdate()
    return [one for one in every if one.pk not in busy and not hindrance(one, today)]


def _kind_of(option_key: str) -> str:
    """The code of the container that an option names; "" where it is none."""
    kind, codes = supplies_in(option_key)
    return codes[0] if kind == CONTAINER else ""


@inside
def for_packing(option_key: str, number: str, policy: Policy) -> OwnContainer | None:
    """The container with this number for a set that is packed so, locked; None where it goes into
    none, or where nobody named one and the policy lets that be. Else as :func:`named`."""
    code = _kind_of(option_key)
    if not code:
        return None
    if number.strip():
        return named(number, code)
    in_use = OwnContainer.objects.filter(kind__code=code, out_of_use=False)
    if policy.flag(ASKED) and in_use.exists():
        raise Refused("Scan the number on the container, or type it: the policy lets no set go "
                      "without.")  # fmt: skip
    return None


def supply_words(name: str, one: OwnContainer | None) -> str:
    """What a set is packed in, with the number on its container where that is known."""
    return f"{name[: LONGEST_SUPPLY - LONGEST_NUMBER]}, no. {one.number}" if one else name


@inside
def named(number: str, kind_code: str) -> OwnContainer:
    """The container with this number, locked, for a set that goes into one of this kind.

    Refused where it is none on record, of another kind, not to be packed, or around a closed
    package that is still here.
    """
    found = lock(OwnContainer.objects.filter(number__folded=number.strip()))
    if not found:
        raise Refused(NOT_HERE.format(text=number.strip()))
    [one] = found
    if one.kind.code != kind_code:
        raise Refused(f"{one.number} is a {one.kind.code}, and the set goes into {kind_code}. Take "
                      f"another container, or choose {one.kind.code}.")  # fmt: skip
    if problem := hindrance(one, timezone.localdate()):
        raise Refused(f"{problem} Take another container.")
    if package := around([one]).get(one.pk):
        raise Refused(f"{one.number} is around {package.code}, {package.what}. Read its number "
                      "again, or open that set first.")  # fmt: skip
    return one


# --- what happens to one ---------------------------------------------------------------


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

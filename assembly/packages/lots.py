"""Lots of supplies: which is in use where, and which a package was packed with.

A lot is said once, when its box is opened. From then on every package that is packed at that
workstation bears it, without a press. Where nobody said at which workstation somebody works, a
package bears every lot of its supplies that is in use: a recall finds rather too many.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date, datetime, time, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from assembly.judging.emptied import empty_now
from assembly.ledger import Refused, check_key, inside, lock, lock_one, verb
from assembly.models import ContainerStep, EmptyBox, OwnContainer, Package, SupplyLot
from assembly.packages.uses import LABEL
from assembly.persons import ASSEMBLE, Person
from assembly.rules.days import day_words
from catalog.actions import record
from catalog.models import Change, Container, Pouch, Protector, Roll, Wrap
from catalog.models.supplies import Supply
from catalog.vocabulary import Kind, Method

SUPPLIES: dict[str, type[Supply]] = {
    Kind.POUCH: Pouch,
    Kind.ROLL: Roll,
    Kind.WRAP: Wrap,
    "protector": Protector,
}
INDICATOR = "indicator"
LONGEST_LOT = 40
DAY = timedelta(days=1)


def named_supplies() -> dict[str, str]:
    """What decisions take out of boxes, which may be empty: key and name. Four queries."""
    found = {
        f"{kind}:{one.code}": str(one)
        for kind, model in SUPPLIES.items()
        for one in model._default_manager.all()
    }
    words = {f"{INDICATOR}:{one}": f"Indicators for {one.words}" for one in Method}
    return found | words


def every_supply() -> dict[str, str]:
    """Whatever has a lot and can be counted: the same, filters and labels. Five queries."""
    filters = {f"filter:{one.code}": f"Filters of {one}" for one in Container.objects.all()}
    return named_supplies() | filters | {LABEL: "Labels of packages"}


def in_use() -> QuerySet[SupplyLot]:
    """The lots that are open, at every workstation."""
    return SupplyLot.objects.filter(ended_at=None)


def open_for(person: Person) -> QuerySet[SupplyLot]:
    """The lots that are open where the person works."""
    found = in_use()
    if person.workstation:
        found = found.filter(Q(at="") | Q(at__folded=person.workstation))
    return found


@inside
def lock_lots(person: Person) -> list[SupplyLot]:
    """The same, so that none is recalled meanwhile."""
    return lock(open_for(person))


def lots_for(lots: Iterable[SupplyLot], supplies: Collection[str]) -> list[SupplyLot]:
    """Those of the lots that a package is packed with, by the keys of what it uses up.

    Refused where one of them was recalled or is past its date; where another of its supply is
    good, with the question which of them it is.
    """
    found = [one for one in lots if one.supply in supplies]
    bad = [one for one in found if _why_not(one)]
    for one in bad:
        good = [other for other in found if other.supply == one.supply and other not in bad]
        if good:
            others = "; ".join(f"lot {other.lot}{_at(other)} is good" for other in good)
            raise Refused(f"Which lot of {one.name} is in your hand? Lot {one.lot}{_at(one)} "
                          f"{_why_not(one)}; {others}. Under Lots, say at which bench this is or "
                          "which box is used up, then press again.")  # fmt: skip
        raise Refused(f"{one}, {_why_not(one)}. Take another box and open its lot under "
                      f"Lots{_at(one)}.")  # fmt: skip
    return found


def lots_of_filter(own: OwnContainer | None) -> list[SupplyLot]:
    """The lots that a filter may be of that stays in its container: open on the day of its change.

    Every one of its kind where that day is not on record. Refused where one was recalled, but for
    a box that was put away before the change.
    """
    if own is None or own.filter_kind != OwnContainer.Filter.STAYS:
        return []
    found = SupplyLot.objects.filter(supply=f"filter:{own.kind.code}")
    if day := own.filter_changed_on:
        said, over = own.steps.filter(kind=ContainerStep.Kind.FILTER).last(), _begin(day + DAY)
        opened = Q(opened_at__lt=min(said.at, over) if said else over)
        found = found.filter(opened, Q(ended_at=None) | Q(ended_at__gte=_begin(day)))
        if said and said.at < over:
            found = found.exclude(recalled_at__lt=said.at, ended_at__lte=said.at)
    for one in found:
        if one.recalled_at:
            raise Refused(f"The filter in {own.number} is or may be of lot {one.lot}, which was "
                          "recalled. Take another container; or say under Lots that its box is "
                          "used up, change the filter and put that on record.")  # fmt: skip
    return list(found)


def _begin(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))


def _why_not(one: SupplyLot) -> str:
    """Why nothing is packed with a lot; "" where nothing speaks against it."""
    if one.recalled_at:
        return "was recalled: nothing is packed with it"
    if one.expires and one.expires < timezone.localdate():
        return f"was to be used by {day_words(one.expires)}"
    return ""


def _at(one: SupplyLot) -> str:
    return f" at {one.at}" if one.at else ""


@verb(ASSEMBLE)
def open_lot(
    person: Person, supply: str, lot: str, key: str, expires: date | None = None
) -> SupplyLot:
    """From now on this lot of a supply is the one in use where the person works.

    The one before is used up, and the supply is out no longer. Refused for one that is not on
    record, and for a lot without its number, past its date, or recalled.
    """
    check_key(key)
    lock(SupplyLot.objects.filter(supply=supply))
    if before := SupplyLot.objects.filter(key=key).first():
        return before
    name, number = every_supply().get(supply), " ".join(lot.split())
    if name is None:
        raise Refused(f"“{supply}” is no supply here. Choose one of the list.")
    if not number or len(number) > LONGEST_LOT:
        raise Refused(f"Write the lot as the box says it, at most {LONGEST_LOT} signs.")
    if expires and expires < timezone.localdate():
        raise Refused(f"Lot {number} was to be used by {day_words(expires)}. Take another box.")
    known = SupplyLot.objects.filter(supply=supply, lot__folded=number)
    if known.exclude(recalled_at=None).exists():
        raise Refused(f"Lot {number} of {name} was recalled. Take another box.")
    now = timezone.now()
    fill(person, lock(empty_now().filter(supply=supply)))
    in_use().filter(supply=supply, at__folded=person.workstation).update(ended_at=now)
    made = SupplyLot.objects.create(
        key=key, supply=supply, name=name, lot=number, expires=expires, at=person.workstation,
        opened_by=person.name, opened_at=now,
    )  # fmt: skip
    record(person.actor(), Change.Verb.ADDED, made, str(made), None,
           {"lot": number, "workstation": person.workstation})  # fmt: skip
    return made


@inside
def fill(person: Person, empty: list[EmptyBox]) -> list[EmptyBox]:
    """There is one again of what was said to be empty; the rows are locked."""
    for one in empty:
        one.ended_at, one.ended_by = timezone.now(), person.name
        one.save(update_fields=["ended_at", "ended_by"])
        record(person.actor(), Change.Verb.CHANGED, one, one.name, {"box": "empty"},
               {"box": "there again"})  # fmt: skip
    return empty


@verb(ASSEMBLE)
def end_lot(person: Person, pk: int, key: str) -> SupplyLot:
    """The box is used up, and no other of its supply is open there; ended again nothing changes."""
    check_key(key)
    one = lock_one(SupplyLot, pk)
    if one.ended_at is None:
        one.ended_at = timezone.now()
        one.save(update_fields=["ended_at"])
        record(person.actor(), Change.Verb.CHANGED, one, str(one), {"in use": "yes"},
               {"in use": "used up"})  # fmt: skip
    return one


def packed_with(lot: str) -> QuerySet[Package]:
    """Every package that was packed with a lot of this number."""
    found = SupplyLot.objects.filter(lot__folded=lot)
    return Package.objects.filter(pk__in=Package.objects.filter(lots__in=found).values("pk"))

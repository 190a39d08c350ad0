"""The department counts a supply: so many came, so many is all there is. Nobody has to."""

from __future__ import annotations

from datetime import date

from django.contrib.auth import get_user_model
from django.utils import timezone

from assembly.ledger import Refused, begin_new, check_key, lock, verb
from assembly.models import CountedSupply, SupplyCount
from assembly.packages.lots import LONGEST_LOT, every_supply
from assembly.persons import SET_LEVELS, Person
from assembly.rules.days import day_words
from catalog.actions import record
from catalog.models import Change

MOST = 1_000_000
"""Our own bound: more is a slip of the hand."""


@verb(SET_LEVELS)
def count(
    person: Person, supply: str, kind: str, quantity: int, key: str, lot: str = "",
    expires: date | None = None, lead_days: int | None = None,
) -> SupplyCount:  # fmt: skip
    """So many came in, or so many is all there is (pieces, of a roll meters), of one lot.

    From then on what packages use up is taken off. ``lead_days`` is kept where it is said.
    Refused for what is no supply, for a lot past its date, and for nothing that came.
    """
    if before := begin_new(SupplyCount, key, under=get_user_model()(pk=person.pk)):
        return before
    name, number = every_supply().get(supply), " ".join(lot.split())
    if name is None:
        raise Refused(f"“{supply}” is no supply here. Choose one of the list.")
    if kind not in SupplyCount.Kind.values:
        raise Refused("Say whether it came in, or is all there is.")
    if not 0 <= quantity <= MOST or (not quantity and kind == SupplyCount.Kind.CAME):
        raise Refused(f"{quantity} was read: write how many, up to {MOST:,}.")
    if len(number) > LONGEST_LOT:
        raise Refused(f"Write the lot as the box says it, at most {LONGEST_LOT} signs.")
    if expires and expires < timezone.localdate():
        raise Refused(f"{name}, lot {number or 'not said'}, was to be used by "
                      f"{day_words(expires)}: it is not on hand. Put it away.")  # fmt: skip
    of, _ = CountedSupply.objects.get_or_create(supply=supply, defaults={"name": name})
    of.name, of.ended_at = name, None
    of.lead_days = of.lead_days if lead_days is None else lead_days
    of.save()
    made = SupplyCount.objects.create(
        of=of, key=key, kind=kind, quantity=quantity, lot=number, expires=expires,
        at=timezone.now(), **person.by,
    )  # fmt: skip
    record(person.actor(), Change.Verb.ADDED, made, name, None,
           {kind: quantity, **({"lot": number} if number else {})})  # fmt: skip
    return made


@verb(SET_LEVELS)
def count_no_longer(person: Person, supply: str, key: str) -> None:
    """Nobody counts it any more: it stands in no list. What was counted stays on record."""
    check_key(key)
    for one in lock(CountedSupply.objects.filter(supply=supply, ended_at=None)):
        one.ended_at = timezone.now()
        one.save(update_fields=["ended_at"])
        record(person.actor(), Change.Verb.CHANGED, one, one.name, {"counted": "yes"},
               {"counted": "no longer"})  # fmt: skip

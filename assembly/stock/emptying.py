"""A box is empty: said at the bench by one press, taken back by one, over with the shift."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth import get_user_model
from django.utils import timezone

from assembly.judging.emptied import empty_now
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin_new, check_key, lock, verb
from assembly.models import EmptyBox
from assembly.packages.lots import fill, named_supplies
from assembly.persons import ASSEMBLE, Person
from catalog.actions import record
from catalog.models import Change


@verb(ASSEMBLE)
def say_empty(person: Person, supply: str, key: str) -> EmptyBox:
    """Until the shift ends no decision takes this supply, or somebody says that there is more.

    Said again while it is empty changes nothing. Refused for what is no supply here.
    """
    if before := begin_new(EmptyBox, key, under=get_user_model()(pk=person.pk)):
        return before
    name = named_supplies().get(supply)
    if name is None:
        raise Refused(f"“{supply}” is no supply here: look at the page again.")
    if said := empty_now().filter(supply=supply).first():
        return said
    now = timezone.now()
    hours = policy_in_force().number("box_empty_hours")
    made = EmptyBox.objects.create(
        key=key, supply=supply, name=name, said_by=person.name, said_at=now,
        until=now + timedelta(hours=hours),
    )  # fmt: skip
    until = f"{timezone.localtime(made.until):%Y-%m-%d %H:%M}"
    record(person.actor(), Change.Verb.ADDED, made, name, None, {"box": "empty", "until": until})
    return made


@verb(ASSEMBLE)
def say_there(person: Person, supply: str, key: str) -> list[EmptyBox]:
    """There is a box again: decisions take this supply. Nothing changes where none was empty."""
    check_key(key)
    return fill(person, lock(empty_now().filter(supply=supply)))

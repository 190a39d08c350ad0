"""The one place where a load changes: its row and the step that led there, together."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, check_key
from assembly.models import Load, LoadState, LoadStep
from assembly.persons import Person
from catalog.actions import record
from catalog.models import Change


def begin(pk: int, key: str, states: tuple[str, ...]) -> tuple[Load, bool]:
    """The load, locked, and whether this key did its work before.

    Refused where it is in none of the ``states``; the words say who changed it and when.
    """
    check_key(key)
    load = Load.objects.select_for_update().get(pk=pk)
    if load.steps.filter(key=key).exists():
        return load, True
    if load.state not in states:
        last = load.steps.last()
        by = f" by {last.by}, {timezone.localtime(last.at):%H:%M}" if last else ""
        raise Refused(f"Load {load} is {load.get_state_display().lower()}{by}. "
                      "Nothing was changed.")  # fmt: skip
    return load, False


def write(
    load: Load, person: Person, key: str, words: str, reason: str = "", **values: Any
) -> Load:
    """The next step; inside the verb's transaction.

    The row changes only if nobody wrote a step since it was read, whatever the database
    locks. A change of state goes into the history of the whole department.
    """
    before, now, number = load.state, timezone.now(), load.last_step + 1
    changed = Load.objects.filter(pk=load.pk, last_step=load.last_step).update(
        last_step=number, **values
    )
    if not changed:
        raise Refused("Somebody changed this load at the same moment. Look at it again.")
    load.refresh_from_db()
    LoadStep(load=load, number=number, key=key, state=load.state, words=words, reason=reason,
             by=person.name, at=now).save()  # fmt: skip
    if load.state != before:
        record(person.actor(reason), Change.Verb.CHANGED, load, str(load),
               {"state": before}, {"state": load.state})  # fmt: skip
    return load


GATHERING, RUNNING = (LoadState.GATHERING,), (LoadState.RUNNING,)

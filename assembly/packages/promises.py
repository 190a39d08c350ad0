"""The one place where a request changes: its row and the step that led there, together."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from assembly.ledger import Refused, check_key
from assembly.models import Request, RequestPackage, RequestState, RequestStep
from assembly.persons import Person
from catalog.actions import record
from catalog.models import Change

ENDED = (RequestState.HANDED_OVER, RequestState.NOT_MET, RequestState.WITHDRAWN)


def begin(
    pk: int, key: str, states: tuple[str, ...], person: Person | None = None
) -> tuple[Request, bool]:
    """The request, locked, and whether this key did its work before.

    Refused where it is in none of the ``states``, or ``person`` is given and not its
    holder; the words say who was faster.
    """
    check_key(key)
    request = Request.objects.select_for_update().get(pk=pk)
    if request.steps.filter(key=key).exists():
        return request, True
    check_stands(request, states, person)
    return request, False


def check_stands(request: Request, states: tuple[str, ...], person: Person | None = None) -> None:
    """Refused unless it is in one of the ``states`` and, if given, held by ``person``."""
    if request.state not in states:
        raise Refused(f"{standing(request)} Nothing was changed.")
    if person and request.holder_id != person.pk:
        raise Refused(f"{request.holder_name} has taken it. Nothing was changed.")


def standing(request: Request) -> str:
    """How a request stands, with who and when.

    It is the sentence that the slower of two people reads.
    """
    last = request.steps.last()
    state = request.get_state_display().lower()
    if last is None:
        return f"Request {request.pk} is {state}."
    when = timezone.localtime(last.at)
    because = f" ({last.reason})" if last.reason else ""
    return f"Request {request.pk} is {state}: {last.by}, {when:%H:%M}{because}."


def write(
    request: Request, person: Person, state: str, key: str, reason: str = "", **values: Any
) -> Request:
    """The next step; inside the verb's transaction.

    The row changes only if nobody wrote a step since it was read, whatever the database
    locks; and the number of a step is unique in it.
    """
    before, now, number = request.state, timezone.now(), request.last_step + 1
    ended = {"ended_at": now if state in ENDED else None}
    changed = Request.objects.filter(pk=request.pk, last_step=request.last_step).update(
        state=state, last_step=number, **ended, **values
    )
    if not changed:
        request.refresh_from_db()
        raise Refused(f"{standing(request)} Nothing was changed.")
    RequestStep(
        request=request, number=number, key=key, state=state, reason=reason, by=person.name, at=now
    ).save()
    request.refresh_from_db()
    record(person.actor(reason), Change.Verb.CHANGED, request, f"request {request.pk}",
           {"state": before}, {"state": str(state)})  # fmt: skip
    return request


def note(request: Request, person: Person, key: str, words: str) -> None:
    """A step that changes nothing but says something, also after the request has ended."""
    number = request.last_step + 1
    Request.objects.filter(pk=request.pk).update(last_step=number)
    RequestStep(request=request, number=number, key=key, state=request.state, reason=words,
                by=person.name, at=timezone.now()).save()  # fmt: skip
    record(person.actor(words), Change.Verb.CHANGED, request, f"request {request.pk}",
           {"state": request.state}, {"state": request.state})  # fmt: skip


def let_go(request: Request) -> None:
    """Its packages serve whoever needs them again; inside the verb's transaction."""
    RequestPackage.objects.filter(request=request, let_go_at=None).update(let_go_at=timezone.now())

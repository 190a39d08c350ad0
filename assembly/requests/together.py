"""All lines of one request in one press: every one of them, or none."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils import timezone

from assembly.ledger import Refused, check_key, check_locked, lock, verb, write
from assembly.models import Package, Request, RequestPackage, RequestState, RequestStep
from assembly.models.requests import RUNNING
from assembly.persons import ASK, WORK, Person
from assembly.requests import working
from assembly.requests.asking import check_time, withdraw
from assembly.requests.clocks import dated

State = RequestState


def lines_of(pk: int) -> QuerySet[Request]:
    """The lines of the request that this line belongs to, in order. DoesNotExist for no request."""
    first = Request.objects.only("pk", "asked_with").get(pk=pk).first_pk
    return Request.objects.filter(Q(pk=first) | Q(asked_with=first)).order_by("line")


def _stand(pk: int, key: str, states: Collection[str]) -> list[Request]:
    """The lines in one of the states, locked; none where this key was pressed before.

    Refused where there is none: how the line stands says why.
    """
    check_key(key)
    found = lock(lines_of(pk))
    if RequestStep.objects.filter(request__in=found, key=key).exists():
        return []
    wanted = [one for one in found if one.state in states]
    if not wanted:
        one = next(one for one in found if one.pk == pk)
        raise Refused(f"{one.standing} Nothing was changed.")
    return wanted


def _with_packages(pk: int, key: str, states: Collection[str]) -> list[Request]:
    """The same, their packages locked before them."""
    tied = RequestPackage.objects.filter(request__in=lines_of(pk), let_go_at=None)
    packages = Package.objects.filter(pk__in=tied.values("package"))
    locked = lock(packages)
    found = _stand(pk, key, states)
    check_locked(packages, locked)
    return found


@verb(WORK)
def take_all(person: Person, pk: int, key: str) -> Request:
    """All lines that nobody has are this person's."""
    for one in _stand(pk, key, (State.OPEN,)):
        working.take(person, one.pk, key)
    return Request.objects.get(pk=pk)


@verb(WORK)
def send_all(person: Person, pk: int, key: str) -> Request:
    """All lines that this person has in hand are on the way. Refused where one may not go."""
    found = _with_packages(pk, key, working.WORKING)
    mine = [one for one in found if one.holder_id == person.pk]
    if found and not mine:
        raise Refused(found[0].held_by_another)
    for one in mine:
        working.send(person, one.pk, key)
    return Request.objects.get(pk=pk)


@verb(WORK)
def hand_over_all(person: Person, pk: int, key: str) -> Request:
    """All lines that are on the way are in the hands of those who asked."""
    for one in _with_packages(pk, key, (State.ON_THE_WAY,)):
        working.hand_over(person, one.pk, key)
    return Request.objects.get(pk=pk)


@verb(ASK)
def withdraw_all(person: Person, pk: int, key: str, reason: str = "") -> Request:
    """No line is wanted any longer."""
    for one in _stand(pk, key, RUNNING):
        withdraw(person, one.pk, key, reason)
    return Request.objects.get(pk=pk)


@verb(ASK)
def put_off(person: Person, pk: int, key: str, needed_by: datetime) -> Request:
    """All lines that run are needed by another time."""
    check_time(needed_by)
    now = timezone.now()
    for one in _stand(pk, key, RUNNING):
        words = f"needed by {dated(needed_by, now)} instead of {dated(one.needed_by, now)}"
        write(one, person, key, {"needed_by": needed_by}, reason=words)
    return Request.objects.get(pk=pk)

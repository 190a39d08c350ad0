"""Who changes something, and the record of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractUser, AnonymousUser
from django.db import models, transaction
from django.utils import timezone

from catalog.models import Change, Instrument, InstrumentSet


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does it, for which batch, and why; ``account`` is the number of theirs, where one did."""

    name: str
    batch: str = ""
    reason: str = ""
    account: int | None = None


def actor_for(user: AbstractUser | AnonymousUser | Any, reason: str = "") -> Actor:
    """The signed-in person as the records name them."""
    name = user.get_full_name() if isinstance(user, AbstractUser) else ""
    return Actor(name or user.get_username(), reason=reason.strip()[:300], account=user.pk)


def plain(value: Any) -> Any:
    """``value`` as JSON can hold it: numbers and dates as text, rows by their names.

    >>> plain(Decimal("12.500")), plain([date(2026, 3, 1)])
    ('12.5', ['2026-03-01'])
    """
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, models.Model):
        return str(value)
    if isinstance(value, list | tuple | set | frozenset | models.QuerySet):
        return [plain(each) for each in value]
    return value


def as_recorded(values: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """What a thing was or became, as JSON can hold it."""
    return None if values is None else {name: plain(each) for name, each in values.items()}


def record(
    actor: Actor,
    verb: Change.Verb,
    thing: models.Model,
    key: str,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> None:
    """The change on record, in the transaction of the change itself."""
    as_change(actor, verb, thing, key, before, after).save()


def as_change(
    actor: Actor,
    verb: Change.Verb,
    thing: models.Model,
    key: str,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> Change:
    """What goes on record with the change itself; it is not saved yet."""
    return Change(
        at=timezone.now(),
        actor=actor.name,
        account=actor.account,
        verb=verb,
        kind=str(thing._meta.verbose_name),
        object_key=key,
        object_name=str(thing),
        before=as_recorded(before),
        after=as_recorded(after),
        batch=actor.batch,
        reason=actor.reason,
    )


def put(thing: models.Model, values: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Save those of ``values`` that ``thing`` does not hold yet: what it held, and holds now.

    None and "" are different.
    """
    before, after = take(thing, values)
    if after:
        thing.save(update_fields=list(after))
    return before, after


def take(thing: models.Model, values: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """As :func:`put`, but ``thing`` is not saved yet."""
    after = {name: value for name, value in values.items() if getattr(thing, name) != value}
    before = {name: getattr(thing, name) for name in after}
    for name, value in after.items():
        setattr(thing, name, value)
    return before, after


@transaction.atomic
def set_retired(actor: Actor, thing: Instrument | InstrumentSet, retired: bool) -> None:
    """Out of the lists, or back in them, never out of the records; ``actor.reason`` says why."""
    if thing.retired != retired:
        thing.retired = retired
        thing.save(update_fields=["retired"])
        verb = Change.Verb.RETIRED if retired else Change.Verb.RESTORED
        key = thing.item_number if isinstance(thing, Instrument) else thing.code
        record(actor, verb, thing, key, {"retired": not retired}, {"retired": retired})

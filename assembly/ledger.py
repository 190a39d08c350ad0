"""How a verb is done once, by somebody who may, and never half: keys, locks, steps.

A *verb* is what a person does to a build, a load, a request or a package. It carries its
permission (:func:`verb`), whoever calls it: a page, a command, another verb. It takes the
person first, and a *key* made by whoever asks. The same key again is the same press again:
it changes nothing and is told what the first one did. Its first line is the same everywhere:

- :func:`begin` locks the row and looks: the same key before? in this state? this holder's?
- :func:`write` changes the row and writes the step that says so, together;
- :func:`note` writes what the history of the whole department has to know.

**One order of locks.** Every verb locks what it changes before it looks, in this order, and rows of
one kind by their numbers: lots of supplies, packages, requests, loads, builds; then what stands in
the way of two equal new ones (a set, a sterilizer, a sealer, a container, a place, a person); empty
boxes, what is counted; tests of equipment; what waits for a coordinator; complaints; shortfalls;
loose spares last (``ORDER``). What is locked out of order is said by a warning, which fails a test.
Which rows to lock is read before they are locked; where others are found afterwards somebody was
faster (:class:`Overtaken`). That, and a deadlock of the database, is tried once more from the
start, with the same key.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable, Mapping
from contextvars import ContextVar
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.db import OperationalError, connection, models, transaction
from django.utils import timezone

from assembly.models.base.steps import WithSteps
from assembly.persons import Person
from catalog.actions import record
from catalog.models import Change

P = ParamSpec("P")
R = TypeVar("R")
M = TypeVar("M", bound=models.Model)
S = TypeVar("S", bound=WithSteps)

SHORTEST_KEY, LONGEST_KEY = 8, 64
ORDER = ("supplylot", "package", "request", "load", "build", "instrumentset", "sterilizer",
         "sealer", "container", "owncontainer", "shelfplace", "user", "loaner", "emptybox",
         "countedsupply", "equipmenttest", "question", "proposal", "complaint", "shortfall",
         "repair", "instrument")  # fmt: skip
"""The order of locks, by the names of the models."""
DEADLOCKS = {"40P01", "40001", "SQLITE_BUSY_SNAPSHOT", "SQLITE_LOCKED"}
"""PostgreSQL: deadlock detected, could not serialize; SQLite: a lock that waiting cannot get."""
NOTED = {"state": "state", "holder_name": "holder"}
"""What goes into the department's history when it changes, and its name there."""

VERBS: dict[str, str] = {}
"""Every verb by its full name, with the permission it needs."""
INSIDE: set[str] = set()
"""Every part of a verb that another module may call: see :func:`inside`."""
_locked: ContextVar[set[tuple[int, int]] | None] = ContextVar("locked", default=None)


class Refused(Exception):  # noqa: N818
    """It is not done, and nothing was changed. Says why and what to do."""


class HeldByAnother(Refused):
    """It is in somebody else's hands now: what was sent waits in the browser for its person."""


class Overtaken(Refused):
    """Somebody changed the same things since they were read: the verb is tried once more."""

    def __init__(self) -> None:
        super().__init__("Somebody else changed the same things at this moment, twice. "
                         "Nothing was changed: look at it, then press again.")  # fmt: skip


def verb(
    permission: str,
) -> Callable[[Callable[Concatenate[Person, P], R]], Callable[Concatenate[Person, P], R]]:
    """The function is a verb: in one transaction, by a person with this permission.

    Refused for anybody else. Within another verb it is part of that one's transaction.
    """

    def wrap(
        function: Callable[Concatenate[Person, P], R],
    ) -> Callable[Concatenate[Person, P], R]:
        VERBS[f"{function.__module__}.{function.__name__}"] = permission

        @wraps(function)
        def run(person: Person, /, *args: P.args, **kwargs: P.kwargs) -> R:
            check_may(person, permission)

            def once() -> R:
                with transaction.atomic():
                    return function(person, *args, **kwargs)

            return once() if _locked.get() is not None else _at_most_twice(once)

        return run

    return wrap


def permission_of(function: Callable[..., Any]) -> str:
    """The permission that a verb asks for, so that its page can ask before it reads."""
    function = getattr(function, "func", function)  # with some of its arguments given
    return VERBS[f"{function.__module__}.{function.__name__}"]


def inside(function: Callable[P, R]) -> Callable[P, R]:
    """The function is a part of verbs: it has no permission of its own, and cannot be called
    by who has not gone through a verb."""
    INSIDE.add(f"{function.__module__}.{function.__name__}")

    @wraps(function)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        _held()
        return function(*args, **kwargs)

    return run


def _held() -> set[tuple[int, int]]:
    """What the running verb has locked, by place in the order and number."""
    held = _locked.get()
    if held is None:
        raise RuntimeError("Only a verb locks and writes: see assembly.ledger.verb.")
    return held


def _at_most_twice(once: Callable[[], R]) -> R:
    try:
        return _with_locks(once)
    except (OperationalError, Overtaken) as problem:
        if connection.in_atomic_block or not _collided(problem):
            raise
    try:
        return _with_locks(once)
    except OperationalError as problem:
        if not _collided(problem):
            raise
        raise Overtaken from problem


def _with_locks(once: Callable[[], R]) -> R:
    token = _locked.set(set())
    try:
        return once()
    finally:
        _locked.reset(token)


def _collided(problem: Exception) -> bool:
    cause = problem.__cause__
    code = getattr(cause, "sqlstate", None) or getattr(cause, "sqlite_errorname", None)
    return isinstance(problem, Overtaken) or code in DEADLOCKS


def check_may(person: Person, permission: str) -> None:
    """Refused unless the person has the permission."""
    if permission not in person.permissions:
        raise Refused(f"{person.name} may not do this. Ask a coordinator.")


def check_key(key: str) -> None:
    """Refused unless the page sent a key: the same key is the same press again."""
    if not SHORTEST_KEY <= len(key) <= LONGEST_KEY:
        raise Refused("The page did not send its key. Load it again.")


def lock(rows: models.QuerySet[M]) -> list[M]:
    """These rows as they are now, by number, and nobody else's until the verb is done.

    Other rows may still refer to them meanwhile. Only inside a verb.
    """
    held = _held()
    found = list(rows.order_by("pk").select_for_update(no_key=True, of=("self",)))
    rank = ORDER.index(str(rows.model._meta.model_name))
    new = {(rank, one.pk) for one in found} - held
    if new and held and min(new) < max(held):
        warnings.warn(f"{ORDER[rank]} is locked after {ORDER[max(held)[0]]}: out of order.",
                      RuntimeWarning, stacklevel=2)  # fmt: skip
    held |= new
    return found


def lock_one(model: type[M], pk: int) -> M:
    """One row, locked as :func:`lock` does. ``model.DoesNotExist`` where there is none."""
    found = lock(model._default_manager.filter(pk=pk))
    if not found:
        raise model.DoesNotExist(f"no {model._meta.model_name} {pk}")  # type: ignore[attr-defined]
    return found[0]


def check_locked(rows: models.QuerySet[Any], locked: Iterable[models.Model]) -> None:
    """Overtaken where one of the rows that are there now was not there to be locked."""
    if set(rows.values_list("pk", flat=True)) - {one.pk for one in locked}:
        raise Overtaken


def begin(
    model: type[S], pk: int, key: str, states: Iterable[str] = (), holder: Person | None = None
) -> tuple[S, Any]:
    """The row, locked, and the step that this key wrote before, or None.

    Refused where it is in none of the ``states``, or not in the hands of ``holder``, where
    those are given; the words say who was faster.
    """
    check_key(key)
    row = lock_one(model, pk)
    before = row.steps.filter(key=key).first()
    if before:
        before.again = True
    else:
        check_stands(row, states, holder)
    return row, before


def check_stands(row: WithSteps, states: Iterable[str] = (), holder: Person | None = None) -> None:
    """Refused unless it is in one of the ``states`` and, if given, held by ``holder``."""
    if states and row.state not in states:
        raise Refused(f"{row.standing} Nothing was changed.")
    if holder and row.holder_id != holder.pk:
        raise HeldByAnother(row.held_by_another)


def begin_new(model: type[M], key: str, under: models.Model) -> M | None:
    """What this key made before, or None: a row of ``model`` may be made now.

    ``under`` is locked, so that two equal presses wait for one another there.
    """
    check_key(key)
    lock_one(type(under), under.pk)
    return model._default_manager.filter(key=key).first()


@inside
def write(
    row: WithSteps, person: Person, key: str, changes: Mapping[str, Any] | None = None, *,
    reason: str = "", noted: Mapping[str, Any] | None = None, **step: Any,
) -> Any:  # fmt: skip
    """The next step, with the ``changes`` of the row that it makes.

    The row changes only if nobody wrote a step since it was read, whatever the database
    locks. Another state or holder goes into the department's history, with what is ``noted``.
    """
    now, reason = timezone.now(), reason.strip()
    values = {**(changes or {}), "last_step": row.last_step + 1}
    if state := values.get("state"):
        values["ended_at"] = (row.ended_at or now) if state in row.ENDED else None
    unchanged = type(row)._default_manager.filter(pk=row.pk, last_step=row.last_step)
    if not unchanged.update(**values):
        raise Overtaken
    before = {name: getattr(row, field) for field, name in NOTED.items() if field in values}
    for name, value in values.items():
        setattr(row, name, value)
    after = {name: getattr(row, field) for field, name in NOTED.items() if field in values}
    if "state" not in step and hasattr(row.steps.model, "state"):
        step["state"] = row.state
    made = row.steps.create(number=row.last_step, key=key, reason=reason, **person.by,
                            at=now, **step)  # fmt: skip
    if before != after:
        note(person, row, before, {**after, **(noted or {})}, reason)
    return made


@inside
def note(
    person: Person, row: models.Model, before: Mapping[str, Any] | None,
    after: Mapping[str, Any], reason: str = "",
) -> None:  # fmt: skip
    """A change of the row, or its beginning, in the history of the whole department."""
    verb = Change.Verb.CHANGED if before else Change.Verb.ADDED
    named = row.named if isinstance(row, WithSteps) else str(row)
    record(person.actor(reason), verb, row, named, before, after)

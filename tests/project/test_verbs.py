"""Every verb of the assembly app asks for its permission itself, whoever calls it."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Callable
from functools import cache
from importlib import import_module
from pkgutil import walk_packages
from textwrap import dedent
from typing import Any

import pytest
from django.db import OperationalError

import assembly
from assembly import ledger
from assembly.ledger import Overtaken, Refused, verb
from assembly.persons import Person
from config.roles import ROLES
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

NOBODY = Person(0, "Nan Body")
WRITES = {"save", "create", "update", "update_or_create", "get_or_create", "delete", "bulk_create",
          "write", "note", "record", "atomic"}  # fmt: skip
MODULES = [import_module(one.name) for one in walk_packages(assembly.__path__, "assembly.")]
VERBS = sorted(name for name in ledger.VERBS if name.startswith("assembly."))
INSIDE = sorted(name for name in ledger.INSIDE if name.startswith("assembly."))


def named(name: str) -> Callable[..., Any]:
    module, _, function = name.rpartition(".")
    return getattr(import_module(module), function)  # type: ignore[no-any-return]


def called(function: Callable[..., Any], *given: object) -> Any:
    """With nothing for every argument that it must have but those given."""
    every = list(inspect.signature(function).parameters.values())[len(given):]  # fmt: skip
    wanted = [one for one in every if one.default is one.empty]
    by_name = {one.name: None for one in wanted if one.kind is one.KEYWORD_ONLY}
    by_place = [None for one in wanted if one.kind is not one.KEYWORD_ONLY]
    return function(*given, *by_place, **by_name)


@pytest.mark.parametrize("name", VERBS)
def test_a_verb_is_refused_to_who_may_nothing(name: str) -> None:
    with pytest.raises(Refused, match="Nan Body may not do this"):
        called(named(name), NOBODY)


@pytest.mark.parametrize("name", VERBS)
def test_what_a_verb_asks_for_somebody_has(name: str) -> None:
    assert ledger.VERBS[name] in {one for role in ROLES.values() for one in role}


@pytest.mark.parametrize("name", INSIDE)
def test_a_part_of_verbs_is_not_called_from_outside(name: str) -> None:
    with pytest.raises(RuntimeError, match="Only a verb"):
        called(named(name))


@cache
def calls_in(function: Callable[..., Any]) -> frozenset[str]:
    tree = ast.parse(dedent(inspect.getsource(function)))
    made = [one.func for one in ast.walk(tree) if isinstance(one, ast.Call)]
    return frozenset(getattr(one, "attr", getattr(one, "id", "")) for one in made)


def test_whatever_a_person_writes_is_a_verb_or_a_part_of_one() -> None:
    """A new function that takes a person and writes has no permission until it is a verb."""
    free = [
        f"{module.__name__}.{name}"
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
        and next(iter(inspect.signature(function).parameters), "") == "person"
        and calls_in(function) & WRITES
    ]  # fmt: skip
    assert set(free) <= {*VERBS, *INSIDE}


def test_there_are_verbs() -> None:
    """The walk above finds what it looks for."""
    assert {"assembly.bench.builds.count", "assembly.requests.working.send"} < set(VERBS)


class DeadlockError(Exception):
    sqlstate = "40P01"


def deadlocked(times: int, code: str = "40P01") -> tuple[Callable[[Person], str], list[str]]:
    """A verb that the database gives up so many times; what it was called with."""
    pressed: list[str] = []
    may = frozenset({"assembly.assemble"})

    @verb("assembly.assemble")
    def press(person: Person, key: str) -> str:
        pressed.append(key)
        if len(pressed) > times:
            return "done"
        cause = DeadlockError()
        cause.sqlstate = code
        raise OperationalError("given up") from cause

    return lambda person: press(Person(person.pk, person.name, may), "the-one-key"), pressed


@pytest.mark.django_db(transaction=True)
class TestGivenUpByTheDatabase:
    def test_a_deadlock_is_tried_again_with_the_same_key(self) -> None:
        press, pressed = deadlocked(1)
        assert (press(NOBODY), pressed) == ("done", ["the-one-key", "the-one-key"])

    def test_twice_it_says_so_in_a_sentence(self) -> None:
        press, pressed = deadlocked(2)
        with pytest.raises(Overtaken, match="Nothing was changed"):
            press(NOBODY)
        assert len(pressed) == 2

    def test_another_failure_is_not_tried_again(self) -> None:
        press, pressed = deadlocked(1, "57014")
        with pytest.raises(OperationalError):
            press(NOBODY)
        assert len(pressed) == 1


@pytest.mark.django_db
def test_locked_out_of_order_is_said(recwarn: pytest.WarningsRecorder) -> None:
    one, package = ask.a_request(), ask.a_package(make.Instrument())

    @verb("assembly.assemble")
    def backwards(person: Person) -> None:
        ledger.lock_one(type(one), one.pk)
        ledger.lock_one(type(package), package.pk)

    with pytest.warns(RuntimeWarning, match="package is locked after request"):
        backwards(at.person())

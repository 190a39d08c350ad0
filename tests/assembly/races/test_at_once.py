"""Two people at the same moment, on a SQLite file as a department runs it."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, connections
from django.db.backends.sqlite3.base import DatabaseWrapper

from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Request, Shortfall
from assembly.packages import recording as packages
from assembly.packages import shelf
from assembly.persons import Person
from assembly.requests import working
from assembly.shortfalls import causes
from assembly.shortfalls.replenishing import replenish
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif("connection.vendor != 'sqlite'", reason="copies a SQLite database"),
]
PEOPLE = 6


def as_file(path: Path) -> dict[str, Any]:
    """The test's database copied to a file; the settings that open it."""
    connection.ensure_connection()
    with sqlite3.connect(path) as copy:
        connection.connection.backup(copy)
    copy.close()
    return {**connection.settings_dict, "NAME": str(path)}


def on(settings: dict[str, Any], work: Callable[[], Any]) -> Any:
    """Runs with this file as the thread's database."""
    connections["default"] = DatabaseWrapper(settings, "default")
    try:
        return work()
    finally:
        connections["default"].close()


def all_at_once(settings: dict[str, Any], verb: Callable[[Person], Any],
                people: list[Person]) -> list[str]:  # fmt: skip
    """What each person got: ``done`` or the words of the refusal."""
    ready, answers = threading.Barrier(len(people)), []

    def press(person: Person) -> None:
        ready.wait()
        try:
            on(settings, lambda: verb(person))
            answers.append("done")
        except Refused as problem:
            answers.append(str(problem))

    threads = [threading.Thread(target=press, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return answers


def asked_of_file(settings: dict[str, Any], query: Callable[[], Any]) -> Any:
    found: list[Any] = []
    thread = threading.Thread(target=lambda: found.append(on(settings, query)))
    thread.start()
    thread.join(timeout=30)
    return found[0]


@pytest.fixture
def people() -> list[Person]:
    return [at.person(f"Person {number}") for number in range(PEOPLE)]


def test_one_person_takes_a_request(tmp_path: Path, people: list[Person]) -> None:
    one = ask.a_request()
    file = as_file(tmp_path / "once.sqlite3")
    answers = all_at_once(file, lambda person: working.take(person, one.pk, at.key()), people)
    assert (len(answers), answers.count("done")) == (PEOPLE, 1)


def test_the_others_read_who_it_was(tmp_path: Path, people: list[Person]) -> None:
    one = ask.a_request()
    file = as_file(tmp_path / "once.sqlite3")
    answers = all_at_once(file, lambda person: working.take(person, one.pk, at.key()), people)
    holder = asked_of_file(file, lambda: Request.objects.get(pk=one.pk).holder_name)
    refused = [words for words in answers if words != "done"]
    assert all(f"is taken: {holder}" in words for words in refused)


def test_a_package_is_handed_over_once(tmp_path: Path, people: list[Person]) -> None:
    package = ask.on_shelf(make.Instrument())
    file = as_file(tmp_path / "once.sqlite3")
    answers = all_at_once(
        file, lambda person: shelf.hand_over(person, package, f"to {person.name}", at.key()), people
    )
    moves = asked_of_file(file, package.steps.count)
    assert (answers.count("done"), moves) == (1, 2)


def test_no_more_come_back_than_were_short(tmp_path: Path, people: list[Person]) -> None:
    instrument = ask.short_set("TS-5", 2).shortfalls.get().instrument
    key = causes.waiting_for(instrument)[0].key
    file = as_file(tmp_path / "once.sqlite3")
    answers = all_at_once(
        file, lambda person: replenish(person, instrument, {key: 1}, at.key()), people
    )
    returned = asked_of_file(file, lambda: Shortfall.objects.get().returned)
    assert (answers.count("done"), len(answers), returned) == (2, PEOPLE, 2)


def test_pressed_by_six_with_one_key_it_counts_once(tmp_path: Path, people: list[Person]) -> None:
    instrument = ask.short_set("TS-5", 3).shortfalls.get().instrument
    key = causes.waiting_for(instrument)[0].key
    file = as_file(tmp_path / "once.sqlite3")
    all_at_once(
        file, lambda person: replenish(person, instrument, {key: 1}, "pressed-once"), people
    )
    assert asked_of_file(file, lambda: Shortfall.objects.get().returned) == 1


def test_each_package_from_the_spares_is_counted_down(tmp_path: Path, people: list[Person]) -> None:
    make.Pouch()
    instrument = make.Instrument(spares_on_hand=10)
    answer = decide_for_instrument(instrument)
    plan = replace(at.plan_for(instrument), from_spares=True)
    file = as_file(tmp_path / "once.sqlite3")
    all_at_once(
        file, lambda person: packages.pack_single(person, instrument, answer, plan, at.key()),
        people,
    )  # fmt: skip
    left = asked_of_file(file, lambda: Instrument.objects.get().spares_on_hand)
    assert left == 10 - PEOPLE

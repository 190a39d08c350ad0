"""Requests at the same moment, run by ``test_races.py`` in processes of their own.

The in-memory database of the other tests cannot be shared by threads: these want a
``DATABASE_URL`` that names a file or a server, and are not collected with the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pytest

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Build, BuildEvent, Load, Package
from assembly.packages import recording as packages
from assembly.sterilizing import gathering, releasing
from tests.at_once import together
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

AT_ONCE = 6


def all_at_once(what: Callable[[int], Any], times: int = AT_ONCE) -> list[Any]:
    """``what`` that many times at the same moment, with the number of each."""
    return together(*(partial(what, number) for number in range(times)))


@pytest.fixture
def build(transactional_db: None) -> Iterator[Build]:
    yield at.a_build(at.a_set(wanted=(1, 4)))


def test_the_same_count_at_once_counts_once(build: Build) -> None:
    person, line = at.person(), tally_of(build).lines[1].line
    all_at_once(lambda _: builds.count(person, build.pk, line.pk, 1, "sent-together"))
    assert tally_of(build).inside == 1


def test_the_same_count_at_once_is_nobodys_error(build: Build) -> None:
    person, line = at.person(), tally_of(build).lines[1].line
    done = all_at_once(lambda _: builds.count(person, build.pk, line.pk, 1, "sent-together"))
    assert sorted(one.again for one in done) == [False] + [True] * (AT_ONCE - 1)


def test_different_counts_at_once_never_pass_what_is_wanted(build: Build) -> None:
    person, line = at.person(), tally_of(build).lines[1].line
    done = all_at_once(lambda n: builds.count(person, build.pk, line.pk, 1, f"another-key-{n}"))
    refused = [one for one in done if isinstance(one, Refused)]
    assert (tally_of(build).inside, len(refused)) == (4, AT_ONCE - 4)


def test_a_set_begun_twice_at_once_is_one_build(transactional_db: None) -> None:
    found, person = at.a_set(), at.person()
    all_at_once(lambda _: builds.start(person, found, "begun-together"))
    assert Build.objects.count() == 1


def test_signed_twice_at_once_it_is_one_package(build: Build) -> None:
    person = at.person()
    at.complete(build)
    signing.pack(person, build.pk, at.all_yes(build), at.key())
    all_at_once(lambda _: signing.sign(person, build.pk, "signed-together"))
    assert Package.objects.count() == 1


def test_a_single_package_recorded_twice_at_once_is_one(transactional_db: None) -> None:
    make.Pouch()
    instrument, person = make.Instrument(), at.person()
    answer, plan = decide_for_instrument(instrument), at.plan_for(instrument)
    all_at_once(lambda _: packages.pack_single(person, instrument, answer, plan, "packed-together"))
    assert Package.objects.count() == 1


def test_taken_over_by_two_at_once_it_belongs_to_the_last_on_record(build: Build) -> None:
    people = [at.person("Ida Crow"), at.person("Ned Shaw")]
    all_at_once(lambda n: builds.take_over(people[n], build.pk, f"taking-key-{n}"), 2)
    build.refresh_from_db()
    last = BuildEvent.objects.filter(build=build, kind="taken").last()
    assert last is not None and last.data["to"] == build.holder_name


def test_a_load_begun_twice_at_once_is_one_load(transactional_db: None) -> None:
    sterilizer, programme, person = loads.a_sterilizer(), loads.a_programme(), at.person()
    all_at_once(lambda _: gathering.begin_load(person, sterilizer, programme, 1, "begun-together"))
    assert Load.objects.count() == 1


def test_a_cycle_begun_by_many_at_once_is_one_load(transactional_db: None) -> None:
    sterilizer, programme, person = loads.a_sterilizer(), loads.a_programme(), at.person()
    all_at_once(lambda n: gathering.begin_load(person, sterilizer, programme, 1, f"begin-key-{n}"))
    assert Load.objects.count() == 1


def test_a_package_put_into_many_loads_at_once_is_in_one(transactional_db: None) -> None:
    package, person = ask.a_package(make.Instrument()), at.person()
    many = [loads.a_load() for _ in range(AT_ONCE)]
    Load.objects.update(programme=package.method)
    all_at_once(lambda n: gathering.add(person, many[n].pk, package, f"adding-key-{n}"))
    assert package.loaded.count() == 1


def test_many_packages_put_in_at_once_are_all_in(transactional_db: None) -> None:
    found = [ask.a_package(make.Instrument()) for _ in range(AT_ONCE)]
    load, person = loads.a_load(), at.person()
    Load.objects.update(programme=found[0].method)
    all_at_once(lambda n: gathering.add(person, load.pk, found[n], f"adding-key-{n}"))
    assert load.loaded.count() == AT_ONCE


def test_released_and_held_back_at_once_it_is_one_of_them(transactional_db: None) -> None:
    load, person = loads.running(ask.a_package(make.Instrument())), at.person()

    def end(number: int) -> Load:
        if number % 2:
            return releasing.hold_back(person, load.pk, {}, "", f"ending-key-{number}", "wet")
        return releasing.release(person, load.pk, loads.all_yes(), "none", f"ending-key-{number}")

    all_at_once(end)
    ended = load.steps.filter(state__in=["released", "not released"])
    assert ended.count() == 1

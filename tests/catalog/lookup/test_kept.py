"""Names kept in memory are those on record, whoever wrote them and however.

PostgreSQL runs this file too (``tests/project/commands/test_on_postgresql.py``).
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from catalog import actions
from catalog.actions.many_sets import ManySets
from catalog.actions.staging import in_one_step
from catalog.lookup import matching
from catalog.lookup.finding import find
from catalog.lookup.kept import names_of
from catalog.lookup.words.query import read_query
from catalog.models import Instrument
from tests.bench.desk import lookup as department
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
ACTOR = actions.Actor("Bea Hartsop", batch="a list")


def guessed(words: str) -> list[str]:
    return [str(one) for one in (*find(words).instruments, *find(words).sets)]


def in_a_step(do: Any) -> None:
    in_one_step(ACTOR, do)


def test_one_by_one() -> None:
    one = make.Instrument(item_number="T-1", name="Weitlaner")
    make.Instrument(item_number="T-2", name="Kocher")
    assert guessed("weitlander") == ["T-1 Weitlaner"]
    actions.change_instrument(ACTOR, one, {"name": "Metzenbaum"})
    assert (guessed("weitlander"), guessed("metzembaum")) == ([], ["T-1 Metzenbaum"])
    actions.set_retired(ACTOR, one, retired=True)
    assert guessed("metzembaum") == []


def test_many_in_one_step() -> None:
    values = {"item_number": "T-1", "name": "Weitlaner"}
    assert guessed("weitlander") == []
    in_a_step(lambda staging: staging.add([(values, ())]))
    assert guessed("weitlander") == ["T-1 Weitlaner"]
    one = Instrument.objects.prefetch_related("cycles").get()
    in_a_step(lambda staging: staging.change([(one, {"name": "Metzenbaum"}, None)]))
    assert (guessed("weitlander"), guessed("metzembaum")) == ([], ["T-1 Metzenbaum"])
    in_a_step(lambda staging: staging.remove([one]))
    assert guessed("metzembaum") == []


def test_many_sets_in_one_step() -> None:
    assert guessed("orthopedixx") == []
    sets = ManySets(ACTOR)
    made = sets.add({"code": "TS-1", "name": "Hand", "service": "Orthopedics"})
    sets.ready()
    with transaction.atomic():
        sets.write()
    assert guessed("orthopedixx") == ["TS-1 Hand"]
    again = ManySets(ACTOR)
    again.remove([made], [])
    again.ready()
    with transaction.atomic():
        again.write()
    assert guessed("orthopedixx") == []


def test_what_was_taken_back_is_forgotten() -> None:
    with transaction.atomic():
        make.Instrument(item_number="T-1", name="Weitlaner")
        assert guessed("weitlander") == ["T-1 Weitlaner"]
        transaction.set_rollback(True)
    assert guessed("weitlander") == []
    make.Instrument(item_number="T-2", name="Kocher")
    assert (guessed("weitlander"), guessed("kochher")) == ([], ["T-2 Kocher"])


def test_names_that_did_not_change_are_not_read_again() -> None:
    one = make.Instrument(name="Weitlaner")
    find("weitlander")
    actions.change_instrument(ACTOR, one, {"weight_g": 41})
    with CaptureQueriesContext(connection) as found:
        find("weitlander")
    read = [query["sql"] for query in found.captured_queries if "also_known_as" in query["sql"]]
    assert len(read) == 1 and " IN (" in read[0]  # the one that is shown


def test_many_in_bulk_as_the_bench_of_the_look_up_makes_them() -> None:
    assert guessed("needel holder") == []
    department.fill(40)
    assert "needle holder" in guessed("needel holder")[0] and find("needel holder").guessed


def test_the_first_of_many_are_the_first_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """The database is asked about few of them, and about those called so as a whole."""
    department.fill(60)
    make.Instrument(item_number="ZZ-1", name="Grasper", also_known_as="x; needle holder; Retractor")
    make.Instrument(item_number="ZZ-2", name="Scissors")
    monkeypatch.setattr(matching, "FEW", 8)
    names, rows = names_of([Instrument])[Instrument], Instrument.objects.filter(retired=False)
    for words in (
        "needle holder",
        "scissors",
        "retractor",
        "forceps straight",
        "hemostat",
        "mm",
        "forceps 20 cm",
        "needle holder 6 in",
    ):
        query = read_query(words)
        with CaptureQueriesContext(connection) as asked:
            found = matching._first(query, rows, 3, names)
        assert found == list(matching.matching(query, rows)[:3]), words
        assert all(" IN (" in one["sql"] for one in asked.captured_queries) or words == "hemostat"

"""What decisions start from is kept until it changes, whoever changes it, and no longer."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import department, the_same_department
from assembly.models import Basis, PolicyOverride
from catalog import models
from catalog.models import Pouch
from config import watched
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def own_value(value: float = 30.0) -> PolicyOverride:
    return PolicyOverride.objects.create(
        name="side_clearance_mm", value=value, since=date(2026, 1, 1), source="a trial",
        reason="wider seals", set_by="Bea", set_at=timezone.now(),
    )  # fmt: skip


def raw(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


def change(name: str) -> None:
    """One change of each watched table, each in its own manner."""
    pouch, container = Pouch.objects.get(code="P"), models.Container.objects.get(code="C")
    programme = models.Programme.objects.get(code="S")
    changes: dict[str, Callable[[], object]] = {
        "catalog.Pouch": lambda: Pouch.objects.filter(code="P").update(in_stock=False),
        "catalog.Pouch_doubles_in": lambda: pouch.doubles_in.add(Pouch.objects.get(code="O")),
        "catalog.Roll": lambda: models.Roll.objects.create(code="R", name="roll"),
        "catalog.Wrap": lambda: models.Wrap.objects.filter(code="W").delete(),
        "catalog.Container": lambda: raw("UPDATE catalog_container SET tare_g = 1"),
        "catalog.Container_programmes": lambda: container.programmes.set([programme]),
        "catalog.Protector": lambda: models.Protector.objects.bulk_create([
            models.Protector(code="T2", name="tip"), models.Protector(code="T3", name="tip"),
        ]),
        "catalog.Programme": lambda: models.Programme.objects.update(active=False),
        "catalog.LumenClaim": lambda: programme.claims.create(
            material="metal", bore_mm=1, length_mm=100
        ),
        "assembly.PolicyOverride": own_value,
    }  # fmt: skip
    changes[name]()


@pytest.mark.parametrize("name", watched.WATCHED)
def test_any_change_of_it_is_seen(name: str) -> None:
    for code in ("P", "O"):
        make.Pouch(code=code)
    make.Container(code="C")
    models.Wrap.objects.create(code="W", name="wrap")
    models.Programme.objects.create(code="S", method="steam")
    before = department()
    assert department() is before
    change(name)
    assert department().word != before.word


def test_all_that_is_read_is_watched() -> None:
    for code in ("P", "O"):
        make.Pouch(code=code)
    make.Container()
    models.Programme.objects.create(code="S", method="steam")
    with CaptureQueriesContext(connection) as asked:
        here = department()
        assert here.stock and here.programmes and here.protectors == ()
        assert here.policy(date(2026, 1, 1))
    read = {name for one in asked for name in re.findall(r'(?:FROM|JOIN) "(\w+)"', one["sql"])}
    assert read == {Basis._meta.db_table, *watched.tables()}


def test_what_stands_is_asked_for_with_one_query(django_assert_num_queries: Callable) -> None:
    make.Pouch()
    here = department()
    assert len(here.stock) == 1
    assert here.policy(date(2026, 1, 1)) is here.policy(date(2026, 1, 1))
    with django_assert_num_queries(1):
        assert department().stock is here.stock


def test_while_a_page_is_read_it_is_asked_for_once(
    django_assert_num_queries: Callable, technician: Client
) -> None:
    with the_same_department(), django_assert_num_queries(1):
        assert department() is department()
    make.Pouch(code="P-1")
    with the_same_department():
        before = department()
        make.Pouch(code="P-2")
        assert department() is before
    assert [one.code for one in department().stock] == ["P-1", "P-2"]
    with CaptureQueriesContext(connection) as asked:
        technician.get("/bench/")
    assert [one["sql"] for one in asked if Basis._meta.db_table in one["sql"]] == [
        f'SELECT word FROM "{Basis._meta.db_table}"'
    ]


def test_a_decision_follows_the_stock() -> None:
    item = make.Instrument()
    taken = [make.Pouch(code=code, cost=cost).code for code, cost in (("P1", 1), ("P2", 2))]
    assert decide_for_instrument(item).decision.recommended.code == taken[0]
    Pouch.objects.filter(code="P1").update(in_stock=False)
    assert decide_for_instrument(item).decision.recommended.code == taken[1]


def test_what_is_rolled_back_is_forgotten() -> None:
    make.Pouch(code="P1", cost=1)
    before = department()
    kept = before.stock
    with transaction.atomic():
        Pouch.objects.update(code="P2")
        assert [one.code for one in department().stock] == ["P2"]
        transaction.set_rollback(True)
    assert department() is before
    assert department().stock is kept
    Pouch.objects.update(code="P3")
    assert [one.code for one in department().stock] == ["P3"]


def test_without_a_word_nothing_is_kept() -> None:
    Basis.objects.all().delete()
    here = department()
    assert department() is not here
    make.Pouch()
    assert department().word is not None


def test_each_migrate_makes_lost_triggers_again() -> None:
    if connection.vendor == "sqlite":
        raw("DROP TRIGGER catalog_pouch_basis_insert")
    else:
        raw("DROP TRIGGER catalog_pouch_basis ON catalog_pouch")
    lost = department()
    make.Pouch()
    assert department() is lost
    watched.watch(connection)
    assert department() is not lost
    again = department()
    make.Pouch()
    assert department() is not again

"""Shortages and what requests counted become shortfalls, and nothing on record is lost."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from shutil import copy
from typing import Any

import environ
import pytest
from django.apps.registry import Apps
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import ConnectionHandler
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

from tests import postgres

BEFORE = [("assembly", "0004_loads")]
AFTER = [("assembly", "0007_shortfalls_alone")]
NOW = timezone.now()


def open_database(url: str) -> None:
    """The thread's database from now on."""
    made = ConnectionHandler({"default": environ.Env.db_url_config(url)})
    connections["default"] = made["default"]


def migrate(to: list[tuple[str, str]]) -> Apps:
    MigrationExecutor(connection).migrate(to)
    return MigrationExecutor(connection).loader.project_state(to).apps


@pytest.fixture(
    scope="module",
    params=["SQLite", pytest.param("PostgreSQL", marks=pytest.mark.needs("PostgreSQL"))],
)
def fresh(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory,
    django_db_blocker: DjangoDbBlocker,
) -> Iterator[Any]:  # fmt: skip
    """Gives the address of another database each time, as it was before, without rows."""
    own = connections["default"]
    with django_db_blocker.unblock():
        try:
            if request.param == "SQLite":
                yield _files(tmp_path_factory.mktemp("before"))
            else:
                with postgres.server() as url:
                    yield _on_server(url)
        finally:
            connections["default"].close()
            connections["default"] = own


def _files(folder: Path) -> Any:
    open_database(f"sqlite:///{folder}/before")
    migrate(BEFORE)
    connection.close()
    return lambda name: f"sqlite:///{copy(folder / 'before', folder / name)}"


def _on_server(url: str) -> Any:
    def make(name: str, like: str = "before") -> str:
        connection.close()
        open_database(url)
        with connection.cursor() as cursor:
            cursor.execute(f"CREATE DATABASE {name} TEMPLATE {like}")
        connection.close()
        return f"{url.rpartition('/')[0]}/{name}"

    open_database(make("before", "template1"))
    migrate(BEFORE)
    return make


@pytest.fixture
def old(fresh: Any, request: pytest.FixtureRequest) -> Iterator[Old]:
    open_database(fresh(f"t{abs(hash(request.node.nodeid))}"))
    yield Old(MigrationExecutor(connection).loader.project_state(BEFORE).apps)
    connection.close()


class Old:
    """Rows as they were before, made one by one."""

    def __init__(self, apps: Apps) -> None:
        self.model = lambda name, app="assembly": apps.get_model(app, name)
        self.instrument = self.make("Instrument", "catalog", item_number="T-1", name="Forceps")
        self.sets = [
            self.make("InstrumentSet", "catalog", code=code, name=f"Set {code}")
            for code in ("TS-1", "TS-2")
        ]

    def make(self, kind: str, app: str = "assembly", /, **values: Any) -> Any:
        return self.model(kind, app).objects.create(**values)

    def package(self, number: int, **values: Any) -> Any:
        sheet = self.make("CountSheet", "catalog", instrument_set=self.sets[0], revision=number)
        build = self.make(
            "Build", start_key=f"build-{number}", instrument_set=self.sets[0], count_sheet=sheet,
            set_code="TS-1", set_name="Set TS-1", holder_name="Tam", held_since=NOW,
            started_by="Tam", started_at=NOW,
        )  # fmt: skip
        return self.make(
            "Package", key=f"package-{number}", code=f"PK-{number}", kind="set", what="Set TS-1",
            number="TS-1", pieces=2, build=build, contents=[], supply="container", use_by=None,
            decision={}, checks=[], packed_by="Tam", packed_at=NOW, **values,
        )  # fmt: skip

    def shortage(self, package: Any, **values: Any) -> Any:
        return self.make(
            "Shortage", package=package, instrument=self.instrument, item_number="T-1",
            name="Forceps", quantity=3, opened_by="Tam", opened_at=NOW, **values,
        )  # fmt: skip

    def request(self, number: int, **values: Any) -> Any:
        given = {"instrument": self.instrument, "missing_from": self.sets[1], **values}
        return self.make(
            "Request", key=f"request-{number}", what="Forceps", number="T-1", quantity=2,
            department="Main theatres", where="Theatre 3", needed_by=NOW, asked_by="Lis",
            asked_at=NOW + timedelta(minutes=number), **given,
        )  # fmt: skip

    def back(self, pieces: int, **which: Any) -> Any:
        return self.make("PiecesBack", key=f"back-{pieces}-key", pieces=pieces, by="Ola", at=NOW,
                         because="washer", **which)  # fmt: skip


def after() -> list[Any]:
    return list(migrate(AFTER).get_model("assembly", "Shortfall").objects.order_by("pk"))


def test_a_shortage_keeps_its_number_its_counts_and_its_set(old: Old) -> None:
    before = old.shortage(old.package(1), returned=1)
    one = after()[0]
    assert (one.pk, one.kind, one.returned, one.instrument_set_id, one.package_id) == (
        before.pk, "packed short", 1, old.sets[0].pk, before.package_id
    )  # fmt: skip


def test_what_came_back_stays_with_it(old: Old) -> None:
    old.back(1, shortage=old.shortage(old.package(1), returned=1))
    one = after()[0]
    assert list(one.back.values_list("pieces", "by", "because")) == [(1, "Ola", "washer")]


def test_what_was_missed_in_theatre_has_a_row_of_its_own(old: Old) -> None:
    before = old.request(1, returned=1)
    old.back(1, request=before)
    one = after()[0]
    assert (one.kind, one.request_id, one.quantity, one.returned, one.instrument_set_id) == (
        "missed in theatre", before.pk, 2, 1, old.sets[1].pk
    )  # fmt: skip
    assert (one.opened_by, one.opened_at, one.closed_at) == ("Lis", before.asked_at, None)
    assert one.back.get().pieces == 1


def test_who_put_it_back_and_why_is_kept(old: Old) -> None:
    old.request(1, returned=2, replenished_at=NOW, replenished_by="Ola",
                replenished_because="found")  # fmt: skip
    one = after()[0]
    assert (one.returned, one.closed_at, one.closed_by, one.closed_because) == (
        2, NOW, "Ola", "found"
    )  # fmt: skip


def test_a_request_for_no_sets_gap_has_none(old: Old) -> None:
    old.request(1, missing_from=None)
    old.request(2, instrument=None)
    assert after() == []


def test_what_its_package_was_known_to_go_without_is_not_counted_twice(old: Old) -> None:
    package = old.package(1)
    old.shortage(package)
    old.request(1, missing_in_package=package)
    assert [one.kind for one in after()] == ["packed short"]


def test_counted_on_such_a_request_all_the_same_it_is_kept_and_closed(old: Old) -> None:
    package = old.package(1)
    old.shortage(package)
    old.back(1, request=old.request(1, missing_in_package=package, returned=1))
    _, one = after()
    assert (one.returned, one.back.count(), one.closed_at is None) == (1, 1, False)
    assert "counted with the package" in one.closed_because


def test_back_again_all_is_as_it_was(old: Old) -> None:
    shortage = old.shortage(old.package(1), returned=1)
    request = old.request(1, returned=2, replenished_at=NOW, replenished_by="Ola")
    old.back(1, shortage=shortage)
    old.back(2, request=request)
    after()
    apps = migrate(BEFORE)
    again = apps.get_model("assembly", "Request").objects.get()
    assert (again.returned, again.replenished_at, again.replenished_by) == (2, NOW, "Ola")
    rows = apps.get_model("assembly", "PiecesBack").objects
    assert sorted(rows.values_list("pieces", "shortage", "request"), key=lambda row: row[0]) == [
        (1, shortage.pk, None), (2, None, request.pk)
    ]  # fmt: skip

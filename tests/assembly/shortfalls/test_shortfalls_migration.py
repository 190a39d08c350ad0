"""Shortages and what requests counted become shortfalls, and nothing on record is lost."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.apps.registry import Apps
from django.db import connection
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

from tests import databases
from tests.migrating import as_it_was, migrated_to, own_database

pytestmark = [
    pytest.mark.own_database,
    pytest.mark.unmeasured,
    pytest.mark.xdist_group("shortfalls-migration"),
]

BEFORE, AFTER = ("assembly", "0005_one_ledger"), ("assembly", "0008_shortfalls_alone")
NOW = timezone.now()


@pytest.fixture(scope="module")
def moved(
    tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker
) -> Iterator[Old]:
    """A database of its own with rows of every kind, made before and migrated since; on the
    server where the tests have one (``tests/project/commands/test_on_postgresql.py``)."""
    with (
        databases.empty_beside(connection, tmp_path_factory.mktemp("moved")) as url,
        own_database(url, django_db_blocker),
    ):
        old = Old(as_it_was(*BEFORE))
        old.after = migrated_to(*AFTER)
        yield old


class Old:
    """Rows as they were before; ``after`` has the models that they have now."""

    after: Apps

    def __init__(self, apps: Apps) -> None:
        self.model = lambda name, app="assembly": apps.get_model(app, name)
        self.instrument = self.make("Instrument", "catalog", item_number="T-1", name="Forceps")
        self.sets = [
            self.make("InstrumentSet", "catalog", code=code, name=f"Set {code}")
            for code in ("TS-1", "TS-2")
        ]
        self.short = self.shortage(self.package(1), returned=1)
        self.back(1, shortage=self.short)
        self.missed = self.request(1, returned=1)
        self.back(1, request=self.missed)
        self.closed = self.request(
            2, returned=2, replenished_at=NOW, replenished_by="Ola", replenished_because="found"
        )
        self.not_short = [self.request(3, missing_from=None), self.request(4, instrument=None)]
        package = self.short.package
        self.known = self.request(5, missing_in_package=package)
        self.counted = self.request(6, missing_in_package=package, returned=1)
        self.back(1, request=self.counted)

    def shortfall_of(self, request: Any) -> Any:
        """What became of a request, after the migration; None for nothing."""
        rows = self.after.get_model("assembly", "Shortfall").objects
        return rows.filter(request=request.pk).first()

    def make(self, kind: str, app: str = "assembly", /, **values: Any) -> Any:
        return self.model(kind, app).objects.create(**values)

    def package(self, number: int, **values: Any) -> Any:
        sheet = self.make("CountSheet", "catalog", instrument_set=self.sets[0], revision=number)
        build = self.make(
            "Build", key=f"build-{number}", instrument_set=self.sets[0], count_sheet=sheet,
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
            department="Main ORs", where="OR 3", needed_by=NOW, asked_by="Lis",
            asked_at=NOW + timedelta(minutes=number), **given,
        )  # fmt: skip

    def back(self, pieces: int, **which: Any) -> Any:
        return self.make("PiecesBack", key="one-key-of-all", pieces=pieces, by="Ola", at=NOW,
                         because="washer", **which)  # fmt: skip


class TestForward:
    @pytest.fixture
    def short(self, moved: Old) -> Any:
        return moved.after.get_model("assembly", "Shortfall").objects.get(pk=moved.short.pk)

    def test_a_shortage_keeps_its_number_its_counts_and_its_set(
        self, moved: Old, short: Any
    ) -> None:
        assert (short.kind, short.returned, short.instrument_set_id, short.package_id) == (
            "packed short", 1, moved.sets[0].pk, moved.short.package_id
        )  # fmt: skip

    def test_what_came_back_stays_with_it(self, short: Any) -> None:
        assert list(short.back.values_list("pieces", "by", "because")) == [(1, "Ola", "washer")]

    def test_what_was_missed_in_the_or_has_a_row_of_its_own(self, moved: Old) -> None:
        one = moved.shortfall_of(moved.missed)
        assert (one.kind, one.quantity, one.returned, one.instrument_set_id) == (
            "missed in theatre", 2, 1, moved.sets[1].pk
        )  # fmt: skip
        assert (one.opened_by, one.opened_at, one.closed_at) == ("Lis", moved.missed.asked_at, None)

    def test_what_came_back_for_it_goes_with_it(self, moved: Old) -> None:
        assert moved.shortfall_of(moved.missed).back.get().pieces == 1

    def test_who_put_it_back_and_why_is_kept(self, moved: Old) -> None:
        one = moved.shortfall_of(moved.closed)
        assert (one.returned, one.closed_at, one.closed_by, one.closed_because) == (
            2, NOW, "Ola", "found"
        )  # fmt: skip

    def test_a_request_for_no_sets_gap_has_none(self, moved: Old) -> None:
        assert [moved.shortfall_of(one) for one in moved.not_short] == [None, None]

    def test_what_its_package_was_known_to_go_without_is_not_counted_twice(
        self, moved: Old
    ) -> None:
        assert moved.shortfall_of(moved.known) is None

    def test_counted_on_such_a_request_all_the_same_it_is_kept_and_closed(self, moved: Old) -> None:
        one = moved.shortfall_of(moved.counted)
        assert (one.returned, one.back.count(), one.closed_at is None) == (1, 1, False)
        assert "counted with the package" in one.closed_because


class TestBackward:
    """The last: it leaves the database as it was before."""

    def test_all_is_as_it_was(self, moved: Old) -> None:
        again = migrated_to(*BEFORE)
        fields = ("pk", "returned", "replenished_at", "replenished_by", "replenished_because")
        for before in (moved.missed, moved.closed, moved.known, moved.counted):
            now = again.get_model("assembly", "Request").objects.get(pk=before.pk)
            assert [getattr(now, name) for name in fields] == [
                getattr(before, name) for name in fields
            ]
        rows = again.get_model("assembly", "PiecesBack").objects
        assert set(rows.values_list("shortage", "request")) == {
            (moved.short.pk, None), (None, moved.missed.pk), (None, moved.counted.pk)
        }  # fmt: skip

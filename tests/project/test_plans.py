"""What is asked most goes by an index: it reads no table that grows from end to end.

PostgreSQL runs this file too (``tests/project/commands/test_on_postgresql.py``).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.models import Package, Request, RequestPackage, Shortfall
from assembly.packages import lots, shelf
from catalog.pages import records
from tests import plans
from tests.bench.desk.many_packages import Department
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("plans")]


MANY = 3000
"""So many packages that PostgreSQL finds one by an index; SQLite does with none."""
BETWEEN = timedelta(days=1)
"""From two of them to the next two: what is asked of some weeks is a part of four years."""


def gone() -> list[Package]:
    """A set and a single package that were asked for, sterilized and handed over."""
    instrument = make.Instrument(item_number="T-0")
    packages = [at.signed(at.a_build(at.a_set("TS-0"))), ask.a_package(instrument)]
    loads.released(*packages)
    asked, now = ask.a_request(instrument), timezone.now()
    for one in packages:
        shelf.hand_over(at.person(), one, "OR 3", at.key())
    RequestPackage.objects.create(request=asked, package=packages[1], tied_by="Tam", tied_at=now)
    Request.objects.filter(pk=asked.pk).update(state="handed over", ended_at=now)
    Shortfall.objects.create(
        kind="packed short", instrument_set=packages[0].build.instrument_set, package=packages[0],
        instrument=instrument, item_number="T-0", name="Forceps", quantity=1, returned=1,
        opened_by="Tam", opened_at=now, closed_at=now,
    )  # fmt: skip
    return packages


@pytest.fixture(scope="module")
def behind_it(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """What was packed long ago."""
    with kept_meanwhile(django_db_blocker):
        if connection.vendor == "postgresql":
            loads.a_sterilizer()
            lots.open_lot(at.person(), "label:package", "L-1", at.key())
            Department(gone, MANY, BETWEEN).grow(MANY, at_once=100)
        yield


def most_used() -> list[str]:
    """Addresses of a department with a little of everything."""
    instrument, short = make.Instrument(item_number="T-1"), make.Instrument(item_number="T-2")
    build, signed = at.a_build(), at.signed(at.a_build(at.a_set("TS-2")))
    single, asked = ask.a_package(instrument), ask.a_request(short)
    shelf.put_away(at.person(), ask.a_sterile_package(instrument), ask.a_place(), at.key())
    load = loads.a_load(single)
    package, of_a_set = f"/packages/{single.code}", f"/packages/{signed.code}"
    return [
        "/bench/", "/bench/now/", f"/builds/{build.pk}/", f"/builds/{build.pk}/now/",
        f"/sets/{build.set_code}/", "/instruments/T-1/", "/instruments/T-1/label.pdf",
        f"{package}/", f"{package}/alike/", f"{package}/label.pdf", f"{package}/record/",
        f"{of_a_set}/", f"{of_a_set}/count-sheet.pdf", "/loads/", f"/loads/{load.pk}/",
        f"/loads/{load.pk}/labels.pdf", "/shelf/", "/shelf/packages/", f"/requests/{asked.pk}/",
        f"/requests/{asked.pk}/now/", "/find/?q=ts-1", f"/find/?q={single.code.lower()}",
        "/requests/", "/requests/now/", "/requests/ask/", "/requests/day/", "/requests/causes/",
        "/requests/causes/?page=2", "/records/", "/records/?kind=shelf+place", "/records/?page=3",
        "/records/?q=xyzzy", "/records/?q=ts-1", f"/records/?q={single.code}", "/records/?q=probee",
        "/records/?until=2020-01-01", "/records/?q=xyzzy&until=2099-01-01",
        "/papers/lists/open-shortages/", "/papers/lists/missing-facts/", "/papers/lists/ifus/",
    ]  # fmt: skip


@pytest.mark.usefixtures("behind_it")
def test_pages_read_no_growing_table_from_end_to_end(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(records, "MOST_LOOKED_THROUGH", 5)
    read = {}
    for address in most_used():
        with CaptureQueriesContext(connection) as found:
            answer = coordinator.get(address, follow=True)
        assert answer.status_code == 200, address
        read[address] = plans.scanned(found.captured_queries)
    assert {address: queries for address, queries in read.items() if queries} == {}


@pytest.mark.usefixtures("behind_it")
def test_the_way_of_a_package_reads_none() -> None:
    """From the count to the OR, by the verbs that its presses call."""
    place, build = ask.a_place(), at.a_build()
    with CaptureQueriesContext(connection) as found:
        package = at.signed(build)
        loads.released(package)
        shelf.put_away(at.person(), package, place, at.key())
        shelf.hand_over(at.person(), package, "OR 3", at.key())
    assert plans.scanned(found.captured_queries) == []


def test_a_scan_is_seen() -> None:
    """What this file says of a column without an index, and of a spelling."""
    with CaptureQueriesContext(connection) as found:
        list(Package.objects.filter(packed_by="Tam"))
        list(Package.objects.filter(code__iexact="pk-0001239"))
    assert len(plans.scanned(found.captured_queries)) == 2

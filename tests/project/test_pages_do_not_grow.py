"""Pages among three times as many rows read no more of them and send no more.

A page shows a part and says that it is one; what it shows the database finds, sorts and counts.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from assembly.models import Package
from assembly.packages import lots, shelf
from catalog.models import Instrument
from tests.bench.desk.many_packages import Department
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.project.test_plans import gone
from tests.reading import Cost, visit

pytestmark = pytest.mark.django_db

FEW, MANY = 300, 600
GROWING = (
    "/bench/", "/work-ahead/", "/wet-risk/", "/shelf/", "/shelf/packages/", "/loads/",
    "/requests/", "/requests/ask/", "/requests/causes/", "/records/",
    "/records/?q=t-9", "/records/?q=nothing+called+so",
    "/papers/lists/packages-by-load/", "/papers/lists/open-shortages/",
    "/papers/lists/missing-facts/", "/papers/lists/ifus/",
)  # fmt: skip
MORE_BYTES = 400
"""Longer numbers, the line that says how many there are."""


def a_day() -> list[Package]:
    """One of each: handed over, on the shelf, to be put away, to go into a load; what went short is
    not back."""
    instrument = Instrument.objects.get(item_number="T-9")
    there, comes = ask.a_package(instrument), ask.a_package(instrument)
    short = ask.short_set("TS-9")
    loads.released(there, comes, short)
    waits = ask.a_package(instrument)
    shelf.put_away(at.person(), there, ask.a_place(), at.key())
    return [*gone(), there, comes, short, waits]


@pytest.fixture
def department(db: None) -> Department:
    make.Instrument(item_number="T-9")
    ask.a_place()
    loads.a_sterilizer()
    lots.open_lot(at.person(), "label:package", "L-1", at.key())
    return Department(a_day, MANY, timedelta(0))


def costs(client: Client, department: Department, count: int) -> dict[str, Cost]:
    """Of each page, among so many packages and as many instruments."""
    department.grow(count)
    there = Instrument.objects.count()
    Instrument.objects.bulk_create(
        Instrument(item_number=f"I-{number:04}", name="Probe", ifu_revision=f"19{number % 90 + 10}")
        for number in range(there, count)
    )
    client.get("/requests/")  # so that nothing is new there
    return {address: visit(client, address) for address in GROWING}


def test_pages_among_more_rows_read_and_send_no_more(
    department: Department, coordinator: Client
) -> None:
    few, many = (costs(coordinator, department, count) for count in (FEW, MANY))
    grown = {
        address: (now.rows - before.rows, now.sent - before.sent)
        for address, now in many.items()
        if (before := few[address]) and (now.rows > before.rows + 1
                                         or now.sent > before.sent + MORE_BYTES)
    }  # fmt: skip
    assert grown == {}

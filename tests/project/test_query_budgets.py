"""Each list's number of queries is fixed: it does not grow from 3 rows to 30.

The numbers count everything of a request, the session and the person's permissions too. A
page that needs one more fails here; raise its budget only for a reason.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.models import Package, Request
from assembly.packages import shelf
from assembly.packages.recording import package_code
from catalog import actions
from catalog.models import Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories.loads import a_sterilizer, released
from tests.factories.requests import a_package

pytestmark = pytest.mark.django_db

SHEET = "/sets/TS-1/count-sheets/2"
BUDGETS: dict[str, int] = {
    "/instruments/": 8,
    "/instruments/?as=csv": 6,
    "/sets/": 7,
    "/sets/?as=csv": 6,
    "/supplies/": 15,
    "/supplies/?as=xlsx": 15,
    "/what-is-missing/": 7,
    "/what-is-missing/?as=csv": 6,
    "/records/": 9,
    "/records/?as=csv": 6,
    "/whole-catalog.xlsx": 8,
    "/sets/TS-1/": 21,
    f"{SHEET}/": 8,
    f"{SHEET}/?as=csv": 7,
    f"{SHEET}/compare/": 10,
    f"{SHEET}/edit/": 7,
    f"{SHEET}/weight/": 16,
    "/instruments/T-USED/": 21,
    "/requests/ask/?q=forcebs": 10,
    "/requests/ask/?item=T-USED": 15,
    "/requests/causes/": 6,
    "/requests/back/T-USED/": 7,
}


def fill(count: int) -> None:
    """So many of everything, each thing joined with others."""
    a_sterilizer()
    used = make.Instrument(item_number="T-USED", weight_g=None)
    current = make.CountSheet(instrument_set__code="TS-1")
    draft = make.CountSheet(instrument_set=current.instrument_set, revision=2, state="draft")
    for order in range(1, count + 1):
        instrument = make.Instrument(weight_g=None)
        for sheet in (current, draft):
            line = make.Line(count_sheet=sheet, instrument=instrument, order=order)
            line.substitutes.add(used)
        make.Line(instrument=used)
        make.Pouch().doubles_in.add(make.Pouch())
        actions.change_instrument(actions.Actor(f"person {order}"), instrument, {"notes": "x"})
        missed(used, current.instrument_set, order)


def missed(instrument: Instrument, whose: InstrumentSet, order: int) -> None:
    """A set that came up short of it in theatre and waits for it."""
    now = timezone.now()
    Request.objects.create(
        key=f"missed-{order}", instrument=instrument, number=instrument.item_number,
        what=instrument.name, missing_from=whose, department="Main theatres", where="Theatre 3",
        needed_by=now, asked_by="Lis Mellor", asked_at=now,
    )  # fmt: skip


def queries(client: Client, path: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as found:
        assert client.get(path).status_code == 200
    return len(found)


@pytest.mark.parametrize("path", list(BUDGETS))
@pytest.mark.parametrize("count", [3, 30])
def test_a_page_stays_in_its_budget(coordinator: Client, path: str, count: int) -> None:
    fill(count)
    assert queries(coordinator, path) == BUDGETS[path]


LOAD_BUDGETS: dict[str, int] = {
    "/requests/shelf/": 14,
    "/loads/": 11,
    "/loads/{load}/": 9,
    "/papers/lists/packages-by-load.csv": 7,
    "/papers/lists/pouch-use.csv": 7,
}


def copies(package: Package, count: int) -> list[Package]:
    """As many packages like this one, each with a code of its own."""
    found = []
    for number in range(count):
        values = {field.attname: getattr(package, field.attname) for field in Package._meta.fields}
        del values["id"]
        values |= {"key": f"copy-key-{number}", "code": package_code(90_000 + number)}
        found.append(Package.objects.create(**values))
    return found


@pytest.mark.parametrize("path", list(LOAD_BUDGETS))
@pytest.mark.parametrize("count", [3, 30])
def test_a_page_of_loads_stays_in_its_budget(coordinator: Client, path: str, count: int) -> None:
    package = a_package(make.Instrument())
    loaded = copies(package, 2 * count)[:count]
    load = released(*loaded)
    for one in loaded:
        shelf.hand_over(at.person(), one, "Theatre 3", at.key())
    assert queries(coordinator, path.format(load=load.pk)) == LOAD_BUDGETS[path]


def test_every_list_of_the_catalog_has_a_budget(coordinator: Client) -> None:
    from django.urls import reverse

    names = ("instruments", "sets", "supplies", "missing", "records")
    lists: list[Any] = [reverse(f"catalog:{name}") for name in names]
    assert set(lists) <= set(BUDGETS)

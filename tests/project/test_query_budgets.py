"""The number of queries of every address is fixed: it does not grow from 3 rows to 30.

The numbers count everything of a request, the session and the person's permissions too. A
page that needs one more fails here; raise its budget only for a reason. What decisions start from
is read before, as it is in a process that has decided something: no address pays for that alone.
"""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.judging.facts_from_catalog import department
from tests.addresses import budget, concrete, states

pytestmark = pytest.mark.django_db
FEW, MANY = 3, 30
EVERY_STATE = [*states("page"), *states("part"), *states("file")]


@pytest.fixture(scope="module", params=[FEW, MANY])
def size(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.fixture(autouse=True)
def read_once(rows: dict[str, str]) -> None:
    here = department()
    assert here.policy(timezone.localdate()) and here.stock and here.programmes is not None
    assert here.protectors is not None


@pytest.mark.parametrize(("path", "asked"), EVERY_STATE)
def test_an_address_stays_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], size: int, path: str, asked: str
) -> None:
    with CaptureQueriesContext(connection) as found:
        people["coordinator"].get(concrete(path, rows) + asked).close()
    took, most = len(found), budget(path, asked, size)
    assert took == most if size == FEW else took <= most, f"{took} queries, budget {most}"


LISTS = {"packages-by-load": 7, "supply-use": 10}


@pytest.mark.parametrize("key", list(LISTS))
def test_a_list_of_packages_stays_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], size: int, key: str
) -> None:
    with CaptureQueriesContext(connection) as found:
        people["coordinator"].get(f"/papers/lists/{key}.csv").close()
    assert len(found) == LISTS[key]

"""The number of queries of every address is fixed: it does not grow from 3 rows to 30. How many
rows the same visit reads, and how much it sends, has a bound.

The numbers count everything of a request, the session and the person's permissions too. A
page that needs one more fails here; raise its budget only for a reason. What decisions start from
is read before, as it is in a process that has decided something: no address pays for that alone.
"""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from assembly.judging.facts_from_catalog import department
from tests.addresses import budget, concrete, size_budget, states
from tests.reading import Cost, visit

pytestmark = pytest.mark.django_db
FEW, MANY = 3, 30
EVERY_STATE = [*states("page"), *states("part"), *states("file")]
ASKED = [(path, asked) for path, asked in EVERY_STATE if asked]


AMONG_FEW, AMONG_MANY = (
    pytest.param(count, marks=pytest.mark.xdist_group(f"a hospital of {count}"))
    for count in (FEW, MANY)
)


@pytest.fixture(scope="module", params=[AMONG_FEW, AMONG_MANY])
def size(request: pytest.FixtureRequest) -> int:
    return int(request.param)


@pytest.fixture(autouse=True)
def read_once(rows: dict[str, str]) -> None:
    read_decisions()


def read_decisions() -> None:
    """What decisions start from."""
    here = department()
    assert here.policy(timezone.localdate()) and here.stock and here.programmes is not None
    assert here.protectors is not None


def budget_flaws(cost: Cost, path: str, asked: str, size: int) -> list[str]:
    """What a visit cost beyond the table, where there are so many of everything."""
    most, (most_rows, most_sent) = budget(path, asked, size), size_budget(path)
    kept = {
        f"{cost.queries} queries of {most}": (
            cost.queries == most if size == FEW else cost.queries <= most
        ),
        f"{cost.rows} rows of {most_rows}": cost.rows <= most_rows,
        f"{cost.sent} bytes of {most_sent}": cost.sent <= most_sent,
    }
    return [words for words, is_kept in kept.items() if not is_kept]


@pytest.mark.parametrize(("path", "asked"), ASKED)
def test_what_is_asked_of_an_address_stays_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], size: int, path: str, asked: str
) -> None:
    cost = visit(people["coordinator"], concrete(path, rows) + asked)
    assert budget_flaws(cost, path, asked, size) == []


@pytest.mark.parametrize("size", [AMONG_MANY], indirect=True)
@pytest.mark.parametrize("path", [path for path, asked in EVERY_STATE if not asked])
def test_an_address_among_many_stays_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], size: int, path: str
) -> None:
    """Among few each is visited where it is asked who opens it (``test_permissions.py``)."""
    cost = visit(people["coordinator"], concrete(path, rows))
    assert budget_flaws(cost, path, "", size) == []


POLLS = ("bench/now/", "builds/<int:pk>/now/", "requests/now/", "requests/<int:pk>/now/")


@pytest.mark.parametrize("path", POLLS)
def test_a_page_that_renews_itself_asks_first_whether_anything_happened(
    rows: dict[str, str], people: dict[str, Client], monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """One query beyond those that say who asks, and nothing is sent."""
    minute = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: minute)
    client, address = people["coordinator"], concrete(path, rows)
    shown = client.get(address).context
    build = shown.get("tally")
    asked = f"seen={build.seen}&held={build.build.holder_id}" if build else f"seen={shown['seen']}"
    cost = visit(client, f"{address}?{asked}")
    who = [one for one in cost.sql if '"django_session"' in one or '"auth_' in one]
    assert (cost.queries - len(who), cost.sent) == (1, 0)
    assert visit(client, f"{address}?seen=long-ago").sent > 0


LISTS = {"packages-by-load": 7, "supply-use": 10}


@pytest.mark.parametrize("key", list(LISTS))
def test_a_list_of_packages_stays_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], size: int, key: str
) -> None:
    assert visit(people["coordinator"], f"/papers/lists/{key}.csv").queries == LISTS[key]

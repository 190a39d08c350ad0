"""What tomorrow needs: said, taken back, and what of it is ready."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import SetNeed
from assembly.packages import levels, shelf
from assembly.requests.needs import list_of
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def tomorrow() -> date:
    return timezone.localdate() + timedelta(days=1)


def at_clock(hour: int) -> datetime:
    return timezone.make_aware(datetime.combine(tomorrow(), time(hour, 30)))


@pytest.fixture
def hook() -> Instrument:
    return make.Instrument(item_number="T-1", name="Hook", spares_on_hand=0)


def need(hook: Instrument, hour: int, many: int = 1) -> SetNeed:
    return levels.say_when_needed(ask.liaison(), hook, at_clock(hour), "OR 3", many)


def test_what_is_needed_first_gets_what_is_there(hook: Instrument) -> None:
    """One package, two cases: the earlier one is ready, the later one is not."""
    ask.on_shelf(hook)
    late, early = need(hook, 11), need(hook, 7)
    ready = {one.need: one.is_ready for one in list_of(tomorrow())}
    assert ready == {early: True, late: False}


def test_what_an_open_request_waits_for_is_not_promised_again(hook: Instrument) -> None:
    ask.on_shelf(hook)
    ask.a_request(hook)
    need(hook, 7)
    assert [one.is_ready for one in list_of(tomorrow())] == [False]


def test_so_many_have_to_be_there(hook: Instrument) -> None:
    ask.on_shelf(hook)
    need(hook, 7, 2)
    (one,) = list_of(tomorrow())
    assert (one.is_ready, one.stands) == (False, "Not ready: 1 of 2 on record")


def test_where_nothing_is_on_record_it_says_so(hook: Instrument) -> None:
    need(hook, 7)
    (one,) = list_of(tomorrow())
    assert one.stands == "Not ready: none is on record"


def test_what_went_there_is_ready(hook: Instrument) -> None:
    package = ask.on_shelf(hook)
    need(hook, 7)
    shelf.hand_over(at.person(), package, "OR 3, Main OR", at.key())
    (one,) = list_of(tomorrow())
    assert one.is_ready and one.stands.startswith("Handed over: OR 3, Main OR")


def test_so_many_may_go_one_by_one(hook: Instrument) -> None:
    need(hook, 7, 2)
    for last in (False, True):
        shelf.hand_over(at.person(), ask.on_shelf(hook), "OR 3, Main OR", at.key())
        (one,) = list_of(tomorrow())
        assert bool(one.went) is last


def test_what_was_asked_for_stands_on_the_list(hook: Instrument) -> None:
    one = ask.a_request(hook, needed_by=at_clock(8))
    (found,) = list_of(tomorrow())
    assert found.row and found.row.request == one


def test_another_day_has_none_of_it(hook: Instrument) -> None:
    need(hook, 7)
    assert list_of(tomorrow() + timedelta(days=1)) == []


def test_what_is_taken_back_is_gone_and_stays_on_record(hook: Instrument) -> None:
    one = need(hook, 7)
    for _ in "12":
        levels.not_needed(ask.liaison(), one)
    assert (list_of(tomorrow()), SetNeed.objects.count()) == ([], 1)


def test_what_is_retired_is_refused(hook: Instrument) -> None:
    hook.retired = True
    with pytest.raises(Refused, match="retired"):
        need(hook, 7)


def test_a_liaison_says_it_on_the_page(liaison_client: Client, hook: Instrument) -> None:
    page = liaison_client.get("/requests/day/?q=hook").content.decode()
    assert 'name="item" value="T-1"' in page
    sent = {
        "item": "T-1",
        "quantity": "2",
        "day": f"{tomorrow()}",
        "time": "07:30",
        "where": "OR 4",
    }
    liaison_client.post("/requests/day/add/", sent)
    made = SetNeed.objects.get()
    assert (made.instrument, made.quantity, made.where) == (hook, 2, "OR 4")
    assert made.needed_at == at_clock(7)
    liaison_client.post(f"/requests/day/{made.pk}/off/")
    assert not SetNeed.still().exists()


@pytest.mark.parametrize(
    ("sent", "words"),
    [({"time": "soon"}, "“soon” is no time"), ({"item": "T-8"}, "“T-8” is not on record"),
     ({"item": ""}, "Say what is needed"), ({"quantity": "x"}, "“x” is no number")],
)  # fmt: skip
def test_what_cannot_be_read_is_said(
    liaison_client: Client, hook: Instrument, sent: dict[str, str], words: str
) -> None:
    good = {"item": "T-1", "day": f"{tomorrow()}", "time": "07:30", "where": "OR 4"}
    page = liaison_client.post("/requests/day/add/", good | sent, follow=True).content.decode()
    assert words in page and not SetNeed.objects.exists()


def test_it_waits_on_the_bench(technician: Client, hook: Instrument) -> None:
    need(hook, 7)
    page = technician.get("/bench/").content.decode()
    assert "too few are ready" in page and 'href="/instruments/T-1/?for=shelf"' in page


def test_a_long_list_takes_no_more_queries(hook: Instrument) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            assert list_of(tomorrow())
        return len(found)

    ask.on_shelf(hook)
    need(hook, 7)
    need(make.Instrument(spares_on_hand=1), 7)
    before = queries()
    for hour in range(8, 14):
        need(make.Instrument(spares_on_hand=1), hour)
    assert queries() == before

"""The asking page: for where and by when first, asked once; how urgent it is follows."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import Request
from assembly.requests.lists import queue
from assembly.requests.urgency import urgency_of
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1", name="Hook")


@pytest.mark.parametrize(
    ("minutes", "urgency"),
    [(1, "waiting"), (5, "waiting"), (6, "urgent"), (30, "urgent"), (31, "routine")],
)
def test_how_urgent_it_is_follows_from_the_time(minutes: int, urgency: str) -> None:
    now = timezone.now()
    one = Request(needed_by=now + timedelta(minutes=minutes))
    assert urgency_of(one, now, policy_in_force()) == urgency


def test_it_becomes_urgent_as_its_time_runs_out_on_every_page(
    technician: Client, instrument: Instrument
) -> None:
    one = ask.a_request(instrument, needed_by=timezone.now() + timedelta(hours=2))
    pages = ("/bench/", "/requests/", f"/requests/{one.pk}/")
    for left, words in ((120, ""), (20, "Urgent"), (4, "The case is waiting")):
        Request.objects.update(needed_by=timezone.now() + timedelta(minutes=left))
        for page in pages:
            said = technician.get(page).content.decode()
            found = [each for each in ("Urgent", "The case is waiting") if each in said]
            assert found == [words] * bool(words), page


def test_what_a_person_said_is_more_urgent_stays_so(instrument: Instrument) -> None:
    one = ask.a_request(instrument, urgency="urgent",
                        needed_by=timezone.now() + timedelta(hours=2))  # fmt: skip
    assert queue()[0].urgency == "urgent"
    Request.objects.filter(pk=one.pk).update(needed_by=timezone.now())
    assert queue()[0].urgency == "waiting"


@pytest.mark.parametrize(
    ("when", "urgency"), [("5", "waiting"), ("15", "urgent"), ("60", "routine")]
)
def test_the_page_does_not_ask_for_it(
    technician: Client, instrument: Instrument, when: str, urgency: str
) -> None:
    data = {"item": "T-1", "where": "OR 3", "department": "Main OR", "when": when,
            "key": at.key()}  # fmt: skip
    technician.post("/requests/ask/", data)
    assert queue()[0].urgency == urgency


def test_what_was_said_first_goes_along_with_what_is_chosen(
    technician: Client, instrument: Instrument
) -> None:
    data = {"q": "hook", "where": "OR 3", "department": "Main OR", "when": "30", "time": ""}
    page = technician.get("/requests/ask/", data).content.decode()
    link = "?item=T-1&amp;where=OR+3&amp;department=Main+OR&amp;when=30&amp;time="
    assert link in page
    chosen = technician.get(f"/requests/ask/{link.replace('&amp;', '&')}").content.decode()
    assert "<summary>For OR 3, Main OR, in 30 min</summary>" in chosen


def test_without_a_script_it_is_asked_for_in_three_pages(
    technician: Client, instrument: Instrument
) -> None:
    """Find, choose, ask: plain forms and links."""
    found = technician.get("/requests/ask/", {"q": "hook", "where": "OR 3", "department": "Main OR",
                                              "when": "30"})  # fmt: skip
    assert "?item=T-1&amp;where=OR+3" in found.content.decode()
    chosen = technician.get("/requests/ask/?item=T-1&where=OR+3&department=Main+OR&when=30")
    assert 'action="/requests/ask/" class="asking"' in chosen.content.decode()
    data = {"item": "T-1", "where": "OR 3", "department": "Main OR", "when": "30",
            "key": at.key()}  # fmt: skip
    answer = technician.post("/requests/ask/", data)
    assert answer["Location"] == f"/requests/{Request.objects.get().pk}/"


def test_a_second_time_it_is_not_asked_for_where(
    technician: Client, instrument: Instrument
) -> None:
    assert "<summary>" not in technician.get("/requests/ask/").content.decode()
    data = {"item": "T-1", "where": "OR 3", "department": "Main OR", "when": "30",
            "key": at.key()}  # fmt: skip
    technician.post("/requests/ask/", data)
    page = technician.get("/requests/ask/").content.decode()
    assert "<summary>For OR 3, Main OR</summary>" in page


def test_what_i_asked_for_is_below(technician: Client, instrument: Instrument) -> None:
    data = {"item": "T-1", "where": "OR 3", "department": "Main OR", "when": "30",
            "key": at.key()}  # fmt: skip
    technician.post("/requests/ask/", data)
    page = technician.get("/requests/ask/").content.decode()
    assert '<li class="card urgent' in " ".join(page.split())

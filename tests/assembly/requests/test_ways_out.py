"""It cannot be there in time: wait, another source, another time, tell the coordinator."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Request
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.requests.lists import queue
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def other() -> Instrument:
    """Accepted in place of the first line of TS-1, and sterile on the shelf."""
    instrument = make.Instrument(item_number="T-9", name="Other hook")
    sheet = at.a_set("TS-1", (1,)).current
    assert sheet is not None
    sheet.lines.get().substitutes.add(instrument)
    ask.on_shelf(instrument)
    return instrument


def line() -> Instrument:
    return make.models.Line.objects.get(count_sheet__instrument_set__code="TS-1").instrument


def test_a_substitute_is_reckoned_instead(other: Instrument) -> None:
    one = asking.ask(ask.liaison(), Wanted(line(), instead=other), ask.ask_for(), at.key())
    (row,) = queue()
    assert (row.ready is not None and row.ready.at is not None, row.on_shelf) == (True, True)
    assert one.chosen == "Other hook T-9 instead"


def test_what_no_count_sheet_accepts_is_refused(other: Instrument) -> None:
    with pytest.raises(Refused, match="No count sheet accepts"):
        asking.ask(ask.liaison(), Wanted(other, instead=line()), ask.ask_for(), at.key())


def test_the_page_sends_what_is_chosen(technician: Client, other: Instrument) -> None:
    number = line().item_number
    page = technician.get(f"/requests/ask/?item={number}").content.decode()
    taken = page.split(f'name="instead-{number}"')
    assert [one.split(">")[0].split('value="')[1].split('"')[0] for one in taken[1:]] == ["", "T-9"]
    data = {"item": number, f"instead-{number}": "T-9", "where": "OR 3", "department": "Main OR",
            "when": "15", "key": at.key()}  # fmt: skip
    technician.post("/requests/ask/", data)
    assert Request.objects.get().instead == other


def test_afterwards_too_and_back_again(liaison_client: Client, other: Instrument) -> None:
    one = ask.a_request(line())
    for number, chosen in (("T-9", other), ("", None)):
        sent = {"act": "other source", "instead": number, "key": at.key()}
        liaison_client.post(f"/requests/{one.pk}/act/", sent)
        one.refresh_from_db()
        assert one.instead == chosen
    assert [step.reason for step in one.steps.all()][1] == "wanted: Other hook T-9 instead"


def test_once_it_is_packed_no_other_is_chosen(other: Instrument) -> None:
    one = ask.a_request(line())
    working.take_and_pack(at.person(), one.pk, at.key())
    with pytest.raises(Refused, match="being packed"):
        asking.choose_source(ask.liaison(), one.pk, at.key(), other)


def test_a_spare_of_the_substitute_is_promised(other: Instrument) -> None:
    from assembly.requests.sources import loose_spare

    Instrument.objects.filter(pk=other.pk).update(spares_on_hand=2)
    one = asking.ask(ask.liaison(), Wanted(line(), instead=other), ask.ask_for(), at.key())
    working.take_and_pack(at.person(), one.pk, at.key())
    assert loose_spare(Instrument.objects.get(pk=other.pk)).count == 1


def test_another_time(liaison_client: Client) -> None:
    """Both pages say what was changed, and not that it is back on the queue."""
    one = ask.a_request()
    later = timezone.localtime() + timedelta(hours=2)
    sent = {"act": "other time", "needed_by": f"{later:%Y-%m-%dT%H:%M}", "key": at.key()}
    liaison_client.post(f"/requests/{one.pk}/act/", sent)
    one.refresh_from_db()
    assert one.needed_by == later.replace(second=0, microsecond=0)
    assert queue()[0].last_words.startswith("needed by")
    page = liaison_client.get(f"/requests/{one.pk}/").content.decode()
    assert "instead of" in page and "Back on the" not in page


def test_where_nothing_of_its_own_is_there_the_other_is_proposed(
    technician: Client, other: Instrument
) -> None:
    """What the page sends without a further tap is what its time was reckoned from."""
    Instrument.objects.filter(pk=line().pk).update(spares_on_hand=0)
    number = line().item_number
    page = technician.get(f"/requests/ask/?item={number}").content.decode()
    assert 'value="T-9" checked' in " ".join(page.split())
    ask.on_shelf(line())
    page = technician.get(f"/requests/ask/?item={number}").content.decode()
    assert 'value="" checked' in page

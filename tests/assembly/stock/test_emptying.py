"""A box is empty: one press, undone by one press, over with the shift, on record."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.judging.decisions import Answer, decide_for_instrument
from assembly.ledger import Refused
from assembly.models import EmptyBox
from assembly.packages import lots
from assembly.rules.findings import Outcome
from assembly.stock import emptying
from catalog.models import Change, Instrument
from reports.gathering.work_cards import instrument_card
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
STEAM = "indicator:steam"


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch()
    return make.Instrument(item_number="T-1")


def decided(instrument: Instrument) -> Answer:
    return decide_for_instrument(instrument)


def pouch_of(instrument: Instrument) -> str:
    taken = decided(instrument).decision.recommended
    assert taken and taken.kind == "pouch"
    return f"pouch:{taken.code}"


def outcome(instrument: Instrument) -> Outcome:
    return decided(instrument).decision.outcome


def test_it_is_out_and_on_record_with_who_said_so(instrument: Instrument) -> None:
    supply = pouch_of(instrument)
    said = emptying.say_empty(at.person(), supply, at.key())
    assert outcome(instrument) is Outcome.NONE
    last = Change.objects.order_by("pk").last()
    assert last and (last.actor, last.after["box"]) == ("Tam Birkett", "empty")
    assert said.until - said.said_at == timedelta(hours=8)


def test_there_again_it_is_taken_again(instrument: Instrument) -> None:
    supply = pouch_of(instrument)
    emptying.say_empty(at.person(), supply, at.key())
    emptying.say_there(at.person("Bea Hartsop"), supply, at.key())
    assert pouch_of(instrument) == supply
    assert EmptyBox.objects.get().ended_by == "Bea Hartsop"


def test_it_ends_with_the_shift(instrument: Instrument) -> None:
    emptying.say_empty(at.person(), STEAM, at.key())
    assert outcome(instrument) is Outcome.UNDECIDED
    EmptyBox.objects.update(until=timezone.now() - timedelta(minutes=1))
    assert outcome(instrument) is Outcome.RECOMMENDED


def test_the_same_press_and_a_second_person_make_one(instrument: Instrument) -> None:
    key = at.key()
    first = emptying.say_empty(at.person(), STEAM, key)
    assert emptying.say_empty(at.person(), STEAM, key) == first
    assert emptying.say_empty(at.person("Bea Hartsop"), STEAM, at.key()) == first


def test_a_box_that_is_opened_is_there(instrument: Instrument) -> None:
    emptying.say_empty(at.person(), STEAM, at.key())
    lots.open_lot(at.person(), STEAM, "L-7", at.key())
    assert outcome(instrument) is Outcome.RECOMMENDED


def test_what_is_no_supply_is_refused() -> None:
    with pytest.raises(Refused, match="no supply here"):
        emptying.say_empty(at.person(), "pouch:NONE", at.key())


def test_nothing_is_packed_without_indicators(instrument: Instrument) -> None:
    """Said by somebody between the look at the page and the press."""
    package_before = ask.a_package(instrument)
    emptying.say_empty(at.person(), STEAM, at.key())
    with pytest.raises(Refused, match="do not pass"):
        ask.a_package(instrument)
    assert package_before.pk


def test_a_paper_that_is_kept_does_not_know_of_it(instrument: Instrument) -> None:
    before = instrument_card(instrument, "x")
    emptying.say_empty(at.person(), STEAM, at.key())
    assert instrument_card(instrument, "x") == before


def test_one_press_on_the_page_and_one_back(technician: Client, instrument: Instrument) -> None:
    supply = pouch_of(instrument)
    page = f"/instruments/{instrument.item_number}/"
    assert f'value="{supply}"' in technician.get(page).content.decode()
    sent = {"supply": supply, "key": at.key(), "next": page}
    answer = technician.post("/stock/empty/", sent, follow=True)
    words = answer.content.decode()
    code = supply.partition(":")[2]
    assert f"{code} is out" in words and "There again" in words
    answer = technician.post("/stock/there/", sent | {"key": at.key()}, follow=True)
    assert "There again" not in answer.content.decode()


def test_what_is_out_stands_with_the_lots_to_be_taken_back(
    technician: Client, instrument: Instrument
) -> None:
    emptying.say_empty(at.person(), STEAM, at.key())
    assert "Indicators for steam is there again" in technician.get("/lots/").content.decode()

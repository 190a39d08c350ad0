"""The pages of a proposal: as typed, with what was wrong beside its field."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.models import Proposal
from assembly.questions import proposing
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch()
    return make.Instrument(item_number="T-1", name="Hook", weight_g=None, ratchet=None)


def post(client: Client, **values: str) -> object:
    return client.post("/instruments/T-1/propose/", {"key": at.key(), "measured_by": "", **values})


def test_values_are_read_as_typed(technician: Client, instrument: Instrument) -> None:
    post(technician, weight_g="1 oz", ratchet="no")
    assert Proposal.objects.get().values == {"weight_g": "28.3", "ratchet": False}


def test_what_is_left_empty_is_not_proposed(technician: Client, instrument: Instrument) -> None:
    post(technician, weight_g="30 g", ratchet="", width_open_mm="")
    assert list(Proposal.objects.get().values) == ["weight_g"]


def test_what_cannot_be_read_is_said_and_nothing_is_lost(
    technician: Client, instrument: Instrument
) -> None:
    answer = technician.post(
        "/instruments/T-1/propose/", {"key": at.key(), "weight_g": "heavy", "ratchet": "no"}
    )
    assert answer.status_code == 422
    assert "“heavy”" in answer.content.decode()
    assert '<option value="no" selected>' in answer.content.decode()
    assert not Proposal.objects.exists()


def test_an_unusual_size_is_a_question_and_is_kept(
    technician: Client, instrument: Instrument
) -> None:
    answer = technician.post(
        "/instruments/T-1/propose/", {"key": at.key(), "weight_g": "40 kg"}, follow=True
    )
    assert "Is the unit right?" in answer.content.decode()
    assert Proposal.objects.count() == 1


def test_the_page_shows_what_it_would_be(technician: Client, instrument: Instrument) -> None:
    person = at.person("Tam Birkett", "technician")
    proposing.propose(person, instrument.pk, {"weight_g": 30}, at.key())
    page = technician.get("/instruments/T-1/propose/").content.decode()
    assert "not confirmed yet, it would be: Take" in page
    assert "Confirm</button>" not in page


def test_a_coordinator_confirms_on_the_page(coordinator: Client, instrument: Instrument) -> None:
    person = at.person("Tam Birkett", "technician")
    one = proposing.propose(person, instrument.pk, {"weight_g": 30}, at.key())
    coordinator.post(f"/proposals/{one.pk}/act/", {"act": "confirm", "key": at.key()})
    instrument.refresh_from_db()
    assert instrument.weight_g == 30


def test_that_no_part_comes_apart_is_typed_as_none(
    technician: Client, instrument: Instrument
) -> None:
    post(technician, parts_apart="none")
    assert Proposal.objects.get().values == {"parts_apart": ""}

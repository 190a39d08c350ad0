"""What the field in the head of every page opens."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def liaison(roles: None, client: Client) -> Client:
    client.force_login(user_in("OR liaison"))
    return client


def opens(client: Client, words: str) -> str:
    return client.get("/find/", {"q": words}).headers.get("Location", "")


def test_an_instrument_by_its_number(liaison: Client) -> None:
    make.Instrument(item_number="T-1")
    assert opens(liaison, "t-1") == "/instruments/T-1/"


def test_a_set_by_its_code(technician: Client) -> None:
    at.a_set("TS-1")
    assert opens(technician, "TS-1") == "/sets/TS-1/"


def test_a_load_by_its_lot_number(technician: Client) -> None:
    load = loads.a_load()
    assert load.lot and opens(technician, load.lot) == f"/loads/{load.pk}/"


def test_a_shelf_place(technician: Client) -> None:
    ask.a_place("A1")
    assert opens(technician, "a1") == "/shelf/?place=A1"


def test_a_shelf_place_is_named_to_who_keeps_no_shelf(liaison: Client) -> None:
    ask.a_place("A1")
    page = liaison.get("/find/", {"q": "A1"})
    assert page.status_code == 200 and "is a shelf place" in page.content.decode()


@pytest.mark.parametrize("nickname", ["mosquito", "snap"])
def test_a_nickname_that_another_name_contains_lists_both(
    technician: Client, nickname: str
) -> None:
    make.Instrument(item_number="T-1", name="Mosquito, curved", also_known_as="snap; mosquito")
    make.Instrument(item_number="T-2", name="Mosquito, straight", also_known_as="snap straight")
    found = technician.get("/find/", {"q": nickname}).context["found"]
    assert [one.item_number for one in found.instruments] == ["T-1", "T-2"]


def test_nothing_found_is_said_in_the_head(technician: Client) -> None:
    page = technician.get("/find/", {"q": "no such thing"})
    assert page.context["said"].tone == "wrong" and "said wrong" in page.content.decode()


def test_found_through_a_wrong_mark_the_scanner_is_to_be_set(technician: Client) -> None:
    """``]C1`` is the mark of GS1-128 (ISO/IEC 15424), which an item number is not."""
    make.Instrument(item_number="HF-1042")
    page = technician.get("/find/", {"q": "]C1HF-1042"}, follow=True)
    assert page.redirect_chain[0][0] == "/instruments/HF-1042/"
    assert "Set the scanner: see Scanner test." in page.content.decode()


@pytest.mark.parametrize("words", ["HF-1042", "]C0HF-1042", "]d1HF-1042"])
def test_found_through_its_own_mark_nothing_is_said(technician: Client, words: str) -> None:
    make.Instrument(item_number="HF-1042")
    page = technician.get("/find/", {"q": words}, follow=True)
    assert "Scanner test." not in page.content.decode()

"""What a work card asks and leaves out: what applies alone; its sources are on the screen."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from catalog.models import Instrument, Protector
from reports.documents.cards import Card, Item
from reports.drawing.cards.work import draw_work_card
from reports.gathering.work_cards import instrument_card, set_card
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.reports.examples import page_size_mm, page_texts, squeezed

pytestmark = pytest.mark.django_db
KNOWN = {"hinged": False, "hollow": False, "ratchet": False, "parts_apart": "", "protector": ""}


@pytest.fixture(autouse=True)
def pouch() -> Any:
    return make.Pouch()


def card_of(**facts: Any) -> Card:
    return instrument_card(make.Instrument(**{**KNOWN, **facts}), "T. Birkett")


def checks(card: Card) -> dict[str, Item]:
    return {item.word: item for section in card.sections for item in section.items if item.word}


def steps(card: Card) -> str:
    return " ".join(item.words for section in card.sections for item in section.items)


@pytest.mark.parametrize("word", ["Open, with room", "Ratchet", "Parts apart", "Lumen"])
def test_what_it_is_known_not_to_have_is_not_asked(word: str) -> None:
    assert word not in checks(card_of())


def test_what_it_is_known_not_to_take_is_not_printed() -> None:
    assert "tip protector" not in steps(card_of())
    assert "tip protector is not on record" in steps(card_of(protector=None))


def test_what_is_not_on_record_is_said_once_and_never_left_out() -> None:
    card = card_of(hollow=None, parts_apart=None, hinged=True)
    asked = checks(card)
    before = [word for word in asked if word not in ("Seal", "Seal width", "Flap")]
    assert before[-1] == "Not on record" and not {"Lumen", "Parts apart"} & set(asked)
    assert asked["Not on record"].words.startswith("whether it has a lumen or has parts: look")
    assert "If it " not in steps(card)


def test_that_nobody_knows_of_a_point_is_said_once_with_a_box() -> None:
    card = card_of(tip="", protector=None)
    [words] = [item.words for item in checks(card).values() if "sharp point" in item.words]
    assert words == "Whether it has a sharp point or edge is not on record: look, and cover it."
    assert steps(card).count("sharp point") == 1


def test_of_a_lumen_alone_that_nobody_knows_the_card_says_so() -> None:
    assert "whether it has a lumen: look" in checks(card_of(hollow=None))["Not on record"].words
    assert "lumen" not in steps(card_of(hollow=False))


def test_the_protectors_of_a_set_are_listed_once() -> None:
    one = at.a_set("TS-1", (2,))
    Instrument.objects.update(name="Hook", protector="vented, small", tip="sharp")
    Protector.objects.create(
        code="TP",
        name="vented, small",
        vented=True,
        bore_mm=3,
        material="silicone",
        labelled_methods=["steam"],
    )
    card = set_card(one, "T. Birkett")
    assert "Hook: vented, small." in steps(card)
    assert checks(card)["Protectors"].words == "Are the tip protectors on, vented and not tight?"


def test_the_sources_are_on_the_screen_and_not_on_the_paper(technician: Client) -> None:
    item = make.Instrument(item_number="T-1")
    card = instrument_card(item, "T. Birkett")
    source = "packaging guidance as restated"
    [text] = page_texts(draw_work_card(card))
    assert source in card.on_screen and squeezed(source) not in squeezed(text)
    page = technician.get("/instruments/T-1/work-card/").content.decode()
    assert source in page


@pytest.fixture
def double(pouch: Any) -> None:
    outer = make.Pouch(code="OUT", inner_width_mm=184, inner_length_mm=355, outer_width_mm=200,
                       outer_length_mm=400, rated_g=600)  # fmt: skip
    pouch.doubles_in.add(outer)
    make.Instrument(item_number="T-1")


@pytest.mark.parametrize(("asked", "words"), [("?double=1", "in pouch OUT"), ("", "Take pouch P-")])
def test_a_card_of_two_pouches_is_had_by_asking(
    technician: Client, double: None, asked: str, words: str
) -> None:
    page = technician.get(f"/instruments/T-1/work-card/{asked}")
    [text] = page_texts(technician.get(page.context["file"]).content)
    assert words in text and ("Inner flat" in text) is bool(asked)


@pytest.mark.parametrize(("kept", "size"), [("letter", 279.4), ("", 297.0)])
def test_it_prints_on_the_sheets_of_the_workstation(
    technician: Client, kept: str, size: float
) -> None:
    make.Instrument(item_number="T-1")
    technician.cookies["paper"] = kept
    pdf = technician.get("/instruments/T-1/work-card.pdf").content
    assert page_size_mm(pdf)[1] == pytest.approx(size, abs=0.1)

"""Cards: one page, to scale, and saying what they were made from."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.telling.checks import closed_checks, closing_checks
from reports.documents.cards import CardSection, Item
from reports.documents.papers import MissingElement
from reports.drawing.cards.cards import draw_card
from reports.drawing.cards.parts import RULE
from reports.drawing.files import paper_points
from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import points
from reports.drawing.scenes import SCALES, scale_for
from reports.gathering.cards_from_policy import (
    ANYTHING,
    POUCH_CARDS,
    WALL_CARDS,
    skills_steps,
    wall_card,
)
from tests.conftest import FEWER
from tests.reports.drawing.card_examples import CARD, POLICY, card, scene
from tests.reports.examples import codes, overlapping, page_size_mm, page_texts, rendered, squeezed
from tests.reports.examples import word_boxes as boxes_of

MM = 25.4 / 72
PAPERS = ["A5", "half letter", "A4", "letter"]


def read(made, paper="A5") -> str:
    (text,) = page_texts(draw_card(made, paper))
    return squeezed(text)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_card_is_one_page_of_its_paper(paper):
    pdf = draw_card(card(scenes=(scene(),)), paper)
    expected = {"A5": (148, 210), "half letter": (139.7, 215.9), "A4": (210, 297),
                "letter": (215.9, 279.4)}[paper]  # fmt: skip
    assert (len(page_texts(pdf)), page_size_mm(pdf)) == (1, pytest.approx(expected, abs=0.01))


@pytest.mark.parametrize(
    "words",
    [CARD.title, CARD.code, CARD.headline, CARD.foot, "1. Hinged: lay it open.", "Is it dry?",
     "If not: dry it.", "Heat.", "Sources: ISO/TS 16775:2014, annex b; common practice"],
)  # fmt: skip
def test_a_card_says_what_it_was_given(words):
    assert squeezed(words) in read(CARD)


LAYERS = tuple(replace(scene(560.0, 300.0), layer=n) for n in range(1, 7))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_layers_of_a_set_stand_beside_each_other_on_one_page(paper):
    pdf = draw_card(card(scenes=LAYERS), paper)
    (text,) = page_texts(pdf)
    (boxes,) = boxes_of(pdf)
    assert text.count("fill end") == 6 and not overlapping(boxes)


@pytest.mark.parametrize(
    ("count", "said", "drawn"),
    [(29, "no room for all layers", 1), (36, "No drawing: this paper has no room", 0)],
)
def test_where_the_paper_has_no_room_for_all_drawings_it_says_so(count, said, drawn):
    steps = CardSection("Check", tuple(Item(f"Is all of it well, step {n}?") for n in range(count)))
    text = read(card(scenes=LAYERS, sections=(steps,)))
    assert squeezed(said) in text and text.count("fillend") == drawn


@pytest.mark.parametrize("paper", PAPERS)
def test_a_name_of_200_characters_is_on_the_card(paper):
    name = "Laparotomy set of the second OR " * 5 + "with long jaws"
    assert squeezed(name.strip()) in read(card(scenes=(scene(),), title=name.strip()), paper)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("length", [150.0, 900.0, 2500.0])
def test_a_card_with_a_drawing_has_a_true_rule_of_50_mm(paper, length):
    made = draw_card(card(scenes=(scene(length),)), paper)
    # The reader adds the stroke's width at both ends.
    long = 50.0 + 2 * RULE * MM
    strokes = [o.get_bounds() for o in pypdfium2.PdfDocument(made)[0].get_objects(filter=[2])]
    level = [(b[2] - b[0]) * MM for b in strokes if (b[3] - b[1]) * MM < 1.0]
    assert [one for one in level if one == pytest.approx(long, abs=0.02)]


def rule_mm(pdf: bytes, expected: float) -> list[float]:
    """Lengths (mm) of the level strokes on the first page that may be the control rule."""
    strokes = [o.get_bounds() for o in pypdfium2.PdfDocument(pdf)[0].get_objects(filter=[2])]
    level = [(b[2] - b[0]) * MM for b in strokes if (b[3] - b[1]) * MM < 1.0]
    return [length for length in level if length == pytest.approx(expected, abs=0.5)]


@pytest.mark.parametrize("length", [230.0, 360.0, 500.0])
def test_the_control_rule_measures_what_the_card_says(length):
    made = draw_card(card(scenes=(scene(length, 110.0),)), "A5")
    (said,) = re.findall(r"on this paper it is ([0-9.]+) mm long", page_texts(made)[0])
    assert rule_mm(made, float(said))


def test_a_small_package_is_drawn_as_large_as_it_is():
    made = draw_card(card(scenes=(scene(140.0, 100.0),)), "A4")
    assert "Scale 1:1." in page_texts(made)[0]
    assert rule_mm(made, 50.0)


@FEWER
@given(st.floats(120, 900), st.floats(90, 700), st.floats(200, 500), st.floats(150, 400))
def test_the_scale_is_the_largest_that_fits(length, width, room_x, room_y):
    drawn = scene(length, width)
    try:
        scale = scale_for(drawn, room_x, room_y)
    except PrintRefused:
        return
    fits = [s for s in SCALES if points(drawn.width) / s <= room_x
            and points(drawn.height) / s <= room_y]  # fmt: skip
    assert scale == fits[0]


def test_a_card_without_a_drawing_says_why():
    assert "Nodrawing" in read(card(scene_note="No drawing: a size is not known."))


def test_what_is_loud_is_printed():
    assert "Donotpack." in read(card(loud="NOT RECOMMENDED. Do not pack."))


def test_more_than_a_page_is_refused():
    long = CardSection("Pack", tuple(Item("Lay it open and look. " * 5) for _ in range(60)))
    with pytest.raises(PrintRefused):
        draw_card(card(sections=(long,)))


def test_a_card_that_says_nothing_is_refused():
    with pytest.raises(MissingElement):
        card(sections=(CardSection("Pack", ()),))


@pytest.mark.parametrize("paper", PAPERS)
def test_words_lie_on_the_page_and_not_on_each_other(paper):
    width, height = paper_points(paper)
    (boxes,) = boxes_of(draw_card(CARD, paper))
    outside = [b for b in boxes if b[0] < 20 or b[1] < 20 or b[2] > width - 20
               or b[3] > height - 18]  # fmt: skip
    assert (outside, overlapping(boxes)) == ([], [])


@pytest.mark.parametrize("dpi", [203, 300])
def test_the_code_on_a_card_is_read(dpi):
    found = codes(rendered(draw_card(card(scenes=(scene(),))), dpi))
    assert [one.text for one in found] == ["NH-1804"]


def test_equal_cards_give_equal_bytes():
    assert draw_card(card(scenes=(scene(),))) == draw_card(card(scenes=(scene(),)))


@pytest.fixture
def now(monkeypatch):
    monkeypatch.setattr("reports.gathering.cards_from_policy.timezone.localtime",
                        lambda: datetime(2026, 3, 6, 14, 5))  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("key", WALL_CARDS)
def test_each_wall_card_fits_on_one_page(now, key, paper):
    assert len(page_texts(draw_card(wall_card(key, POLICY, "T. Birkett"), paper))) == 1


@pytest.mark.parametrize("one", POUCH_CARDS, ids=lambda one: one.key)
def test_a_closing_card_asks_every_check_of_the_policy(now, one):
    text = read(wall_card(one.key, POLICY, "T. Birkett"), "A4")
    checks = (*closing_checks(one.packed, ANYTHING, POLICY), *closed_checks(one.packed, POLICY))
    assert [c.key for c in checks if squeezed(c.asked()) not in text] == []


def test_a_wall_card_names_the_policy_it_was_made_from(now):
    assert POLICY.digest[:8] in read(wall_card("loading", POLICY, "T. Birkett"), "A4")


def test_the_skills_sheet_has_every_step_and_lines_to_sign(now):
    text = read(wall_card("skills", POLICY, "T. Birkett"), "A4")
    wanted = [*skills_steps(POLICY), "Trainee, name and signature", "Trainer, name and signature"]
    assert [words for words in wanted if squeezed(words) not in text] == []


def test_a_card_of_very_long_title_still_fits():
    title = ("Retractor with hinged arms, blunt teeth and ratchet, " * 3)[:140]
    assert squeezed(title) in read(replace(CARD, title=title))

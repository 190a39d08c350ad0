"""Cards: one page, to scale, and saying what they were made from."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.skills import Skill
from reports.documents.cards import CardSection, Item
from reports.documents.papers import MissingElement
from reports.drawing.cards.cards import draw_card
from reports.drawing.cards.parts import RULE
from reports.drawing.cards.work import draw_work_card
from reports.drawing.files import paper_points
from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import points
from reports.drawing.scenes import SCALES, height_on_paper, scale_for
from reports.gathering.cards_from_policy import temperatures_card
from reports.gathering.skills.sheets import skills_sheet, steps_of
from tests.conftest import FEWER
from tests.reports.drawing.card_examples import CARD, POLICY, card, scene
from tests.reports.examples import (
    codes,
    overlapping,
    page_size_mm,
    page_texts,
    rendered,
    squeezed,
    type_sizes,
)
from tests.reports.examples import word_boxes as boxes_of

MM = 25.4 / 72
PAPERS = ["A4", "letter"]


def read(made, paper="A4") -> str:
    (text,) = page_texts(draw_work_card(made, paper))
    return squeezed(text)


@pytest.mark.parametrize(("paper", "size"), [("A4", (210, 297)), ("letter", (215.9, 279.4))])
def test_a_card_is_one_page_of_its_paper(paper, size):
    pdf = draw_work_card(card(scenes=(scene(),)), paper)
    assert (len(page_texts(pdf)), page_size_mm(pdf)) == (1, pytest.approx(size, abs=0.01))


MANY = CardSection("Check", tuple(Item("Is it as it should be, all of it?", word=f"Step {n}")
                                  for n in range(18)), "box")  # fmt: skip


@pytest.mark.parametrize("scenes", [(scene(),), (scene(900.0, 700.0),), ()])
def test_nothing_on_a_work_card_is_smaller_than_10_points(scenes):
    """Read at arm's length, also where little room is left."""
    full = (*CARD.sections, MANY)
    assert min(type_sizes(draw_work_card(card(scenes=scenes, sections=full)))) >= 10


def test_the_boxes_to_tick_are_at_least_4_mm():
    sides = [(b[2] - b[0], b[3] - b[1]) for b in strokes(draw_work_card(card(sections=(MANY,))))]
    boxes = [
        wide * MM
        for wide, high in sides
        if wide == pytest.approx(high, abs=0.1) and wide * MM < 5.5
    ]
    assert len(boxes) == 18 and min(boxes) >= 4


@pytest.mark.parametrize(
    "words",
    [CARD.title, CARD.code, CARD.headline, CARD.foot, "1. Hinged: lay it open.", "Is it dry?",
     "If not: dry it.", "Heat."],
)  # fmt: skip
def test_a_card_says_what_it_was_given(words):
    assert squeezed(words) in read(CARD)


LAYERS = tuple(replace(scene(560.0, 300.0), layer=n) for n in range(1, 7))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_layers_of_a_set_are_on_one_page(paper):
    pdf = draw_work_card(card(scenes=LAYERS[:4]), paper)
    (text,) = page_texts(pdf)
    (boxes,) = boxes_of(pdf)
    assert text.count("fill end") == 4 and not overlapping(boxes)


@pytest.mark.parametrize(
    ("count", "said", "drawn"),
    [(30, "4 of 6 layers drawn", 4), (85, "No drawing: this paper has no room", 0)],
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
    made = draw_work_card(card(scenes=(scene(length),)), paper)
    # The reader adds the stroke's width at both ends.
    assert rule_mm(made, 50.0 + 2 * RULE * MM, 0.02)


def strokes(pdf: bytes) -> list[tuple[float, float, float, float]]:
    """The boxes round all that is drawn on the first page but words: left, bottom, right, top."""
    return [one.get_bounds() for one in pypdfium2.PdfDocument(pdf)[0].get_objects(filter=[2])]


def rule_mm(pdf: bytes, expected: float, apart: float = 0.5) -> list[float]:
    """Lengths (mm) of the level strokes on the first page that may be the control rule."""
    level = [(b[2] - b[0]) * MM for b in strokes(pdf) if (b[3] - b[1]) * MM < 1.0]
    return [length for length in level if length == pytest.approx(expected, abs=apart)]


@pytest.mark.parametrize("length", [230.0, 360.0, 500.0])
def test_the_control_rule_measures_what_the_card_says(length):
    made = draw_work_card(card(scenes=(scene(length, 110.0),)))
    (said,) = re.findall(r"its rule of 50 mm is ([0-9.]+) mm long", page_texts(made)[0])
    assert rule_mm(made, float(said))


def test_a_rule_too_short_to_measure_is_not_drawn():
    """At 1:6 the 50 mm would be 8.3: it proves nothing, and its words are in the way."""
    made = draw_work_card(card(scenes=(scene(900.0, 700.0),)))
    (text,) = page_texts(made)
    scale = float(re.search(r"Scale 1:([0-9.]+)\.", text)[1])
    assert scale > 5 and "its rule" not in text
    assert not rule_mm(made, 50.0 / scale, 0.05)


def test_a_small_package_is_drawn_as_large_as_it_is():
    made = draw_work_card(card(scenes=(scene(140.0, 100.0),)))
    assert "Scale 1:1;" in page_texts(made)[0]
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
            and height_on_paper(drawn, s) <= room_y]  # fmt: skip
    assert scale == fits[0]


def test_a_card_without_a_drawing_says_why():
    assert "Nodrawing" in read(card(scene_note="No drawing: a size is not known."))


def test_what_is_loud_is_printed():
    assert "Donotpack." in read(card(loud="NOT RECOMMENDED. Do not pack."))


def test_more_than_a_page_is_refused():
    long = CardSection("Pack", tuple(Item("Lay it open and look. " * 5) for _ in range(60)))
    with pytest.raises(PrintRefused):
        draw_work_card(card(sections=(long,)))


def test_a_card_that_says_nothing_is_refused():
    with pytest.raises(MissingElement):
        card(sections=(CardSection("Pack", ()),))


@pytest.mark.parametrize("paper", PAPERS)
def test_words_lie_on_the_page_and_not_on_each_other(paper):
    width, height = paper_points(paper)
    (boxes,) = boxes_of(draw_work_card(CARD, paper))
    outside = [b for b in boxes if b[0] < 20 or b[1] < 20 or b[2] > width - 20
               or b[3] > height - 18]  # fmt: skip
    assert (outside, overlapping(boxes)) == ([], [])


@pytest.mark.parametrize("dpi", [203, 300])
def test_the_code_on_a_card_is_read(dpi):
    found = codes(rendered(draw_work_card(card(scenes=(scene(),))), dpi))
    assert [one.text for one in found] == ["NH-1804"]


def test_equal_cards_give_equal_bytes():
    assert draw_work_card(card(scenes=(scene(),))) == draw_work_card(card(scenes=(scene(),)))


@pytest.fixture
def now(monkeypatch):
    monkeypatch.setattr("reports.gathering.cards_from_policy.timezone.localtime",
                        lambda: datetime(2026, 3, 6, 14, 5))  # fmt: skip


def read_plain(made, paper="A4") -> str:
    (text,) = page_texts(draw_card(made, paper))
    return squeezed(text)


def test_the_card_of_the_sealer_says_each_temperature_and_its_policy(now):
    text = read_plain(temperatures_card(POLICY, "T. Birkett", ["PF-1: 180 ± 5 °C."]))
    assert squeezed("PF-1: 180 ± 5 °C.") in text and POLICY.digest[:8] in text


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("skill", Skill)
def test_a_skills_sheet_is_one_page_with_every_step_and_lines_to_sign(now, skill, paper):
    made = skills_sheet(skill, POLICY, "T. Birkett")
    wanted = [*(one.words for one in steps_of(skill, POLICY)), "n/a", "Passed", "Again", "Remarks",
              "How many were watched", "Trainee, name and signature", "Next check due"]  # fmt: skip
    text = read_plain(made, paper)
    assert [words for words in wanted if squeezed(words) not in text] == []


def test_a_card_of_very_long_title_still_fits():
    title = ("Retractor with hinged arms, blunt teeth and ratchet, " * 3)[:140]
    assert squeezed(title) in read(replace(CARD, title=title))

"""Posters: one page, few words, read from 2 m, in black and white, with a source for each fact."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
from pypdfium2 import raw

from assembly.rules.drawing.shapes import Text
from assembly.rules.policy.values import Policy, default_parameters
from reports.documents.posters import Control, Poster
from reports.drawing.files import PAPERS_MM
from reports.drawing.posters.pages import CONTROL, FOOT, FROM_2_M, draw_poster
from reports.gathering.posters import DESIGNS, LIMITS
from tests.reports.drawing.card_examples import POLICY
from tests.reports.examples import overlapping, page_size_mm, page_texts, squeezed, word_boxes

DAY = date(2026, 3, 6)
CONTROLLED = Control("Sterile Processing, Hollin Fell Hospital", "HF-SPD-W-0017", date(2027, 3, 6))
MOST_WORDS = 6
"""The issue: at most a handful of words for a drawing."""
POSTERS = {key: design.make(POLICY) for key, design in DESIGNS.items()}


def finished(poster: Poster) -> Poster:
    return replace(poster, control=CONTROLLED, foot="Policy 4af1. Printed by T. Birkett. " * 4)


def by(**values: object) -> Policy:
    return Policy(default_parameters(), DAY, values)


def sizes(pdf: bytes) -> dict[float, str]:
    """The letters of a page by the size they are set in (points)."""
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    found: dict[float, str] = {}
    for place in range(page.count_chars()):
        sign = chr(raw.FPDFText_GetUnicode(page, place))
        if not sign.isspace():
            size = round(raw.FPDFText_GetFontSize(page, place), 2)
            found[size] = found.get(size, "") + sign
    return found


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("key", POSTERS)
def test_what_is_not_the_foot_is_read_from_afar(key, paper):
    poster = finished(POSTERS[key])
    found = sizes(draw_poster(poster, paper))
    foot = "".join(words for size, words in found.items() if size <= FOOT.largest)
    control = "".join(words for size, words in found.items()
                      if FOOT.largest < size < FROM_2_M)  # fmt: skip
    assert foot == squeezed(poster.foot)
    assert control == squeezed("".join(CONTROLLED.words))
    assert min(size for size in found if size > FOOT.largest) >= CONTROL.smallest == 14
    assert FROM_2_M == 24


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("key", POSTERS)
def test_a_poster_is_one_page_its_words_apart_and_inside(key, paper):
    poster = finished(POSTERS[key])
    pdf = draw_poster(poster, paper)
    across, high = page_size_mm(pdf)
    assert sorted((across, high)) == pytest.approx(sorted(PAPERS_MM[paper]), abs=0.1)
    assert (high > across) is poster.upright
    [boxes] = word_boxes(pdf)
    edge, scale = 9.0, 72 / 25.4
    assert [b for b in boxes if min(b[0], b[1]) < edge * scale or b[2] > (across - edge) * scale
            or b[3] > (high - edge) * scale] == []  # fmt: skip
    assert overlapping(boxes) == []


@pytest.mark.parametrize("key", POSTERS)
def test_a_drawing_has_a_handful_of_words_and_each_fact_its_source(key):
    poster = POSTERS[key]
    assert [one.words for one in poster.panels if len(one.words.split()) > MOST_WORDS] == []
    assert len(poster.headline.split()) <= MOST_WORDS
    assert poster.facts and [one for one in poster.facts if not one.source.strip()] == []
    assert [one.words for one in poster.facts if "{" in one.words] == []


@pytest.mark.parametrize("key", POSTERS)
def test_a_poster_is_black_and_white(key):
    image = pypdfium2.PdfDocument(draw_poster(finished(POSTERS[key])))[0].render(scale=1).to_pil()
    bands = image.convert("RGB").split()
    assert bands[0].tobytes() == bands[1].tobytes() == bands[2].tobytes()


def test_one_good_seal_and_five_faults():
    marks = [one.mark for one in POSTERS["seals"].panels]
    assert marks == ["good", *["fault"] * 5]


@pytest.mark.parametrize("key", ["envelope-fold", "square-fold"])
def test_a_fold_has_its_steps_one_to_four(key):
    assert [one.mark for one in POSTERS[key].panels] == [1, 2, 3, 4]


# ANSI/AAMI ST77, 4.3.5: 25 lb = 11 339.81 g gross; NZNO 7 kg project: 7 kg.
@pytest.mark.parametrize(("grams", "shown"), [(11339.81, "11.34 kg = 25 lb"),
                                              (7000.0, "7 kg = 15.4 lb")])  # fmt: skip
def test_the_limit_of_the_house_is_that_of_the_policy(grams, shown):
    [text] = page_texts(draw_poster(DESIGNS["weight"].make(by(gross_limit_g=grams))))
    assert shown in text


# prEN 868-8, 4.2.8: the load of a container; the Dutch guideline as quoted: net.
@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("gross_limit_g", "Weigh it closed"),
        ("load_limit_g", "Weigh the full basket"),
        ("net_limit_g", "Weigh the instruments"),
    ],
)
def test_what_is_weighed_is_what_the_limit_is_of(name, how):
    limits = {one.name: "not set" for one in LIMITS} | {name: 8500.0}
    panel = DESIGNS["weight"].make(by(**limits)).panels[0]
    display = [shape.words for shape in panel.scene.shapes if isinstance(shape, Text)]
    assert (panel.words, display) == (how, ["8.5 kg"])


def test_every_limit_that_the_house_has_stands_on_the_poster():
    limits = {one.name: 8000.0 + 500 * n for n, one in enumerate(LIMITS)}
    poster = DESIGNS["weight"].make(by(**limits))
    [text] = page_texts(draw_poster(poster, "letter"))
    assert [one.amount for one in poster.figures if one.amount not in text] == []
    assert len(poster.figures) == len(LIMITS)


def test_where_the_house_has_no_limit_the_poster_says_so():
    poster = DESIGNS["weight"].make(by(gross_limit_g="not set"))
    assert (poster.figures, poster.headline) == ((), "No limit of the house is set.")


@pytest.mark.parametrize("facing", ["paper to film", "film to film"])
def test_pouches_face_each_other_as_the_policy_says(facing):
    panel = DESIGNS["rack"].make(by(facing_in_chamber=facing)).panels[1]
    words = [shape for shape in panel.scene.shapes if isinstance(shape, Text)]
    between = [one.words for one in sorted(words, key=lambda one: one.x)][1:3]
    assert (panel.words.lower(), sorted(between)) == (facing, sorted(facing.split(" to ")))


# --- whose it is ------------------------------------------------------------------------------


def test_a_poster_says_what_the_department_has_not_set():
    [text] = page_texts(draw_poster(POSTERS["rack"]))
    assert "Owner: not set" in text and "Valid until: not set" in text


def test_what_has_run_out_is_said_white_on_black():
    poster = replace(finished(POSTERS["seals"]), notice="NOT VALID SINCE 6 MAR 2026")
    assert "NOT VALID SINCE 6 MAR 2026" in page_texts(draw_poster(poster))[0]


@pytest.mark.parametrize("key", POSTERS)
def test_the_longest_owner_and_number_that_are_kept_find_room(key):
    poster = replace(POSTERS[key], control=Control("W" * 60, "W" * 30, DAY))
    letters = sizes(draw_poster(poster, "letter"))
    assert {size for size, words in letters.items() if "WWW" in words} == {CONTROL.smallest}

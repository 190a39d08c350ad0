"""Where pieces lie, on count sheet and work card: as saved, and nothing where nothing is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assembly.layouts import saved
from catalog.models import InstrumentSet
from reports.drawing.cards.work import draw_work_card
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.gathering.count_sheets import built_sheet_document, count_sheet_document
from reports.gathering.work_cards import set_card
from tests.factories import bench as at
from tests.reports.examples import page_texts, sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def of() -> InstrumentSet:
    return at.a_set("TS-1", (1, 2))


def kept(of: InstrumentSet) -> None:
    sheet = of.current
    assert sheet
    plan = saved.layout_of(saved.asked_of(of, saved.lines_of(sheet)), sheet).laid.plan
    saved.save(at.person(), of.code, 1, plan, at.key())


def test_each_line_of_the_sheet_says_where_it_lies_and_the_layer_is_drawn(of) -> None:
    kept(of)
    document = count_sheet_document(of, "me")
    assert all(line.details[0].startswith("layer 1, ") for line in document.lines)
    (page,) = page_texts(draw_count_sheet(document))
    assert "layer 1, bottom" in page and "S1" in page


def test_so_does_the_sheet_of_a_package(of) -> None:
    kept(of)
    document = built_sheet_document(at.signed(at.a_build(of)), "me")
    assert document.layers and document.lines[0].details[0].startswith("layer 1, ")


def test_without_a_saved_layout_neither_says_anything_of_it(of) -> None:
    document = count_sheet_document(of, "me")
    assert not document.layers
    assert not any("layer" in words for line in document.lines for words in line.details)
    assert "Lay it as saved" not in page_texts(draw_work_card(set_card(of, "me")))[0]


def test_layers_that_find_no_room_are_left_out_and_the_sheet_has_no_page_more(of) -> None:
    kept(of)
    scenes = count_sheet_document(of, "me").layers
    full = next(n for n in range(10, 60) if len(page_texts(draw_count_sheet(sheet(n)))) > 1) - 1
    pages = page_texts(draw_count_sheet(replace(sheet(full), layers=scenes * 4)))
    assert (len(pages), "layer 1, bottom" in pages[0]) == (1, False)


def test_the_work_card_draws_the_layers_as_saved(of) -> None:
    kept(of)
    (page,) = page_texts(draw_work_card(set_card(of, "me")))
    assert "Lay it as saved, 1 layer" in page and "S a stringer" in page

"""The pages of one instrument and one set: what they say and what they never say."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from assembly.judging.decisions import decide_for_set
from assembly.models import Question
from reports.gathering.labels.shelves import NO_PACKAGE, instrument_shelf_label
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def text_of(client: Client, address: str) -> str:
    return re.sub(r"\s+", " ", client.get(address).content.decode())


def strong_presses(page: str) -> list[str]:
    """What the strong buttons of a page say."""
    return re.findall(r'<button class="(?:main-act|strong)"[^>]*>\s*(\w+)', page)


class TestInstrument:
    def test_it_says_what_to_take(self, technician: Client) -> None:
        make.Instrument(item_number="T-1")
        make.Pouch(code="P-150")
        assert "Pouch P-150</h2>" in text_of(technician, "/instruments/T-1/")

    def test_without_a_weight_no_label_is_offered(self, technician: Client) -> None:
        make.Instrument(item_number="T-1", weight_g=None)
        make.Pouch()
        assert "Print label" not in text_of(technician, "/instruments/T-1/")

    def test_the_shelf_label_of_what_is_undecided_names_no_package(self) -> None:
        undecided = make.Instrument(item_number="T-1", weight_g=None)
        make.Pouch()
        assert instrument_shelf_label(undecided).note == NO_PACKAGE

    def test_a_double_pouch_is_a_validated_pair(self, technician: Client) -> None:
        make.Instrument(item_number="T-1")
        outer = make.Pouch(code="P-200", outer_width_mm=200, outer_length_mm=400,
                           inner_width_mm=184, inner_length_mm=355, rated_g=600)  # fmt: skip
        make.Pouch(code="P-150").doubles_in.add(outer)
        page = text_of(technician, "/instruments/T-1/?double=1")
        assert "Pouch P-150 in pouch P-200</h2>" in page

    def test_amounts_can_be_read_in_inches(self, technician: Client) -> None:
        make.Instrument(item_number="T-1")
        make.Pouch()
        technician.post("/units/", {"units": "inch", "next": "/instruments/T-1/"})
        assert re.search(r"\d in of width needed", text_of(technician, "/instruments/T-1/"))

    def test_a_stranger_address_is_not_followed_after_choosing_units(
        self, technician: Client
    ) -> None:
        answer = technician.post("/units/", {"units": "inch", "next": "https://elsewhere.example"})
        assert answer["Location"] == "/bench/"

    def test_markup_in_a_name_stays_text(self, technician: Client) -> None:
        make.Instrument(item_number="T-1", name="<script>alert(1)</script> {figure}")
        make.Pouch()
        assert "<script>alert(1)" not in text_of(technician, "/instruments/T-1/")


class TestSet:
    def page(self, client: Client, **line: object) -> str:
        sheet = make.CountSheet(instrument_set__code="TS-1")
        make.Line(count_sheet=sheet, **line)
        return text_of(client, "/sets/TS-1/")

    def test_a_light_set_is_under_the_limit(self, technician: Client) -> None:
        assert "under the limit" in self.page(technician)

    def test_a_heavy_set_is_over_it(self, technician: Client) -> None:
        assert "over the limit" in self.page(technician, quantity=250)

    def test_what_stands_in_the_way_comes_first_with_who_can_help(self, technician: Client) -> None:
        page = self.page(technician, quantity=250)
        order = ("Over the weight limit", "have it packed in parts", "Ask a coordinator",
                 'aria-label="Count sheet"', 'id="build-it"')  # fmt: skip
        places = [page.index(words) for words in order]
        assert places == sorted(places)

    def test_asked_with_one_press_the_coordinator_reads_what_stands_in_the_way(
        self, technician: Client
    ) -> None:
        page = self.page(technician, quantity=250)
        finding = re.findall(r'name="finding" value="([^"]+)"', page)[0]
        technician.post(
            "/questions/ask/", {"instrument_set": "TS-1", "finding": finding, "key": "k" * 9}
        )
        assert "Over the weight limit" in Question.objects.get().finding

    def test_what_stands_in_the_way_makes_asking_the_strong_press(self, technician: Client) -> None:
        assert strong_presses(self.page(technician, quantity=250)) == ["Ask"]

    def test_where_nothing_stands_in_the_way_it_is_assemble(self, technician: Client) -> None:
        at.a_set()
        assert strong_presses(text_of(technician, "/sets/TS-1/")) == ["Assemble"]

    def test_a_set_that_passes_asks_nobody(self, technician: Client) -> None:
        at.a_set()
        assert "Ask a coordinator" not in text_of(technician, "/sets/TS-1/")

    def test_a_long_count_sheet_is_folded_by_section(self, technician: Client) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-1")
        for order in range(1, 15):
            section = "Lower layer" if order > 8 else "Upper layer"
            make.Line(count_sheet=sheet, order=order, section=section, quantity=2)
        page = text_of(technician, "/sets/TS-1/")
        assert re.findall(r"<details> <summary>(.+?)&ensp;.+?(\d+) lines", page) == [
            ("Upper layer", "8"), ("Lower layer", "6")]  # fmt: skip

    def test_an_unknown_weight_never_passes(self, technician: Client) -> None:
        page = self.page(technician, instrument__weight_g=None)
        assert "under the limit" not in page and "cannot tell" in page

    def test_an_unknown_tare_never_passes(self, technician: Client) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-1", instrument_set__container__tare_g=None)
        make.Line(count_sheet=sheet)
        assert "under the limit" not in text_of(technician, "/sets/TS-1/")

    def test_packaging_nobody_recorded_never_passes(self, technician: Client) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-1", instrument_set__container=None)
        make.Line(count_sheet=sheet)
        assert "under the limit" not in text_of(technician, "/sets/TS-1/")

    def test_a_set_without_a_count_sheet_says_so(self, technician: Client) -> None:
        make.InstrumentSet(code="TS-1")
        assert "No count sheet of this set is approved" in text_of(technician, "/sets/TS-1/")

    def test_the_editor_says_whether_one_cycle_serves_the_draft(self, technician: Client) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-1")
        for temperature in (134, 121):
            one = make.Instrument(cycles=False)
            make.CycleOption(instrument=one, temperature_c=temperature, exposure_max=20)
            make.Line(count_sheet=sheet, instrument=one)
        part = text_of(technician, "/sets/TS-1/count-sheets/1/weight/")
        assert "no cycle serves both" in part

    @pytest.mark.parametrize("lines", [1, 30])
    def test_the_queries_do_not_grow_with_the_lines(
        self, technician: Client, lines: int, django_assert_max_num_queries: object
    ) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-1")
        make.Line.create_batch(lines, count_sheet=sheet)
        with django_assert_max_num_queries(25):  # type: ignore[operator]
            technician.get("/sets/TS-1/")


def test_two_cycles_that_do_not_meet_are_named_with_the_split() -> None:
    sheet = make.CountSheet()
    for temperature in (134, 132):
        instrument = make.Instrument(name=f"at {temperature}", cycles=False)
        make.CycleOption(
            instrument=instrument, temperature_c=temperature, exposure_min=4, exposure_max=4
        )
        make.Line(count_sheet=sheet, instrument=instrument)
    lines = list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))
    answer = decide_for_set(sheet.instrument_set, lines)
    assert (answer.headline.startswith("Not as it stands"), len(answer.splits)) == (True, 2)

"""The split of a set: what its page shows, its drafts, and what is refused."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from assembly.models import Build
from catalog.models import Change, CountSheet, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.reports.examples import page_texts

pytestmark = pytest.mark.django_db
WEIGHTS = ("4000.1", "3000.2", "3000.2")
"""10,000.5 g in a container that leaves 11,300 - 3,200 = 8,100 g: two trays."""


@pytest.fixture
def heavy() -> InstrumentSet:
    sheet = make.CountSheet(instrument_set__code="TS-9", revision=3, left_out=["one more hook"])
    for order, weight in enumerate(WEIGHTS, start=1):
        one = make.Instrument(weight_g=weight)
        made = make.Line(count_sheet=sheet, instrument=one, quantity=1, order=order, note="look")
        made.substitutes.add(make.Instrument())
    found: InstrumentSet = sheet.instrument_set
    return found


def page(client: Client, of: InstrumentSet, query: str = "") -> str:
    return client.get(f"/sets/{of.code}/split/{query}").content.decode()


def draft(client: Client, of: InstrumentSet, **changes: str) -> Any:
    """The press as the page sends it."""
    seen = re.search(r'name="seen" value="(\w+)"', page(client, of))
    sent = {"seen": seen[1] if seen else "", "layers": "", **changes}
    return client.post(f"/sets/{of.code}/split/drafts/", sent, follow=True).content.decode()


def parts() -> list[InstrumentSet]:
    return list(InstrumentSet.objects.filter(code__startswith="TS-9-").order_by("code"))


class TestPage:
    def test_the_trays_and_their_proof(self, technician: Client, heavy: InstrumentSet) -> None:
        said = page(technician, heavy)
        assert "2 trays: A 9.20 kg, B 7.20 kg" in said
        assert "Proved: no fewer than 2 trays hold it." in said

    def test_the_limit_with_its_source(self, technician: Client, heavy: InstrumentSet) -> None:
        said = page(technician, heavy)
        assert "at most 11.30 kg gross (rated weight: the packaging maker&#x27;s IFU)" in said

    def test_each_part_is_decided_as_a_set_of_its_own(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        """Its container keeps a set that a vapor cycle serves waiting for a validated one."""
        assert page(technician, heavy).count("<p><strong>") == 2

    def test_an_unknown_weight_is_provisional(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        sheet = heavy.current
        make.Line(
            count_sheet=sheet, instrument=make.Instrument(weight_g=None, name="Hook"), order=9
        )
        said = page(technician, heavy)
        assert "Not proved: provisional" in said and "Hook" in said
        assert "Proved:" not in said

    def test_layers_that_cannot_be_read_are_said(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        assert "“two” is no number of layers" in page(technician, heavy, "?layers=two")

    def test_the_set_links_to_it(self, technician: Client, heavy: InstrumentSet) -> None:
        assert "/sets/TS-9/split/" in technician.get("/sets/TS-9/").content.decode()

    def test_a_set_within_its_limit_does_not(self, technician: Client) -> None:
        line = make.Line(count_sheet__instrument_set__code="TS-8")
        assert "/split/" not in technician.get("/sets/TS-8/").content.decode()
        said = page(technician, line.count_sheet.instrument_set)
        assert "it need not be split" in said and "Make draft" not in said

    def test_without_an_approved_sheet_there_is_none(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        heavy.count_sheets.update(state="draft")
        assert technician.get("/sets/TS-9/split/").status_code == 404

    def test_on_paper_each_tray_with_its_lines(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        [text] = page_texts(technician.get("/sets/TS-9/split.pdf").content)
        assert "Split of TS-9" in text and "9.20 kg gross" in text and "Not in force" in text

    def test_a_paper_of_layers_that_cannot_be_read_is_refused(
        self, technician: Client, heavy: InstrumentSet
    ) -> None:
        answer = technician.get("/sets/TS-9/split.pdf?layers=0", follow=True)
        assert "“0” is no number of layers" in answer.content.decode()


class TestDrafts:
    def test_each_part_is_a_draft_of_its_own_set(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        assert "Drafts are made: TS-9-A, TS-9-B." in draft(coordinator, heavy)
        states = [one.count_sheets.get().state for one in parts()]
        assert [one.code for one in parts()] == ["TS-9-A", "TS-9-B"]
        assert states == ["draft", "draft"]

    def test_no_part_is_in_force(self, coordinator: Client, heavy: InstrumentSet) -> None:
        draft(coordinator, heavy)
        assert [one.current for one in parts()] == [None, None]

    def test_the_set_and_what_is_packed_of_it_stay(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        build, before = at.a_build(heavy), heavy.current
        draft(coordinator, heavy)
        assert heavy.current == before and not InstrumentSet.objects.get(pk=heavy.pk).retired
        assert before and before.lines.count() == 3
        assert Build.objects.get(pk=build.pk).count_sheet_id == before.pk

    def test_lines_keep_all_that_is_said_of_them(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        draft(coordinator, heavy)
        lines = [line for one in parts() for line in one.count_sheets.get().lines.all()]
        assert {(line.note, line.substitutes.count()) for line in lines} == {("look", 1)}
        assert sorted(str(line.instrument.weight_g) for line in lines) == sorted(WEIGHTS)

    def test_what_was_left_out_of_the_sheet_stays_known(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        draft(coordinator, heavy)
        assert [one.count_sheets.get().left_out for one in parts()] == [["one more hook"], []]

    def test_it_is_on_record_with_its_reason(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        draft(coordinator, heavy)
        reasons = Change.objects.filter(object_key__startswith="TS-9-").values_list(
            "reason", flat=True
        )
        assert set(reasons) == {"split of TS-9 revision 3"} and len(reasons) == 4

    def test_a_second_press_makes_nothing(self, coordinator: Client, heavy: InstrumentSet) -> None:
        seen = re.search(r'name="seen" value="(\w+)"', page(coordinator, heavy))
        draft(coordinator, heavy)
        assert "There is a set TS-9-A" in draft(coordinator, heavy, seen=seen[1] if seen else "")
        assert len(parts()) == 2

    def test_the_page_leads_to_drafts_that_are_there(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        draft(coordinator, heavy)
        said = page(coordinator, heavy)
        assert "/sets/TS-9-A/" in said and "Make draft" not in said

    def test_another_split_than_was_seen_is_refused(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        assert "another one than you saw" in draft(coordinator, heavy, seen="0" * 16)
        assert parts() == []

    def test_a_number_of_layers_that_cannot_be_read_is_refused(
        self, coordinator: Client, heavy: InstrumentSet
    ) -> None:
        assert "“x” is no number of layers" in draft(coordinator, heavy, layers="x")
        assert parts() == []

    def test_a_set_within_its_limit_is_not_split(self, coordinator: Client) -> None:
        line = make.Line(count_sheet__instrument_set__code="TS-8")
        said = draft(coordinator, line.count_sheet.instrument_set)
        assert "need not be split" in said
        assert CountSheet.objects.count() == 1

    def test_a_technician_is_not_offered_it(self, technician: Client, heavy: InstrumentSet) -> None:
        assert "Make draft" not in page(technician, heavy)

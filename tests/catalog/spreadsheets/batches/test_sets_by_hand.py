"""Count sheets through the pages: what a person said of them is what happens."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from assembly.models import StockLevel
from catalog import actions
from catalog.models import (
    Change,
    Container,
    CountSheet,
    Instrument,
    InstrumentSet,
    SpreadsheetBatch,
)
from catalog.spreadsheets.batches import jobs
from tests.catalog.spreadsheets.batches.test_pages import (
    LIST,
    as_proposed,
    checked,
    last,
    page,
    upload,
)
from tests.catalog.spreadsheets.workbooks import xlsx
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

HEAD = ["Qty", "Item number", "Name"]


@pytest.fixture(autouse=True)
def instruments() -> None:
    make.Instrument(item_number="HF-1", name="Probe")
    make.Instrument(item_number="HF-2", name="Hook")


def sheet(code: str, *lines: list[Any], head: list[str] = HEAD) -> list[list[Any]]:
    return [["Set no.", code], ["Set name", f"Set {code}"], head, *lines]


def apply(client: Client, batch: SpreadsheetBatch) -> SpreadsheetBatch:
    client.post(f"/spreadsheets/{batch.pk}/apply/", {})
    return last()


def lines(code: str) -> list[tuple[str, int]]:
    found = CountSheet.objects.get(instrument_set__code=code).lines
    return list(found.values_list("instrument__item_number", "quantity"))


def state(code: str) -> str:
    return CountSheet.objects.get(instrument_set__code=code).state


def test_a_sheet_that_was_left_out_stays_out(coordinator: Client) -> None:
    data = xlsx({"A": sheet("T-A", [1, "HF-1", "Probe"]), "B": sheet("T-B", [1, "HF-2", "Hook"])})
    apply(coordinator, checked(coordinator, data, **{"s2-left-out": "on"}))
    assert [each.code for each in InstrumentSet.objects.all()] == ["T-A"]


def test_columns_chosen_by_hand_are_those_that_are_read(coordinator: Client) -> None:
    data = xlsx({"A": sheet("T-A", [3, "HF-1", "Probe"], head=["Kpl", "Koodi", "Kuvaus"])})
    upload(coordinator, data)
    said = {"s1-header": "3", "s1-left-out": "", "again": "1", "kind": "sets"}
    coordinator.post(f"/spreadsheets/{last().pk}/columns/", {**as_proposed(last()), **said})
    chosen = {"s1-key-A": "quantity", "s1-key-B": "item_number", "s1-key-C": "name"}
    fields = {**as_proposed(last()), **chosen, "s1-left-out": ""}
    coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
    apply(coordinator, last())
    assert lines("T-A") == [("HF-1", 3)]


def test_the_set_column_of_a_long_list_can_be_named(coordinator: Client) -> None:
    rows = [["Kori", *HEAD], ["T-A", 1, "HF-1", "Probe"], ["T-B", 2, "HF-2", "Hook"]]
    upload(coordinator, xlsx({"A": rows}))
    again = {**as_proposed(last()), "again": "1", "kind": "sets"}
    coordinator.post(f"/spreadsheets/{last().pk}/columns/", again)
    fields = {**as_proposed(last()), "s1-key-A": "set_code"}
    coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
    apply(coordinator, last())
    assert (lines("T-A"), lines("T-B")) == ([("HF-1", 1)], [("HF-2", 2)])


class TestALineLeftOut:
    def test_by_a_person_is_not_counted_and_the_set_is_a_draft(self, coordinator: Client) -> None:
        data = xlsx({"A": sheet("T-A", [1, "HF-1", "Probe"], [2, "HF-2", "Hook"])})
        batch = checked(coordinator, data)
        row = batch.rows.get(key="HF-2")
        coordinator.post(f"/spreadsheets/{batch.pk}/", {"row": row.pk})
        apply(coordinator, batch)
        assert (lines("T-A"), state("T-A")) == ([("HF-1", 1)], "draft")

    def test_because_it_was_refused_makes_a_new_set_a_draft(self, coordinator: Client) -> None:
        data = xlsx({"A": sheet("T-A", [1, "HF-1", "Probe"], ["6-8", "HF-2", "Hook"])})
        apply(coordinator, checked(coordinator, data))
        assert state("T-A") == "draft"

    def test_the_same_file_again_makes_no_second_draft(self, coordinator: Client) -> None:
        data = xlsx({"A": sheet("T-A", [1, "HF-1", "Probe"], ["6-8", "HF-2", "Hook"])})
        for _ in range(2):
            apply(coordinator, checked(coordinator, data))
        assert CountSheet.objects.count() == 1

    def test_a_new_set_with_every_line_is_in_force(self, coordinator: Client) -> None:
        data = xlsx({"A": sheet("T-A", [1, "HF-1", "Probe"])})
        apply(coordinator, checked(coordinator, data))
        assert state("T-A") == "current"


class TestTakingBack:
    """What the spreadsheet added goes, and nothing else: a set that people worked on stays."""

    @pytest.fixture
    def batch(self, coordinator: Client) -> SpreadsheetBatch:
        other = make.CountSheet(instrument_set__code="T-B", instrument_set__name="Set T-B")
        make.Line(count_sheet=other, instrument=Instrument.objects.get(item_number="HF-1"))
        data = xlsx({
            "A": sheet("T-A", [1, "HF-1", "Probe"], [2, "HF-2", "Hook"]),
            "B": sheet("T-B", [1, "HF-2", "Hook"]),
        })  # fmt: skip
        return apply(coordinator, checked(coordinator, data))

    def back(self, client: Client, batch: SpreadsheetBatch) -> SpreadsheetBatch:
        client.post(f"/spreadsheets/{batch.pk}/take-back/")
        return last()

    def test_its_sets_and_its_drafts_of_others_are_gone(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        assert CountSheet.objects.count() == 3
        assert self.back(coordinator, batch).state == "reverted"
        assert [str(one) for one in CountSheet.objects.all()] == ["T-B revision 1 (Current)"]
        assert [one.code for one in InstrumentSet.objects.all()] == ["T-B"]

    def test_each_is_on_record(self, coordinator: Client, batch: SpreadsheetBatch) -> None:
        self.back(coordinator, batch)
        removed = Change.objects.filter(verb="removed").values_list("object_key", flat=True)
        assert sorted(removed) == ["T-A", "T-B r2"]

    def test_a_later_revision_of_its_set_is_named_and_nothing_is_lost(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        actions.start_draft(actions.Actor("Lena"), InstrumentSet.objects.get(code="T-A"))
        assert "T-A revision 2" in page(coordinator, batch, "take-back/")
        assert self.back(coordinator, batch).state == "applied"
        assert CountSheet.objects.filter(instrument_set__code="T-A").count() == 2

    def test_a_set_that_others_count_on_is_named_and_nothing_is_lost(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        StockLevel.objects.create(instrument_set=InstrumentSet.objects.get(code="T-A"), low=2)
        assert "T-A" in page(coordinator, batch, "take-back/")
        assert self.back(coordinator, batch).state == "applied"
        assert StockLevel.objects.exists()


class TestTakingBackAHeading:
    """Name, service and packaging of a set on record are what they were, or all of it stays."""

    OLD = ("Old name", "Urology", "Old box", "C-1")
    NEW = ("New name", "Eyes", "New box", "C-2")

    @pytest.fixture
    def batch(self, coordinator: Client) -> SpreadsheetBatch:
        name, service, packed_in, code = self.OLD
        make.Container(code="C-2", name="New box")
        kept = make.InstrumentSet(
            code="T-B", name=name, service=service, packed_in=packed_in,
            container=make.Container(code=code, name=packed_in),
        )  # fmt: skip
        of_it = make.CountSheet(instrument_set=kept)
        make.Line(count_sheet=of_it, instrument=Instrument.objects.get(item_number="HF-1"))
        rows = [["Set no.", "T-B"], ["Set name", "New name"], ["Service", "Eyes"],
                ["Packed in", "New box"], HEAD, [2, "HF-1", "Probe"]]  # fmt: skip
        batch = apply(coordinator, checked(coordinator, xlsx({"B": rows})))
        assert self.heading() == self.NEW
        return batch

    def heading(self) -> tuple[str, ...]:
        fields = ("name", "service", "packed_in", "container__code")
        return InstrumentSet.objects.values_list(*fields).get()

    def stays(self, client: Client, batch: SpreadsheetBatch, named: str) -> bool:
        told = named in page(client, batch, "take-back/")
        client.post(f"/spreadsheets/{batch.pk}/take-back/")
        return told and named in last().said and last().state == "applied"

    def test_it_is_what_it_was_and_that_is_on_record(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        coordinator.post(f"/spreadsheets/{batch.pk}/take-back/")
        assert (last().state, self.heading()) == ("reverted", self.OLD)
        change = Change.objects.filter(kind="set").latest("pk")
        assert (change.verb, change.reason) == ("changed", "the spreadsheet was taken back")
        assert change.after and change.after["container"] == "C-1 Old box"

    @pytest.mark.parametrize("values", [{"service": "ENT"}, {"code": "T-C"}])
    def test_a_set_that_was_changed_again_is_named(
        self, coordinator: Client, batch: SpreadsheetBatch, values: dict[str, str]
    ) -> None:
        actions.change_set(actions.Actor("Lena"), InstrumentSet.objects.get(), values)
        assert self.stays(coordinator, batch, "T-B was changed by Lena")
        assert self.heading()[0] == "New name"

    def test_packaging_that_is_called_otherwise_now_is_named(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        Container.objects.filter(code="C-1").update(name="Other box")
        assert self.stays(coordinator, batch, "T-B was in “C-1 Old box”")
        assert self.heading() == self.NEW


def test_apply_pressed_twice_runs_once(coordinator: Client) -> None:
    batch = checked(coordinator, LIST)
    batch.selection, batch.applied_by = {"groups": ["new"]}, "bea"
    batch.save()
    first, second = (SpreadsheetBatch.objects.get(pk=batch.pk) for _ in range(2))
    jobs.start(first, "apply")
    with pytest.raises(BlockingIOError):
        jobs.start(second, "apply")
    assert last().said == "Read in: 2 added."

"""Count sheets through the pages: what a person said of them is what happens."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from catalog.models import CountSheet, InstrumentSet, SpreadsheetBatch
from catalog.spreadsheets.batches import jobs
from tests.catalog.spreadsheets.batches.test_pages import LIST, as_proposed, checked, last, upload
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


def test_apply_pressed_twice_runs_once(coordinator: Client) -> None:
    batch = checked(coordinator, LIST)
    batch.selection, batch.applied_by = {"groups": ["new"]}, "bea"
    batch.save()
    first, second = (SpreadsheetBatch.objects.get(pk=batch.pk) for _ in range(2))
    jobs.start(first, "apply")
    with pytest.raises(BlockingIOError):
        jobs.start(second, "apply")
    assert last().said == "Read in: 2 added."

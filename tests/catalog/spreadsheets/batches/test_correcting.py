"""Cells of waiting rows corrected on the page of the report, or said to be right."""

from __future__ import annotations

import io
from typing import Any

import openpyxl
import pytest
from django.test import Client

from catalog.models import Change, Instrument, InstrumentSet, SpreadsheetBatch
from tests.catalog.spreadsheets.batches.test_pages import LIST, checked, last, page, upload
from tests.catalog.spreadsheets.batches.test_pages import as_proposed as proposed
from tests.catalog.spreadsheets.workbooks import xlsx
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

HEAVY = [
    ["Item #", "Name", "Length (mm)", "Weight (g)"],
    *([f"T-{n}", "Mayo scissors", 150 + 5 * n, 50 + 4 * n] for n in range(1, 9)),
    ["T-9", "Fine scissors", 185, 2500],
]
COUNTS = [
    ["Set no.", "S-1"], ["Set name", "Small set"], [], ["Qty", "Item #", "Name"],
    [2, "HF-1", "Probe"], ["two", "HF-2", "Hook"],
]  # fmt: skip


def correct(client: Client, batch: SpreadsheetBatch, **cells: tuple[str, str]) -> Any:
    """Send what belongs in each cell, beside what was seen in it."""
    fields = {}
    for cell, (was, now) in cells.items():
        letter, row = cell[0], cell[1:]
        fields |= {f"was-0-{row}-{letter}": was, f"now-0-{row}-{letter}": now}
    return client.post(f"/spreadsheets/{batch.pk}/correct/", fields)


def say_right(client: Client, batch: SpreadsheetBatch, cell: str, text: str) -> Any:
    name = f"0-{cell[1:]}-{cell[0]}"
    fields = {f"was-{name}": text, f"now-{name}": text, f"right-{name}": "yes"}
    return client.post(f"/spreadsheets/{batch.pk}/correct/", fields)


class TestCorrecting:
    def test_a_refused_row_is_new_once_its_cell_is_corrected(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        assert batch.rows.get(key="T-3").verdict == "refused"
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        row = last().rows.get(key="T-3")
        assert (row.verdict, row.values["length_mm"]) == ("new", "150.000")

    def test_the_corrected_row_is_applied(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert Instrument.objects.get(item_number="T-3").length_mm == 150

    def test_who_and_from_what_to_what_is_on_record(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        change = Change.objects.get(kind="spreadsheet")
        assert (change.actor, change.object_key) == ("a-coordinator", batch.label)
        assert (change.before, change.after) == (
            {"List C4": "14-16 cm"}, {"List C4": "15 cm"},
        )  # fmt: skip

    def test_the_history_of_the_spreadsheet_has_it(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        assert "14-16 cm" in page(coordinator, batch, "changes/")

    def test_the_file_stays_as_it_was_sent(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        before = bytes(batch.content)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        assert bytes(last().content) == before

    def test_the_other_rows_are_judged_anew(self, coordinator: Client) -> None:
        batch = checked(coordinator, [*LIST[:3], ["T-1", "Bone hook", 150]])
        assert batch.counts["refused"] == 1
        correct(coordinator, batch, A4=("T-1", "T-2"))
        said = last().rows.get(row=4).problems[0]["message"]
        assert "T-2 stands already in row 3" in said

    def test_a_correction_that_cannot_be_read_is_refused_in_turn(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "long"))
        problem = last().rows.get(row=4).problems[0]
        assert (problem["value"], problem["effect"]) == ("long", "refuses")

    def test_an_empty_cell_can_be_filled(self, coordinator: Client) -> None:
        batch = checked(coordinator, [*LIST[:2], [None, "Bone hook", 150]])
        correct(coordinator, batch, A3=("", "T-7"))
        assert last().rows.get(row=3).key == "T-7"

    def test_a_formula_is_typed_over(self, coordinator: Client) -> None:
        batch = checked(coordinator, [LIST[0], ["T-1", "Probe", "=100+20"]])
        typed = batch.rows.get().problems[0]["value"]
        correct(coordinator, batch, C2=(typed, "120"))
        assert last().rows.get().values["length_mm"] == "120.000"

    def test_a_text_that_looks_like_a_formula_stays_a_text(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "=1+1"))
        data = coordinator.get(f"/spreadsheets/{batch.pk}/marked.xlsx").content
        assert openpyxl.load_workbook(io.BytesIO(data))["List"]["C4"].data_type == "s"

    def test_what_was_left_out_stays_out(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        coordinator.post(f"/spreadsheets/{batch.pk}/", {"row": batch.rows.get(key="T-1").pk})
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        assert [row.key for row in last().rows.filter(left_out=True)] == ["T-1"]

    def test_a_page_sent_as_it_came_corrects_nothing(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "14-16  cm "))
        assert not last().corrections.exists()

    def test_every_row_is_checked_again_by_one_press(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        make.Instrument(item_number="T-1", name="Old scissors")
        correct(coordinator, batch)
        assert last().rows.get(key="T-1").verdict == "changed"

    def test_the_workbook_to_fetch_has_the_correction_and_who_made_it(
        self, coordinator: Client
    ) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        data = coordinator.get(f"/spreadsheets/{batch.pk}/marked.xlsx").content
        cell = openpyxl.load_workbook(io.BytesIO(data))["List"]["C4"]
        assert (cell.value, "Corrected by a-coordinator" in cell.comment.text) == ("15 cm", True)

    def test_all_cells_of_a_row_have_fields_on_its_own_page(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        shown = page(coordinator, batch, f"correct/?row={batch.rows.get(key='T-3').pk}")
        assert 'name="now-0-4-B" value="Bone hook"' in shown

    def test_a_row_that_nobody_asks_about_has_no_page(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        row = batch.rows.get(key="T-1")
        answer = coordinator.get(f"/spreadsheets/{batch.pk}/correct/?row={row.pk}")
        assert answer.status_code == 302


class TestTwoAtOnce:
    def test_the_second_overwrites_nothing(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "long"))
        answer = correct(coordinator, batch, C4=("14-16 cm", "16 cm"))
        assert (answer.status_code, last().corrections.get().now) == (409, "long")

    def test_the_second_is_told_and_keeps_what_was_typed(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "long"))
        shown = correct(coordinator, batch, C4=("14-16 cm", "16 cm")).content.decode()
        assert "a-coordinator wrote “long” into C4" in shown
        assert 'name="now-0-4-C" value="16 cm"' in shown
        assert 'name="was-0-4-C" value="long"' in shown

    def test_the_row_was_answered_meanwhile(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        answer = correct(coordinator, batch, C4=("14-16 cm", "16 cm"))
        assert answer.status_code == 409 and last().corrections.count() == 1

    def test_nothing_is_corrected_while_rows_are_checked(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        SpreadsheetBatch.objects.update(job="check", host="another machine")
        answer = correct(coordinator, batch, C4=("14-16 cm", "15 cm"))
        assert (answer.status_code, batch.corrections.count()) == (409, 0)
        assert 'value="15 cm"' in answer.content.decode()

    def test_what_is_applied_is_corrected_no_more(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert correct(coordinator, batch, C4=("14-16 cm", "15 cm")).status_code == 409

    @pytest.mark.parametrize("cell", ["C2", "C99", "Z4"])
    def test_a_cell_that_nobody_asks_about_is_not_corrected(
        self, coordinator: Client, cell: str
    ) -> None:
        batch = checked(coordinator, LIST)
        assert correct(coordinator, batch, **{cell: ("x", "15 cm")}).status_code == 409


class TestSayingThatItIsRight:
    def test_a_weight_unlike_others_waits(self, coordinator: Client) -> None:
        row = checked(coordinator, HEAVY).rows.get(key="T-9")
        assert (row.verdict, row.goes_in, row.problems[0]["code"]) == (
            "doubtful", False, "unlike_others",
        )  # fmt: skip

    def test_it_goes_in_once_a_person_says_that_it_is_right(self, coordinator: Client) -> None:
        batch = checked(coordinator, HEAVY)
        say_right(coordinator, batch, "D10", "2500")
        row = last().rows.get(key="T-9")
        assert (row.verdict, row.values["weight_g"]) == ("new", "2500.0")

    def test_it_is_on_record(self, coordinator: Client) -> None:
        batch = checked(coordinator, HEAVY)
        say_right(coordinator, batch, "D10", "2500")
        after = Change.objects.get(kind="spreadsheet").after
        assert after == {"List D10": "2500, which is right"}

    def test_by_another_unit_it_is_asked_again(self, coordinator: Client) -> None:
        batch = checked(coordinator, [["Item #", "Name", "Weight"], ["T-9", "Probe", 20000]],
                        **{"s1-unit-C": "g"})  # fmt: skip
        say_right(coordinator, batch, "C2", "20000")
        assert last().rows.get().goes_in
        fields = {**proposed(batch), "s1-unit-C": "kg"}
        coordinator.post(f"/spreadsheets/{batch.pk}/columns/", fields)
        assert not last().rows.get().goes_in

    def test_what_cannot_be_read_is_not_right(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        say_right(coordinator, batch, "C4", "14-16 cm")
        assert last().rows.get(row=4).verdict == "refused"


class TestCountSheets:
    @pytest.fixture
    def batch(self, coordinator: Client) -> SpreadsheetBatch:
        for number, name in (("HF-1", "Probe"), ("HF-2", "Hook")):
            make.Instrument(item_number=number, name=name)
        return checked(coordinator, COUNTS)

    def test_a_corrected_count_completes_the_set(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        correct(coordinator, batch, A6=("two", "2"))
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {})
        sheet = InstrumentSet.objects.get(code="S-1").current
        assert sheet and [line.quantity for line in sheet.lines.all()] == [2, 2]

    @pytest.mark.parametrize(
        ("line", "cell", "text"),
        [
            ([1, "HF-1", "Probe"], "B6", "HF-1"),  # It stands twice.
            ([1, "HF-2", "Tenaculum"], "C6", "Tenaculum"),  # It has another name.
            (["Total", None, 5], "C6", "5"),  # The lines make 2.
        ],
    )
    def test_what_is_meant_as_it_is_goes_in(
        self, coordinator: Client, batch: SpreadsheetBatch, line: list[Any], cell: str, text: str
    ) -> None:
        batch = checked(coordinator, [*COUNTS[:5], line])
        assert batch.rows.filter(goes_in=False).exists()
        say_right(coordinator, batch, cell, text)
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"whole": "yes"})
        sheet = InstrumentSet.objects.get(code="S-1").current
        assert sheet and sheet.lines.count() == (1 if line[0] == "Total" else 2)

    def test_each_set_says_what_becomes_of_it(
        self, coordinator: Client, batch: SpreadsheetBatch
    ) -> None:
        assert "A draft, short of 1 line." in page(coordinator, batch)
        correct(coordinator, batch, A6=("two", "2"))
        assert "New, in force at once." in page(coordinator, batch)

    def test_an_item_number_is_written_in_the_place_of_a_name(self, coordinator: Client) -> None:
        make.Instrument(item_number="HF-3", name="Mayo scissors")
        upload(coordinator, xlsx({"List": [
            ["Set no.", "S-2"], [], ["Qty", "Name"], [1, "Mayo scisors"], [1, "Mayo scissors"],
        ]}))  # fmt: skip
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", proposed(last()))
        correct(coordinator, last(), B4=("Mayo scisors", "HF-3"))
        assert last().rows.get(row=4).key == "HF-3"

    def test_a_set_without_a_place_for_its_number_is_answered_elsewhere(
        self, coordinator: Client
    ) -> None:
        make.Instrument(item_number="HF-1", name="Probe")
        batch = checked(coordinator, [["Small set"], *COUNTS[2:5]])
        assert "now-0-3-A" not in page(coordinator, batch)
        assert correct(coordinator, batch, A3=("", "S-9")).status_code == 409

    def test_the_number_of_a_set_is_corrected(self, coordinator: Client) -> None:
        make.Instrument(item_number="HF-1", name="Probe")
        rows = [["Set no.", "#REF!"], ["Set name", "Small set"], *COUNTS[2:5]]
        batch = checked(coordinator, rows)
        assert "Headings and totals of sets" in page(coordinator, batch)
        correct(coordinator, batch, B1=("#REF!", "S-9"))
        assert last().report["sets"][0]["code"] == "S-9"

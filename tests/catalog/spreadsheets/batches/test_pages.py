"""The spreadsheet pages as a coordinator uses them, with the jobs done at once."""

from __future__ import annotations

import io
import re
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from catalog import actions
from catalog.models import Change, HeadingMapping, Instrument, SpreadsheetBatch
from catalog.spreadsheets.checking.tables import find_table
from catalog.spreadsheets.columns.describing import blank_workbook
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import SET_COLUMNS
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.older_workbooks import xls
from tests.catalog.spreadsheets.workbooks import DEMO, xlsx
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

LIST = [
    ["Item #", "Name", "Length (mm)", "Sterilize by", "Shelf"],
    ["T-1", "Mayo scissors, curved, 170 mm", 170, "steam", 3],
    ["T-2", "Adson forceps 120 mm", 120, "steam 134", 4],
    ["T-3", "Bone hook", "14-16 cm", "steam", 5],
]
LENA = actions.Actor("Lena")


def upload(client: Client, rows: list[list[Any]] | bytes, name: str = "list.xlsx") -> Any:
    data = rows if isinstance(rows, bytes) else xlsx({"List": rows})
    return client.post("/spreadsheets/", {"file": SimpleUploadedFile(name, data), "kind": ""})


def last() -> SpreadsheetBatch:
    return SpreadsheetBatch.objects.get(pk=SpreadsheetBatch.objects.values_list("pk").first()[0])


def as_proposed(batch: SpreadsheetBatch) -> dict[str, str]:
    """The fields of the page of columns as it comes up."""
    fields = {}
    for number, sheet in enumerate(batch.proposals, start=1):
        fields[f"s{number}-header"] = str(sheet["header_row"])
        if sheet["left_out"]:
            fields[f"s{number}-left-out"] = "on"
        for column in sheet["columns"]:
            fields[f"s{number}-key-{column['letter']}"] = column["key"]
            fields[f"s{number}-unit-{column['letter']}"] = column["judged"]
    return fields


def checked(client: Client, rows: list[list[Any]] | bytes, **fields: str) -> SpreadsheetBatch:
    upload(client, rows)
    batch = last()
    client.post(f"/spreadsheets/{batch.pk}/columns/", {**as_proposed(batch), **fields})
    return last()


def applied(client: Client, rows: list[list[Any]], **what: Any) -> SpreadsheetBatch:
    batch = checked(client, rows)
    client.post(f"/spreadsheets/{batch.pk}/apply/", what or {"group": ["new", "changed"]})
    return last()


def page(client: Client, batch: SpreadsheetBatch, more: str = "") -> str:
    return client.get(f"/spreadsheets/{batch.pk}/{more}").content.decode()


class TestUploading:
    def test_nothing_is_changed_by_an_upload(self, coordinator: Client) -> None:
        upload(coordinator, LIST)
        assert not Instrument.objects.exists()

    def test_the_columns_are_proposed(self, coordinator: Client) -> None:
        upload(coordinator, LIST)
        found = {c["letter"]: c["key"] for c in last().proposals[0]["columns"]}
        assert found == {"A": "item_number", "B": "name", "C": "length", "D": "methods", "E": ""}

    def test_a_file_that_is_no_table_is_named_as_what_it_is(self, coordinator: Client) -> None:
        upload(coordinator, b"\x89PNG\x00\x00", "list.xlsx")
        assert "This is a picture" in page(coordinator, last())

    def test_what_cannot_be_seen_in_an_old_workbook_is_said(self, coordinator: Client) -> None:
        batch = checked(coordinator, xls({"List": [["Item #", "Name"], ["T-1", "Probe"]]}))
        assert batch.counts["new"] == 1
        before_the_rows, _, _ = page(coordinator, batch).partition('id="list"')
        assert "number formats" in before_the_rows

    def test_a_file_over_the_limit_is_refused_and_not_kept(
        self, coordinator: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("catalog.pages.spreadsheets.forms.MAX_FILE_BYTES", 100)
        answer = upload(coordinator, LIST)
        assert (answer.status_code, SpreadsheetBatch.objects.count()) == (422, 0)

    def test_a_problem_of_the_file_stands_alone(self, coordinator: Client) -> None:
        upload(coordinator, xlsx({"List": LIST})[:-300])
        shown = page(coordinator, last())
        assert "damaged" in shown and 'id="rows"' not in shown

    def test_the_same_file_again_is_said(self, coordinator: Client) -> None:
        checked(coordinator, b"Item #,Name\nT-1,Probe\n")
        batch = checked(coordinator, b"Item #,Name\nT-1,Probe\n")
        assert "was uploaded before" in page(coordinator, batch)


POLISH = "Item #;Name\nT-1;tępe\n".encode("cp1250")


class TestLetters:
    @pytest.fixture
    def asked(self, coordinator: Client) -> SpreadsheetBatch:
        upload(coordinator, POLISH, "list.csv")
        return last()

    def test_letters_that_nobody_can_tell_are_asked_about(
        self, coordinator: Client, asked: SpreadsheetBatch
    ) -> None:
        answer = coordinator.get(f"/spreadsheets/{asked.pk}/", follow=True)
        shown = answer.content.decode()
        assert all(words in shown for words in ("<strong>tępe", "<strong>têpe"))
        assert "Check every row" not in shown and " checked" not in shown

    def test_the_answer_is_how_the_file_is_read(
        self, coordinator: Client, asked: SpreadsheetBatch
    ) -> None:
        coordinator.post(f"/spreadsheets/{asked.pk}/letters/", {"encoding": "cp1250"})
        coordinator.post(f"/spreadsheets/{asked.pk}/columns/", as_proposed(last()))
        assert last().rows.get().name == "tępe"

    def test_an_answer_that_was_not_offered_changes_nothing(
        self, coordinator: Client, asked: SpreadsheetBatch
    ) -> None:
        coordinator.post(f"/spreadsheets/{asked.pk}/letters/", {"encoding": "rot13"})
        assert last().letters_asked and last().encoding == ""

    def test_letters_that_were_told_wrongly_can_be_corrected_after_the_check(
        self, coordinator: Client
    ) -> None:
        upload(coordinator, "Item #;Name\nT-1;Länge größer\n".encode("cp1252"), "list.csv")
        batch = last()
        coordinator.post(f"/spreadsheets/{batch.pk}/columns/", as_proposed(batch))
        batch = last()
        assert "cp1252" in page(coordinator, batch)
        assert "<strong>Lõnge gr÷▀er" in page(coordinator, batch, "letters/")
        coordinator.post(f"/spreadsheets/{batch.pk}/letters/", {"encoding": "cp850"})
        assert last().proposals[0]["columns"][1]["samples"] == ["Lõnge gr÷▀er"]


class TestColumns:
    def test_a_correction_is_remembered_for_the_same_headings(self, coordinator: Client) -> None:
        checked(coordinator, LIST, **{"s1-key-E": "spares_on_hand"})
        upload(coordinator, [[*reversed(row)] for row in LIST])
        found = {c["heading"]: c["key"] for c in last().proposals[0]["columns"]}
        assert found["Shelf"] == "spares_on_hand"

    def test_other_headings_are_not_touched_by_what_was_said(self, coordinator: Client) -> None:
        checked(coordinator, LIST, **{"s1-key-E": "spares_on_hand"})
        upload(coordinator, [["Item #", "Name", "Shelf"], ["T-9", "Probe", 1]])
        assert last().proposals[0]["columns"][2]["key"] == ""

    def test_a_column_chosen_twice_is_an_error(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST, **{"s1-key-E": "name"})
        assert batch.state == "uploaded" and not HeadingMapping.objects.exists()

    def test_a_missing_required_column_is_an_error(self, coordinator: Client) -> None:
        assert checked(coordinator, LIST, **{"s1-key-A": ""}).state == "uploaded"

    def test_the_unit_of_a_column_chosen_by_hand_is_asked_first(self, coordinator: Client) -> None:
        rows = [["Item #", "Name", "Reach"], ["T-1", "Hook 120 mm", 12],
                ["T-2", "Hook 140 mm", 14], ["T-3", "Hook 160 mm", 16]]  # fmt: skip
        batch = checked(coordinator, rows, **{"s1-key-C": "length"})
        assert (batch.state, batch.proposals[0]["columns"][2]["judged"]) == ("uploaded", "cm")
        page = coordinator.get(f"/spreadsheets/{batch.pk}/columns/").content.decode()
        assert "Confirm it below, then press again." in page

    def test_the_confirmed_unit_is_used(self, coordinator: Client) -> None:
        rows = [["Item #", "Name", "Length"], ["T-1", "Hook", 12]]
        batch = checked(coordinator, rows, **{"s1-unit-C": "cm"})
        assert batch.rows.get().values["length_mm"] == "120.000"

    def test_another_heading_row_is_proposed_for_anew(self, coordinator: Client) -> None:
        upload(coordinator, [["Item #", "Name"], ["T-1", "Probe"], ["Item #", "Name", "Maker"]])
        batch = last()
        fields = {**as_proposed(batch), "s1-header": "3", "again": "1"}
        coordinator.post(f"/spreadsheets/{batch.pk}/columns/", fields)
        assert [c["key"] for c in last().proposals[0]["columns"]] == [
            "item_number",
            "name",
            "maker",
        ]

    def test_headings_that_nobody_knows_can_be_mapped(self, coordinator: Client) -> None:
        rows = [["Huom", "Kuvaus"], ["T-1", "Probe"]]
        fields = {"s1-key-A": "item_number", "s1-key-B": "name", "s1-header": "1"}
        upload(coordinator, rows)
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        assert last().counts["new"] == 1

    def test_a_list_without_headings_keeps_its_first_row(self, coordinator: Client) -> None:
        upload(coordinator, [["T-1", "Probe"], ["T-2", "Hook"]])
        assert last().proposals[0]["columns"][1]["samples"] == ["Hook"]
        fields = {"s1-key-A": "item_number", "s1-key-B": "name", "s1-header": "0"}
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        assert [row.key for row in last().rows.order_by("pk")] == ["T-1", "T-2"]

    def test_one_known_heading_is_proposed(self, coordinator: Client) -> None:
        upload(coordinator, [["Huom", "Kuvaus", "Gewicht [g]"], ["T-1", "Probe", 20]])
        assert [c["key"] for c in last().proposals[0]["columns"]] == ["", "", "weight"]

    def test_columns_that_are_not_read_are_listed(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        assert "not read: E “Shelf”" in page(coordinator, batch)


class TestReport:
    def test_the_demo_list_is_counted_as_the_command_counts_it(self, coordinator: Client) -> None:
        make.stocked_protectors()
        batch = checked(coordinator, (DEMO / "instrument_master_list.xlsx").read_bytes())
        assert batch.counts == {
            "new": 64, "changed": 0, "unchanged": 0, "doubtful": 2, "refused": 5,
        }  # fmt: skip

    def test_rows_are_narrowed_to_one_verdict(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        shown = page(coordinator, batch, "?verdict=refused")
        assert "T-3" in shown and "T-1" not in shown

    def test_a_problem_is_told_in_the_coordinates_of_the_spreadsheet(
        self, coordinator: Client
    ) -> None:
        shown = page(coordinator, checked(coordinator, LIST), "?verdict=refused")
        assert "<strong>C4</strong> Length (mm)" in shown and 'value="14-16 cm"' in shown

    def test_it_opens_on_what_needs_a_person(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, LIST))
        assert "T-3" in shown and "T-1" not in shown

    def test_where_nothing_waits_it_opens_on_what_would_change(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Old scissors")
        shown = page(coordinator, checked(coordinator, LIST[:3]))
        assert "Old scissors" in shown and "Adson forceps" not in shown

    def test_numbers_lead_to_their_rows(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, LIST))
        links = {"ask": 1, "new": 2, "all": 3}
        found = {
            way: int(count)
            for way, count in re.findall(r'verdict=(\w+)".*?<b>([0-9]+)</b>', shown, re.DOTALL)
        }
        assert found == links

    def test_words_are_looked_for_in_all_rows(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, LIST), "?q=Adson")
        assert "T-2" in shown

    def test_numbers_stored_as_text_are_told_once_a_column(self, coordinator: Client) -> None:
        rows = [["Item #", "Name", "Length (mm)"], *([f"T-{n}", "Probe", f"{140 + n}"]
                for n in range(7))]  # fmt: skip
        shown = page(coordinator, checked(coordinator, rows), "?verdict=all")
        assert shown.count("stored as text") == 1
        assert "7 numbers stored as text were read as numbers" in shown

    def test_the_field_of_a_cell_has_what_was_typed(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, LIST))
        assert 'name="now-0-4-C" value="14-16 cm"' in shown

    def test_what_was_applied_has_no_fields(self, coordinator: Client) -> None:
        shown = page(coordinator, applied(coordinator, LIST))
        assert "T-3" in shown and "now-0-4-C" not in shown

    def test_a_change_is_shown_with_old_and_new(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Old scissors", length_mm=160)
        shown = page(coordinator, checked(coordinator, LIST), "?verdict=changed")
        assert "<del>Old scissors</del> → <ins>Mayo scissors" in shown

    def test_a_near_duplicate_is_offered(self, coordinator: Client) -> None:
        make.Instrument(item_number="X-1", name="Scissors Mayo curved 17 cm")
        batch = checked(coordinator, LIST)
        assert batch.rows.get(key="T-1").same_as["key"] == "X-1"

    def test_a_known_instrument_is_no_duplicate_of_itself(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Mayo scissors, curved, 170 mm")
        batch = checked(coordinator, LIST)
        assert batch.rows.get(key="T-1").same_as is None


class TestDownloads:
    def fetched(self, client: Client, batch: SpreadsheetBatch, name: str) -> Any:
        answer = client.get(f"/spreadsheets/{batch.pk}/{name}.xlsx")
        return openpyxl.load_workbook(io.BytesIO(answer.content))["List"]

    def test_the_own_workbook_comes_back_with_the_reason_at_its_cell(
        self, coordinator: Client
    ) -> None:
        sheet = self.fetched(coordinator, checked(coordinator, LIST), "marked")
        assert "is a range" in sheet["C4"].comment.text

    def test_the_cell_of_a_refusal_is_coloured(self, coordinator: Client) -> None:
        sheet = self.fetched(coordinator, checked(coordinator, LIST), "marked")
        assert (sheet["C4"].fill.fgColor.rgb, sheet["C3"].fill.fill_type) == ("00F6B7A0", None)

    def test_a_text_table_comes_back_as_a_workbook(self, coordinator: Client) -> None:
        upload(coordinator, b"Item #,Name,Tip\nT-1,Probe,odd\n", "list.csv")
        batch = last()
        coordinator.post(f"/spreadsheets/{batch.pk}/columns/", as_proposed(batch))
        answer = coordinator.get(f"/spreadsheets/{batch.pk}/marked.xlsx")
        sheet = openpyxl.load_workbook(io.BytesIO(answer.content))["list"]
        assert sheet["C2"].comment is not None

    def test_only_the_refused_rows_are_in_the_second_workbook(self, coordinator: Client) -> None:
        sheet = self.fetched(coordinator, checked(coordinator, LIST), "refused")
        assert [row[0].value for row in sheet.iter_rows()] == ["Item #", "T-3"]

    def test_the_corrected_rows_can_be_imported_again(self, coordinator: Client) -> None:
        sheet = self.fetched(coordinator, checked(coordinator, LIST), "refused")
        sheet["C2"] = "15 cm"
        out = io.BytesIO()
        sheet.parent.save(out)
        batch = checked(coordinator, out.getvalue())
        assert batch.rows.get().values["length_mm"] == "150.000"

    def test_the_group_row_above_a_refused_row_comes_along(self, coordinator: Client) -> None:
        rows = [LIST[0], ["CUTTING"], LIST[1], LIST[3]]
        sheet = self.fetched(coordinator, checked(coordinator, rows), "refused")
        assert [row[0].value for row in sheet.iter_rows()] == ["Item #", "Cutting", "T-3"]

    @pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx"])
    def test_no_text_turns_into_a_formula(self, coordinator: Client, text: str) -> None:
        rows = [["Item #", "Name", "Tip"], ["T-1", "Probe", text]]
        sheet = self.fetched(coordinator, checked(coordinator, rows), "refused")
        assert sheet["C2"].data_type == "s"


class TestApplying:
    def test_only_the_chosen_groups_go_in(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Old scissors")
        applied(coordinator, LIST, group=["new"])
        assert Instrument.objects.get(item_number="T-1").name == "Old scissors"

    def test_single_rows_go_in(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        row = batch.rows.get(key="T-2")
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"row": [row.pk]})
        assert [each.item_number for each in Instrument.objects.all()] == ["T-2"]

    def test_one_press_applies_what_is_new_and_changed(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Old scissors")
        batch = checked(coordinator, LIST)
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"whole": "yes"})
        assert last().state == "applied"
        assert sorted(Instrument.objects.values_list("name", flat=True)) == [
            "Adson forceps 120 mm", "Mayo scissors, curved, 170 mm",
        ]  # fmt: skip

    def test_rows_ticked_on_the_report_are_shown_before_they_go_in(
        self, coordinator: Client
    ) -> None:
        batch = checked(coordinator, LIST)
        sent = {"whole": "yes", "row": [batch.rows.get(key="T-2").pk]}
        answer = coordinator.post(f"/spreadsheets/{batch.pk}/apply/", sent, follow=True)
        assert "These rows" in answer.content.decode() and last().state == "checked"

    def test_applying_nothing_says_so(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        answer = coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {}, follow=True)
        assert "Nothing is ticked" in answer.content.decode()

    def test_an_apply_that_comes_back_says_why(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        make.Instrument(item_number="T-1")
        actions.change_instrument(LENA, Instrument.objects.get(), {"name": "Late probe"})
        answer = coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"whole": "yes"}, follow=True)
        assert "The catalog changed since the check" in answer.content.decode()

    def test_a_refused_row_never_goes_in(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        row = batch.rows.get(key="T-3")
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"row": [row.pk]})
        assert not Instrument.objects.exists()

    def test_a_row_left_out_does_not_go_in(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        coordinator.post(f"/spreadsheets/{batch.pk}/", {"row": batch.rows.get(key="T-1").pk})
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert [each.item_number for each in Instrument.objects.all()] == ["T-2"]

    def test_a_row_left_out_can_be_taken_in_again(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        row = batch.rows.get(key="T-1")
        for _ in range(2):
            coordinator.post(f"/spreadsheets/{batch.pk}/", {"row": row.pk})
        row.refresh_from_db()
        assert not row.left_out

    def test_every_change_carries_the_person_and_the_batch(self, coordinator: Client) -> None:
        batch = applied(coordinator, LIST)
        assert set(Change.objects.values_list("actor", "batch")) == {("a-coordinator", batch.label)}

    def test_every_row_has_its_record(self, coordinator: Client) -> None:
        applied(coordinator, LIST)
        assert sorted(Change.objects.values_list("object_key", flat=True)) == ["T-1", "T-2"]

    def test_the_record_is_that_of_the_single_verb(self, coordinator: Client) -> None:
        applied(coordinator, LIST[:2])
        in_bulk = Change.objects.get(object_key="T-1").after
        values = {name: value for name, value in (in_bulk or {}).items() if name != "cycles"}
        values["item_number"] = "T-9"
        actions.add_instrument(LENA, values, [{"method": "steam"}])
        alone = Change.objects.get(object_key="T-9").after
        assert {**(alone or {}), "item_number": "T-1"} == in_bulk

    def test_a_changed_catalog_is_named_instead(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        actions.add_instrument(LENA, {"item_number": "t-1", "name": "Late probe"})
        assert "t-1 Late probe: added by Lena" in page(coordinator, batch, "apply/")

    def test_what_the_list_does_not_touch_may_change_meanwhile(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        actions.add_instrument(LENA, {"item_number": "Z-1", "name": "Late probe"})
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert Instrument.objects.count() == 3

    def test_nothing_goes_into_a_catalog_that_changed(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        actions.add_instrument(LENA, {"item_number": "T-1", "name": "Late probe"})
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        batch = last()
        assert (batch.state, Instrument.objects.count()) == ("checked", 1)

    def test_a_check_after_the_change_can_be_applied(self, coordinator: Client) -> None:
        batch = checked(coordinator, LIST)
        actions.add_instrument(LENA, {"item_number": "T-1", "name": "Late probe"})
        coordinator.post(f"/spreadsheets/{batch.pk}/columns/", as_proposed(batch))
        coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert Instrument.objects.count() == 2

    def test_the_same_file_again_changes_nothing(self, coordinator: Client) -> None:
        applied(coordinator, LIST)
        assert checked(coordinator, LIST).counts["unchanged"] == 2

    def test_count_sheets_go_in(self, coordinator: Client) -> None:
        for name in ("instrument_master_list.xlsx", "count_sheets.xlsx"):
            batch = checked(coordinator, (DEMO / name).read_bytes())
            coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new"]})
        assert "5 sets added" in last().said


class TestTakingBack:
    def back(self, client: Client, batch: SpreadsheetBatch) -> SpreadsheetBatch:
        client.post(f"/spreadsheets/{batch.pk}/take-back/")
        return last()

    def test_what_was_added_is_gone(self, coordinator: Client) -> None:
        batch = self.back(coordinator, applied(coordinator, LIST))
        assert (batch.state, Instrument.objects.count()) == ("reverted", 0)

    def test_what_was_changed_is_what_it_was(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", name="Old scissors", length_mm="160.5")
        self.back(coordinator, applied(coordinator, LIST))
        row = Instrument.objects.get(item_number="T-1")
        assert (row.name, str(row.length_mm)) == ("Old scissors", "160.500")

    def test_the_cycles_are_what_they_were(self, coordinator: Client) -> None:
        instrument = make.Instrument(item_number="T-1")
        before = actions.cycle_words(instrument)
        self.back(coordinator, applied(coordinator, LIST))
        assert actions.cycle_words(instrument) == before

    def test_the_taking_back_is_on_record(self, coordinator: Client) -> None:
        self.back(coordinator, applied(coordinator, LIST[:2]))
        assert list(Change.objects.values_list("verb", flat=True)) == ["removed", "added"]

    def test_a_later_change_is_named_and_nothing_is_lost(self, coordinator: Client) -> None:
        batch = applied(coordinator, LIST)
        actions.change_instrument(LENA, Instrument.objects.get(item_number="T-2"), {"weight_g": 9})
        batch = self.back(coordinator, batch)
        assert (batch.state, Instrument.objects.count()) == ("applied", 2)

    def test_the_page_names_the_later_change(self, coordinator: Client) -> None:
        batch = applied(coordinator, LIST)
        actions.change_instrument(LENA, Instrument.objects.get(item_number="T-2"), {"weight_g": 9})
        assert "T-2 was changed by Lena" in page(coordinator, batch, "take-back/")

    def test_a_count_sheet_that_counts_on_it_is_named(self, coordinator: Client) -> None:
        batch = applied(coordinator, LIST)
        sheet = make.CountSheet(instrument_set__code="TS-7")
        make.Line(count_sheet=sheet, instrument=Instrument.objects.get(item_number="T-1"))
        assert "T-1 is counted on TS-7" in page(coordinator, batch, "take-back/")

    def test_count_sheets_are_taken_back(self, coordinator: Client) -> None:
        for name in ("instrument_master_list.xlsx", "count_sheets.xlsx"):
            batch = checked(coordinator, (DEMO / name).read_bytes())
            coordinator.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new", "doubtful"]})
        assert self.back(coordinator, last()).state == "reverted"


@pytest.mark.parametrize(
    ("kind", "columns"), [("instruments", INSTRUMENT_COLUMNS), ("sets", SET_COLUMNS)]
)
def test_the_blank_workbook_has_every_column(kind: str, columns: Any) -> None:
    sheet = read_workbook(blank_workbook(kind), "blank.xlsx").sheets[0]
    table = find_table(sheet, columns)
    assert table and set(table.mapping) == {column.key for column in columns}


def test_the_help_page_names_every_column(coordinator: Client) -> None:
    shown = coordinator.get("/spreadsheets/columns/").content.decode().replace("&#x27;", "'")
    missing = [c.title for c in (*INSTRUMENT_COLUMNS, *SET_COLUMNS) if c.title not in shown]
    assert missing == []

"""What a list shows leaves as a spreadsheet; the whole catalog comes back unchanged."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client

from assembly.models import ShelfPlace
from catalog import runs
from catalog.actions import Actor, approve_count_sheet
from catalog.models import Change, CountSheet, Instrument, InstrumentSet
from catalog.pages import exports
from config import demo
from tests.conftest import kept_meanwhile, user_in
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def rows(client: Client, path: str) -> list[list[str]]:
    text = client.get(path).content.decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text)))


def book(client: Client, path: str) -> Any:
    return openpyxl.load_workbook(io.BytesIO(client.get(path).content))


def test_the_filter_in_force_is_in_the_export(technician: Client) -> None:
    make.Instrument(item_number="T-1", name="Probe")
    make.Instrument(item_number="T-2", name="Hook")
    assert [row[0] for row in rows(technician, "/instruments/?q=hook&as=csv")] == [
        "Item number", "T-2",
    ]  # fmt: skip


def test_the_order_in_force_is_in_the_export(technician: Client) -> None:
    make.Instrument(item_number="T-1", name="B")
    make.Instrument(item_number="T-2", name="A")
    assert [row[0] for row in rows(technician, "/instruments/?sort=name&as=csv")][1:] == [
        "T-2", "T-1",
    ]  # fmt: skip


def test_all_pages_are_in_the_export(technician: Client) -> None:
    make.Instrument.create_batch(30)
    assert len(rows(technician, "/instruments/?page=2&as=csv")) == 31


def test_a_size_is_a_number_under_its_unit(technician: Client) -> None:
    make.Instrument(length_mm=140)
    sheet = book(technician, "/instruments/?as=xlsx")["Instruments"]
    column = [cell.value for cell in sheet[1]].index("Length (mm)")
    assert sheet[2][column].value == 140


def test_an_unknown_size_is_an_empty_cell(technician: Client) -> None:
    make.Instrument(length_mm=None, protector=None)
    found = dict(zip(*rows(technician, "/instruments/?as=csv"), strict=True))
    assert (found["Length (mm)"], found["Protector"]) == ("", "")


def test_the_page_links_to_the_export_of_what_it_shows(technician: Client) -> None:
    page = technician.get("/instruments/?q=hook").content.decode()
    assert "?q=hook&amp;as=xlsx" in page


@pytest.mark.parametrize("path", ["/instruments/", "/sets/", "/what-is-missing/", "/supplies/"])
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_every_list_exports(technician: Client, path: str, form: str) -> None:
    make.Line(instrument__weight_g=None)
    answer = technician.get(f"{path}?as={form}")
    assert f'.{form}"' in answer["Content-Disposition"]


def test_records_export_before_and_after(coordinator: Client) -> None:
    from catalog import actions

    actions.change_instrument(actions.Actor("bea"), make.Instrument(), {"weight_g": 44})
    assert "weight, g: 40 → 44" in rows(coordinator, "/records/?as=csv")[1]


def test_each_kind_of_supply_has_its_sheet(technician: Client) -> None:
    assert book(technician, "/supplies/?as=xlsx").sheetnames == [
        "Pouches", "Rolls", "Wraps", "Containers", "Baskets", "Protectors", "Cycles",
        "Sterilizers", "Sealers",
    ]  # fmt: skip


def test_one_kind_of_supply_as_csv(technician: Client) -> None:
    make.Container(code="C-1")
    assert rows(technician, "/supplies/?as=csv&kind=container")[1][0] == "C-1"


def test_a_count_sheet_exports_its_lines(technician: Client) -> None:
    make.Line(count_sheet__instrument_set__code="TS-1", instrument__item_number="T-1")
    found = rows(technician, "/sets/TS-1/count-sheets/1/?as=csv")
    assert dict(zip(*found, strict=True))["Item number"] == "T-1"


def test_a_name_that_looks_like_a_formula_leaves_as_a_text(technician: Client) -> None:
    make.Instrument(name='=HYPERLINK("x")')
    assert rows(technician, "/instruments/?as=csv")[1][1] == '\'=HYPERLINK("x")'


def test_a_moment_is_the_hospitals(coordinator: Client, settings: Any) -> None:
    settings.TIME_ZONE = "America/New_York"
    Change.objects.create(at=datetime(2026, 3, 6, 2, 30, tzinfo=UTC), actor="bea", verb="added",
                          kind="set", object_key="T", object_name="T")  # fmt: skip
    assert rows(coordinator, "/records/?as=csv")[1][0] == "2026-03-05 21:30"
    moment = book(coordinator, "/records/?as=xlsx")["Records"]["A2"].value
    assert moment == datetime(2026, 3, 5, 21, 30)


class TestLongOnes:
    """What takes long is made beside the web server."""

    @pytest.fixture(autouse=True)
    def long(self, settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        settings.PRINT_FOLDER = str(tmp_path)
        monkeypatch.setattr(exports, "LONG_CELLS", dict.fromkeys(exports.FORMATS, 0))
        make.Instrument(item_number="T-1", name="Probe")
        make.Instrument(item_number="T-2", name="Hook")

    def made(self, client: Client, path: str) -> bytes:
        page = client.get(path, follow=True)
        assert page.context["state"].state == "done"
        with closing(client.get(f"{page.redirect_chain[-1][0]}file/")) as answer:
            return answer.getvalue()

    def test_the_same_rows_come_by_way_of_a_run(self, technician: Client) -> None:
        text = self.made(technician, "/instruments/?q=hook&as=csv").decode("utf-8-sig")
        assert [row[0] for row in csv.reader(io.StringIO(text))] == ["Item number", "T-2"]

    def test_the_whole_catalog_too(self, technician: Client) -> None:
        found = openpyxl.load_workbook(io.BytesIO(self.made(technician, "/whole-catalog.xlsx")))
        assert [row[0].value for row in found["Instruments"]][1:] == ["T-1", "T-2"]

    def test_the_file_bears_the_name_of_the_list(self, technician: Client) -> None:
        page = technician.get("/instruments/?as=xlsx", follow=True)
        with closing(technician.get(f"{page.redirect_chain[-1][0]}file/")) as answer:
            assert 'filename="instruments-' in answer["Content-Disposition"]

    def test_only_who_may_read_the_list_may_have_its_file(self, coordinator: Client) -> None:
        Change.objects.create(at=datetime(2026, 3, 6, tzinfo=UTC), actor="bea", verb="added",
                              kind="set", object_key="T", object_name="T")  # fmt: skip
        place = coordinator.get("/records/?as=csv", follow=True).redirect_chain[-1][0]
        other = Client()
        other.force_login(user_in("technician"))
        asked = [other.get(place), other.get(f"{place}file/"), other.post(f"{place}stop/")]
        assert [one.status_code for one in asked] == [403, 403, 403]

    def test_pressed_twice_it_is_one_run(
        self, technician: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        begun: list[str] = []

        def asked_twice(command: str, run: str, **options: Any) -> None:
            begun.append(run)
            if len(begun) == 1:
                technician.get("/instruments/?as=csv")

        monkeypatch.setattr(runs, "call_command", asked_twice)
        technician.get("/instruments/?as=csv")
        assert len(begun) == 1


def test_places_leave_without_the_links_of_their_page(technician: Client) -> None:
    ShelfPlace.objects.create(code="A&1", name="Left")
    assert rows(technician, "/shelf/places/?as=csv")[1][:3] == ["A&1", "0", "0"]


def run(file: Path, *options: str) -> dict[str, Any]:
    out = StringIO()
    call_command("import_spreadsheet", str(file), "--json", *options, stdout=out)
    return json.loads(out.getvalue())


@pytest.fixture(scope="class")
def hospital(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Path]:
    """The demo hospital, made harder, as one workbook."""
    with kept_meanwhile(django_db_blocker):
        demo.load_supplies()
        run(demo.FIXTURES / "instrument_master_list.xlsx", "--commit")
        run(demo.FIXTURES / "count_sheets.xlsx", "--commit")
        draft = CountSheet.objects.get(state="draft")  # One line of it was left out.
        approve_count_sheet(Actor("bea"), draft)
        make.Instrument(item_number="=1+1", name="@odd -name", also_known_as="+a; -b")
        two = make.Instrument(item_number="T-2", maker_catalog_number="3-4", hinged=None)
        make.CycleOption(instrument=two, exposure_min=5)
        sheet = InstrumentSet.objects.get(code="HF-S01").current
        assert sheet is not None
        sheet.lines.filter(order__lte=4).update(section="Top")
        client = Client()
        client.force_login(user_in("coordinator"))
        file = tmp_path_factory.mktemp("whole") / "catalog.xlsx"
        file.write_bytes(client.get("/whole-catalog.xlsx").content)
        yield file


@pytest.mark.xdist_group("whole-catalog")
class TestWholeCatalog:
    @pytest.fixture
    def file(self, hospital: Path, tmp_path: Path) -> Path:
        """A copy that a test may write on."""
        return Path(shutil.copy(hospital, tmp_path))

    def test_instruments_come_back_without_a_change(self, file: Path) -> None:
        found = run(file, "--kind", "instruments")
        assert (found["counts"]["new"], found["counts"]["changed"], found["counts"]["refused"]) == (
            0, 0, 0,
        )  # fmt: skip

    def test_count_sheets_come_back_without_a_change(self, file: Path) -> None:
        counts = run(file, "--kind", "sets")["counts"]
        assert (counts["unchanged"], sum(counts.values())) == (61, 61)

    @pytest.mark.parametrize("kind", ["instruments", "sets"])
    def test_reading_it_in_writes_nothing(self, file: Path, kind: str) -> None:
        before = Change.objects.count()
        run(file, "--kind", kind, "--commit")
        assert Change.objects.count() == before

    def test_without_saying_which_it_asks(self, file: Path) -> None:
        with pytest.raises(CommandError, match="both instruments and count sheets"):
            call_command("import_spreadsheet", str(file))

    def test_the_other_half_is_named_not_dropped(self, file: Path) -> None:
        notes = run(file, "--kind", "instruments")["notes"]
        assert any("holds count sheets" in note["message"] for note in notes)

    def test_a_correction_in_it_is_the_only_change(self, file: Path) -> None:
        changed = openpyxl.load_workbook(file)
        sheet = changed["Instruments"]
        headings = [cell.value for cell in sheet[1]]
        row = next(r for r in sheet.iter_rows(min_row=2) if r[0].value == "T-2")
        row[headings.index("Weight (g)")].value = 41
        changed.save(file)
        run(file, "--kind", "instruments", "--commit")
        change = Change.objects.first()
        assert change and (change.object_key, change.after) == ("T-2", {"weight_g": "41"})


class TestChangedCountSheet:
    @pytest.fixture
    def sheet(self) -> CountSheet:
        """A revision in force with one line that says much."""
        sheet = make.CountSheet(instrument_set__code="TS-1", instrument_set__name="Small")
        line = make.Line(count_sheet=sheet, instrument__item_number="T-1", may_go_without=True,
                         section="Top", note="keep")  # fmt: skip
        line.substitutes.add(make.Instrument(item_number="T-9"))
        return sheet

    def imported(self, tmp_path: Path, text: str) -> dict[str, Any]:
        file = tmp_path / "list.csv"
        file.write_text(text, encoding="utf-8")
        return run(file, "--kind", "sets", "--commit")

    def test_it_becomes_a_draft_beside_the_one_in_force(
        self, sheet: CountSheet, tmp_path: Path
    ) -> None:
        self.imported(tmp_path, "Set no.,Qty,Item number\nTS-1,5,T-1\n")
        assert list(CountSheet.objects.values_list("revision", "state")) == [
            (2, "draft"), (1, "current"),
        ]  # fmt: skip

    def test_the_one_in_force_keeps_its_count(self, sheet: CountSheet, tmp_path: Path) -> None:
        self.imported(tmp_path, "Set no.,Qty,Item number\nTS-1,5,T-1\n")
        assert sheet.lines.get().quantity == 2

    def test_what_the_spreadsheet_does_not_say_is_kept(
        self, sheet: CountSheet, tmp_path: Path
    ) -> None:
        self.imported(tmp_path, "Set no.,Qty,Item number\nTS-1,5,T-1\n")
        line = CountSheet.objects.get(revision=2).lines.get()
        assert (line.section, line.may_go_without, line.note, line.substitutes.count()) == (
            "Top", True, "keep", 1,
        )  # fmt: skip

    def test_a_new_name_of_the_set_is_taken_over(self, sheet: CountSheet, tmp_path: Path) -> None:
        self.imported(tmp_path, "Set no.,Set name,Qty,Item number\nTS-1,Smaller,2,T-1\n")
        assert (InstrumentSet.objects.get().name, CountSheet.objects.count()) == ("Smaller", 1)

    def test_a_new_set_without_one_good_line_is_not_put_in_force(self, tmp_path: Path) -> None:
        self.imported(tmp_path, "Set no.,Qty,Item number\nTS-7,5,T-1\n")
        assert CountSheet.objects.get().state == "draft"

    def test_a_draft_that_says_something_else_of_a_line_is_another(
        self, sheet: CountSheet, tmp_path: Path
    ) -> None:
        for note in ("keep", "keep", "wipe"):
            text = f"Set no.,Qty,Item number,Note\nTS-7,1,T-1,{note}\nTS-7,1,X-9,\n"
            self.imported(tmp_path, text)
        drafts = CountSheet.objects.filter(instrument_set__code="TS-7").order_by("revision")
        assert [each.lines.get().note for each in drafts] == ["keep", "wipe"]

    def test_nobody_is_matched_by_a_retired_instrument(
        self, sheet: CountSheet, tmp_path: Path
    ) -> None:
        Instrument.objects.filter(item_number="T-1").update(retired=True)
        found = self.imported(tmp_path, "Set no.,Qty,Item number\nTS-1,5,T-1\n")
        assert [each["code"] for each in found["problems"]] == ["unknown_instrument"]

"""``manage.py import_spreadsheet`` on the demo's own messy files."""

from __future__ import annotations

import json
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError

from catalog import actions
from catalog.management.commands.import_spreadsheet import Command
from catalog.models import (
    Change,
    CountSheet,
    HeadingMapping,
    Instrument,
    SpreadsheetBatch,
)
from catalog.spreadsheets.batches import verbs as batches
from catalog.spreadsheets.columns.choices import fingerprint
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from tests.conftest import kept_meanwhile
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

DEMO = Path(settings.BASE_DIR) / "fixtures" / "demo"
MASTER_LIST = DEMO / "instrument_master_list.xlsx"
COUNT_SHEETS = DEMO / "count_sheets.xlsx"


def run(file: Path, *options: str) -> dict[str, Any]:
    out = StringIO()
    call_command("import_spreadsheet", str(file), "--json", *options, stdout=out)
    return json.loads(out.getvalue())


PLANTED = [
    ("repeated item number", 81, "A", "HF-1021", "repeated_item_number"),
    ("unknown width", 82, "G", "?", "unknown_value"),
    ("unknown weight", 82, "I", "tbc", "unknown_value"),
    ("negative length", 83, "F", "-145", "negative"),
    ("a range instead of a number", 84, "F", '5 1/2 - 6"', "range"),
    ("an empty name", 85, "B", "", "missing_name"),
    ("1600 cm", 86, "F", "1600 cm", "implausible"),
    ("a formula in the name", 87, "B", '=HYPERLINK("x","Bone hook")', "formula"),
    ("a method nobody knows", 87, "M", "cold soak", "unknown_method"),
    ("the total row", 88, "B", "TOTAL LINES", "total_row"),
]


@pytest.fixture(scope="class")
def read(django_db_setup: None, django_db_blocker: Any) -> Iterator[dict[str, Any]]:
    with kept_meanwhile(django_db_blocker):
        make.stocked_protectors()
        yield run(MASTER_LIST)


@pytest.mark.xdist_group("read")
class TestRead:
    def test_each_planted_trouble_is_named_where_the_spreadsheet_shows_it(
        self, read: dict[str, Any]
    ) -> None:
        found = {
            (p["sheet"], p["row"], p["column"], p["value"], p["code"]) for p in read["problems"]
        }
        assert [case for case in PLANTED if ("Master list", *case[1:]) not in found] == []

    def test_every_row_of_the_master_list_has_one_verdict(self, read: dict[str, Any]) -> None:
        assert read["counts"] == {
            "new": 64, "changed": 0, "unchanged": 0, "doubtful": 2, "refused": 5,
        }  # fmt: skip

    def test_without_commit_nothing_changes(self, read: dict[str, Any]) -> None:
        assert not Instrument.objects.exists()


@pytest.fixture(scope="class")
def committed(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    with kept_meanwhile(django_db_blocker):
        run(MASTER_LIST, "--commit")
        yield


@pytest.mark.usefixtures("committed")
@pytest.mark.xdist_group("committed")
class TestCommitted:
    def test_good_rows_and_rows_with_an_unknown_go_in(self) -> None:
        assert Instrument.objects.count() == 65

    def test_a_missing_width_is_unknown_never_zero(self) -> None:
        assert Instrument.objects.get(item_number="HF-2001").width_mm is None

    def test_an_implausible_row_waits(self) -> None:
        assert not Instrument.objects.filter(item_number="HF-2005").exists()

    def test_inches_with_a_fraction_become_millimetres(self) -> None:
        length = Instrument.objects.get(item_number="HF-1021").length_mm
        assert float(length or 0) == pytest.approx((6 + 11 / 16) * 25.4, abs=0.0005)

    def test_a_grey_row_becomes_the_group_of_the_rows_below(self) -> None:
        assert Instrument.objects.get(item_number="HF-1070").group == "Holding"

    def test_the_same_file_again_changes_nothing(self) -> None:
        counts = run(MASTER_LIST, "--commit")["counts"]
        assert (counts["new"], counts["changed"], counts["unchanged"]) == (0, 0, 64)

    def test_every_added_instrument_is_on_record(self) -> None:
        assert Change.objects.filter(verb="added", kind="instrument").count() == 65

    def test_an_unknown_instrument_on_a_count_sheet_is_named(self) -> None:
        found = [(p["sheet"], p["row"], p["code"]) for p in run(COUNT_SHEETS)["problems"]]
        assert ("Minor procedures set", 18, "unknown_instrument") in found

    def test_count_sheets_come_into_force_where_every_line_was_read_and_once(self) -> None:
        run(COUNT_SHEETS, "--commit")
        drafts = CountSheet.objects.filter(state="draft")
        assert CountSheet.objects.filter(state="current").count() == 4
        assert [one.instrument_set.code for one in drafts] == ["HF-S02"]
        assert "HF-9999" in drafts.get().left_out[0], "a line left out stays visible"
        again = run(COUNT_SHEETS, "--commit")
        assert again["applied"]["done"] == {"sets unchanged": 5}


def test_a_failure_in_the_middle_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    from catalog.actions import staging

    real, calls = staging.as_recorded, []

    def fails_at_the_tenth(*args: Any) -> Any:
        calls.append(args)
        if len(calls) == 10:
            raise RuntimeError("the power went")
        return real(*args)

    monkeypatch.setattr(staging, "as_recorded", fails_at_the_tenth)
    with pytest.raises(RuntimeError):
        run(MASTER_LIST, "--commit")
    assert not Instrument.objects.exists()
    assert SpreadsheetBatch.objects.get().state == "stopped"


def test_what_somebody_changes_while_it_is_written_is_named_and_stays(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from catalog.actions.staging import Staging

    one = make.Instrument(item_number="T-1", weight_g=8)

    def lena_meanwhile(_: Staging) -> None:
        actions.change_instrument(actions.Actor("Lena"), one, {"weight_g": 7})

    monkeypatch.setattr(Staging, "lock", lena_meanwhile)
    file = tmp_path / "list.csv"
    file.write_text("Item #,Name,Weight (g)\nT-1,Probe,9\n")
    with pytest.raises(CommandError, match="T-1 was changed by Lena"):
        run(file, "--commit")


def test_a_file_that_is_not_there_is_a_clear_error() -> None:
    with pytest.raises(CommandError, match="cannot be opened"):
        call_command("import_spreadsheet", "nowhere.xlsx")


def test_a_file_without_headings_is_a_clear_error(tmp_path: Path) -> None:
    file = tmp_path / "notes.csv"
    file.write_text("hello\nworld\n", encoding="utf-8")
    with pytest.raises(CommandError, match="--kind"):
        call_command("import_spreadsheet", str(file))


def test_a_file_that_is_no_spreadsheet_is_a_clear_error(tmp_path: Path) -> None:
    file = tmp_path / "list.xlsx"
    file.write_bytes(b"not a zip at all")
    with pytest.raises(CommandError, match="not read"):
        call_command("import_spreadsheet", str(file), stdout=StringIO())


def test_what_the_command_read_in_can_be_taken_back() -> None:
    run(MASTER_LIST, "--commit")
    batch = SpreadsheetBatch.objects.get()
    batches.run(batch.pk, "revert")
    assert not Instrument.objects.exists()


def test_the_command_lists_the_columns() -> None:
    out = StringIO()
    call_command("import_spreadsheet", "--columns", stdout=out)
    missing = [column.title for column in INSTRUMENT_COLUMNS if column.title not in out.getvalue()]
    assert missing == []


def test_the_help_of_the_command_names_every_column() -> None:
    told = " ".join(
        Command().create_parser("manage.py", "import_spreadsheet").format_help().split()
    )
    assert [column.title for column in INSTRUMENT_COLUMNS if column.title not in told] == []


def test_a_unit_can_be_said(tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text("Item #,Name,Length\nT-1,Probe,12\n", encoding="utf-8")
    run(file, "--commit", "--unit", "length=cm")
    assert Instrument.objects.get().length_mm == 120


def test_a_unit_that_is_none_is_a_clear_error() -> None:
    with pytest.raises(CommandError, match="length=cm"):
        call_command("import_spreadsheet", str(MASTER_LIST), "--unit", "length=g")


def test_the_command_knows_what_was_said_of_the_same_headings(tmp_path: Path) -> None:
    HeadingMapping.objects.create(
        kind="instruments",
        fingerprint=fingerprint(["Item #", "Name", "Shelf"]),
        columns={"item no": "item_number", "name": "name", "shelf": "spares_on_hand"},
        by="Bea",
    )
    file = tmp_path / "list.csv"
    file.write_text("Item #,Name,Shelf\nT-1,Probe,12\n", encoding="utf-8")
    run(file, "--commit")
    assert Instrument.objects.get().spares_on_hand == 12


class TestLetters:
    @pytest.fixture
    def file(self, tmp_path: Path) -> Path:
        file = tmp_path / "list.csv"
        file.write_bytes("Item #;Name\nT-1;tępe\n".encode("cp1250"))
        return file

    def test_letters_that_nobody_can_tell_are_a_question(self, file: Path) -> None:
        out = StringIO()
        with pytest.raises(CommandError):
            call_command("import_spreadsheet", str(file), "--json", stdout=out)
        (question,) = json.loads(out.getvalue())["questions"]
        shown = {choice["answer"]: choice["shows"] for choice in question["choices"]}
        assert (shown["cp1250"], question["option"]) == (["tępe"], "--encoding ANSWER")

    def test_the_answer_is_how_the_file_is_read(self, file: Path) -> None:
        run(file, "--encoding", "cp1250", "--commit")
        assert Instrument.objects.get().name == "tępe"

    def test_what_was_committed_can_be_read_again(self, file: Path) -> None:
        run(file, "--encoding", "cp1250", "--commit")
        assert SpreadsheetBatch.objects.get().encoding == "cp1250"


def test_numbers_stored_as_text_are_told_once_a_column() -> None:
    out = StringIO()
    call_command("import_spreadsheet", str(MASTER_LIST), stdout=out)
    assert out.getvalue().count("stored as text") == 1

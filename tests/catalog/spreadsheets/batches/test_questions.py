"""What a file does not say is asked, by the command and on the page, and the answer is taken."""

from __future__ import annotations

import html
import json
import re
import shlex
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from catalog.models import CountSheet, Instrument, InstrumentSet
from tests.catalog.spreadsheets.batches.test_pages import as_proposed, last, upload
from tests.catalog.spreadsheets.workbooks import xlsx
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

BARE = [
    ["K-204", "Bone curette small", 210, 12, 9, 61],
    ["K-219", "Nerve hook blunt", 180, 7, 6, 33],
    ["K-233", "Rib spreader child", 160, 140, 41, 420],
    ["K-241", "Towel clip pointed", 95, 48, 7, 19],
]
"""A list without headings: nobody can tell its four columns of bare numbers."""


def written(folder: Path, *sheets: list[list[Any]]) -> Path:
    file = folder / "list.xlsx"
    titles = ["Own list", "Other list"]
    file.write_bytes(xlsx(dict(zip(titles, sheets, strict=False))))
    return file


def run(file: Path, *options: str) -> Any:
    out = StringIO()
    try:
        call_command("import_spreadsheet", str(file), "--json", *options, stdout=out)
    except CommandError:
        if not out.getvalue():
            raise
    return json.loads(out.getvalue())


def option_of(question: dict[str, Any], answer: str) -> list[str]:
    """The options with which a question is answered, as the shell gives them."""
    return [part.replace("ANSWER", answer) for part in shlex.split(question["option"])]


class TestAColumn:
    def test_one_is_asked_at_a_time_with_three_values_beside_each_choice(
        self, tmp_path: Path
    ) -> None:
        (question,) = run(written(tmp_path, BARE))["questions"]
        assert question["option"] == "--column C=ANSWER"
        assert question["choices"][0] == {"answer": "length", "shows": ["210", "180", "160"]}
        assert [each["answer"] for each in question["choices"]][1:] == [
            "width", "height", "weight", "none",
        ]  # fmt: skip

    def test_the_answer_is_taken_and_the_next_is_asked(self, tmp_path: Path) -> None:
        file = written(tmp_path, BARE)
        said = run(file, *option_of(run(file)["questions"][0], "length"))
        assert said["mapping"]["Own list"]["length"] == "C"
        assert said["questions"][0]["option"] == "--column D=ANSWER"

    def test_all_answered_the_table_is_whole(self, tmp_path: Path) -> None:
        file = written(tmp_path, BARE)
        keys = dict(zip("CDEF", ("length", "width", "height", "weight"), strict=True))
        said = run(file, *(f"--column={letter}={key}" for letter, key in keys.items()))
        mapping = said["mapping"]["Own list"]
        assert {letter: key for key, letter in mapping.items()} == {
            "A": "item_number", "B": "name", **keys,
        }  # fmt: skip

    def test_none_of_them_is_an_answer(self, tmp_path: Path) -> None:
        said = run(written(tmp_path, BARE), "--column", "C=none")
        assert "C" not in said["mapping"]["Own list"].values()
        assert said["questions"][0]["option"] == "--column D=ANSWER"

    def test_nothing_is_read_in_while_one_is_open(self, tmp_path: Path) -> None:
        file = written(tmp_path, BARE)
        assert run(file, "--commit")["committed"] is False
        none = [f"--column={letter}=none" for letter in "CDEF"]
        assert run(file, "--commit", *none)["committed"] is True

    def test_with_several_sheets_it_says_of_which(self, tmp_path: Path) -> None:
        file = written(tmp_path, [["Item no", "Name"], ["A-1", "Probe"]], BARE)
        (question,) = run(file)["questions"]
        assert question["option"] == "--column 'Other list!C=ANSWER'"
        said = run(file, *option_of(question, "length"))
        assert said["mapping"]["Other list"]["length"] == "C"

    def test_a_column_of_no_named_sheet_is_refused_where_there_are_several(
        self, tmp_path: Path
    ) -> None:
        file = written(tmp_path, BARE, BARE)
        with pytest.raises(CommandError, match="'Own list!C=length'"):
            run(file, "--column", "C=length")

    def test_a_key_that_is_none_is_refused_with_those_there_are(self, tmp_path: Path) -> None:
        with pytest.raises(CommandError, match="item_number, name"):
            run(written(tmp_path, BARE), "--column", "C=lenght")


class TestAUnit:
    HEADED = [
        ["Item no", "Name", "Length", "Width", "Height", "Weight"],
        *([*row[:2], row[2] / 10, row[3] / 10, row[4] / 10, row[5]] for row in BARE),
    ]

    def test_sizes_are_asked_together_and_the_weight_by_itself(self, tmp_path: Path) -> None:
        questions = run(written(tmp_path, self.HEADED))["questions"]
        assert [each["option"] for each in questions] == [
            "--unit length,width,height=ANSWER", "--unit weight=ANSWER",
        ]  # fmt: skip

    def test_the_likeliest_comes_first_with_three_values_as_they_would_be_read(
        self, tmp_path: Path
    ) -> None:
        question = run(written(tmp_path, self.HEADED))["questions"][0]
        assert question["choices"][0] == {
            "answer": "cm",
            "shows": ["210 mm × 12 mm × 9 mm", "180 mm × 7 mm × 6 mm", "160 mm × 140 mm × 41 mm"],
        }

    def test_the_unit_of_the_other_sizes_is_the_likeliest(self, tmp_path: Path) -> None:
        rows = [["Item no", "Name", "Length (cm)", "Width"], ["A-1", "Saw", 17, 8]]
        (question,) = run(written(tmp_path, rows))["questions"]
        assert question["choices"][0] == {"answer": "cm", "shows": ["170 mm × 80 mm"]}

    def test_the_answers_are_taken_and_no_question_is_left(self, tmp_path: Path) -> None:
        file = written(tmp_path, self.HEADED)
        options = [
            part
            for question, unit in zip(run(file)["questions"], ("cm", "g"), strict=True)
            for part in option_of(question, unit)
        ]
        assert run(file, *options)["questions"] == []
        run(file, *options, "--commit")
        spreader = Instrument.objects.get(item_number="K-233")
        assert (spreader.width_mm, spreader.weight_g) == (140, 420)

    def test_bare_numbers_are_not_read_before_that(self, tmp_path: Path) -> None:
        run(written(tmp_path, self.HEADED), "--commit")
        assert not Instrument.objects.exists()


LINES = [["Qty", "Item number", "Name"], [2, "HF-1", "Probe"], [1, "HF-2", "Hook"]]


@pytest.fixture
def instruments() -> None:
    make.Instrument(item_number="HF-1", name="Probe")
    make.Instrument(item_number="HF-2", name="Hook")


@pytest.mark.usefixtures("instruments")
class TestASetNumber:
    def test_the_departments_own_numbers_are_continued(self, tmp_path: Path) -> None:
        make.InstrumentSet(code="HF-S07", name="Other")
        questions = run(written(tmp_path, LINES, LINES), "--kind", "sets")["questions"]
        assert [each["option"] for each in questions] == [
            "--set-number 'Own list!Own list=ANSWER'",
            "--set-number 'Other list!Other list=ANSWER'",
        ]
        assert [each["choices"][0]["answer"] for each in questions] == ["HF-S08", "HF-S09"]
        assert questions[0]["choices"][0]["shows"] == ["Probe", "Hook"]

    def test_a_set_of_the_same_name_is_proposed_first(self, tmp_path: Path) -> None:
        make.InstrumentSet(code="HF-S07", name="own list")
        (question,) = run(written(tmp_path, LINES), "--kind", "sets")["questions"]
        assert [each["answer"] for each in question["choices"]] == ["HF-S07", "HF-S08"]

    def test_the_answer_is_the_number_of_the_set(self, tmp_path: Path) -> None:
        file = written(tmp_path, LINES)
        (question,) = run(file, "--kind", "sets")["questions"]
        options = ["--kind", "sets", *option_of(question, "T-9"), "--commit"]
        assert [each["code"] for each in run(file, *options)["sets"]] == ["T-9"]
        assert CountSheet.objects.get(instrument_set__code="T-9").lines.count() == 2


@pytest.mark.usefixtures("instruments")
def test_quantities_that_no_column_says_are_asked_for_once(tmp_path: Path) -> None:
    rows = [["Set no.", "T-9"], ["Item number", "Name"], ["HF-1", "Probe"], ["HF-2", "Hook"]]
    file = written(tmp_path, rows)
    (question,) = run(file, "--kind", "sets")["questions"]
    assert question["choices"][0] == {"answer": "1", "shows": ["1 × Probe", "1 × Hook"]}
    run(file, "--kind", "sets", *option_of(question, "2"), "--commit")
    sheet = CountSheet.objects.get(instrument_set__code="T-9")
    assert list(sheet.lines.values_list("quantity", flat=True)) == [2, 2]


class TestItemNumbers:
    NAMED = [["Name", "Length (mm)"], ["Probe", 140], ["Hook", 120]]

    def test_the_departments_own_are_continued(self, tmp_path: Path) -> None:
        make.Instrument(item_number="HF-1009", name="Other")
        (question,) = run(written(tmp_path, self.NAMED), "--kind", "instruments")["questions"]
        assert question["option"] == "--numbers-from ANSWER"
        assert question["choices"] == [
            {"answer": "HF-1010", "shows": ["HF-1010 Probe", "HF-1011 Hook"]}
        ]

    def test_the_answer_numbers_the_list(self, tmp_path: Path) -> None:
        file = written(tmp_path, self.NAMED)
        run(file, "--kind", "instruments", "--numbers-from", "K-9", "--commit")
        assert dict(Instrument.objects.values_list("item_number", "name")) == {
            "K-9": "Probe", "K-10": "Hook",
        }  # fmt: skip

    def test_one_that_is_on_record_by_its_name_keeps_its_number(self, tmp_path: Path) -> None:
        make.Instrument(item_number="HF-1009", name="hook")
        file = written(tmp_path, self.NAMED)
        run(file, "--kind", "instruments", "--numbers-from", "HF-1009", "--commit")
        assert dict(Instrument.objects.values_list("item_number", "name")) == {
            "HF-1010": "Probe", "HF-1009": "Hook",
        }  # fmt: skip

    def test_a_list_that_has_numbers_is_not_asked(self, tmp_path: Path) -> None:
        assert run(written(tmp_path, [["Item no", "Name"], ["A-1", "Probe"]]))["questions"] == []


def test_how_letters_are_read_is_asked_like_the_rest(tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_bytes("Item #;Name\r\nT-1;Ножницы\r\n".encode("cp1251"))
    (question,) = run(file)["questions"]
    assert question["option"] == "--encoding ANSWER" and question["choices"][0]["shows"]
    assert run(file, *option_of(question, question["choices"][0]["answer"]))["questions"] == []


def test_what_a_file_holds_is_asked_where_nothing_says_it(tmp_path: Path) -> None:
    (question,) = run(written(tmp_path, [["Probe"], ["Hook"]]))["questions"]
    assert (question["option"], [each["answer"] for each in question["choices"]]) == (
        "--kind ANSWER", ["instruments", "sets"],
    )  # fmt: skip
    assert question["choices"][0]["shows"] == ["Probe", "Hook"]


@pytest.mark.parametrize(
    ("option", "said"),
    [("--quantity", "0"), ("--numbers-from", "none"), ("--set-number", "Major")],
)
def test_what_is_no_answer_is_refused_with_how_it_is_written(
    tmp_path: Path, option: str, said: str
) -> None:
    with pytest.raises(CommandError, match=said):
        run(written(tmp_path, LINES), "--kind", "sets", option, said)


class TestOnThePage:
    def press(self, client: Client, words: str) -> None:
        """The button of an answer, as the page has it."""
        shown = client.get(f"/spreadsheets/{last().pk}/columns/").content.decode()
        sent = re.search(rf'name="press" value="([^"]*)">{words}<', shown)
        assert sent, f"no button {words}"
        fields = {**as_proposed(last()), "press": html.unescape(sent[1])}
        client.post(f"/spreadsheets/{last().pk}/columns/", fields)

    def keys(self) -> dict[str, str]:
        return {each["letter"]: each["key"] for each in last().proposals[0]["columns"]}

    def test_one_press_answers_and_the_next_is_asked(self, coordinator: Client) -> None:
        upload(coordinator, BARE)
        self.press(coordinator, "Length")
        assert self.keys()["C"] == "length"
        self.press(coordinator, "Width")
        assert (self.keys()["C"], self.keys()["D"]) == ("length", "width")

    def test_all_answered_the_list_goes_in(self, coordinator: Client) -> None:
        upload(coordinator, BARE)
        for words in ("Length", "Width", "Height", "Weight", "mm", "g"):
            self.press(coordinator, words)
        assert last().report["questions"] == []
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", as_proposed(last()))
        coordinator.post(f"/spreadsheets/{last().pk}/apply/", {"group": ["new"]})
        spreader = Instrument.objects.get(item_number="K-233")
        assert (spreader.width_mm, spreader.weight_g) == (140, 420)

    def test_what_was_corrected_below_is_kept_with_an_answer(self, coordinator: Client) -> None:
        upload(coordinator, BARE)
        fields = {**as_proposed(last()), "s1-key-F": "spares_on_hand"}
        fields["press"] = "--column C=length"
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        assert (self.keys()["C"], self.keys()["F"]) == ("length", "spares_on_hand")

    def test_three_sizes_in_a_cell_are_read_as_the_command_reads_them(
        self, coordinator: Client
    ) -> None:
        rows = [["Item no", "Name", "Dimensions (mm)"], ["A-1", "Saw", "170 x 80 x 10"]]
        upload(coordinator, rows)
        assert self.keys()["C"] == "sizes"
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", as_proposed(last()))
        assert last().rows.get().values["width_mm"] == "80.000"

    def test_the_evidence_stands_beside_a_column(self, coordinator: Client) -> None:
        upload(coordinator, [["Item no", "Name"], ["A-1", "Probe"], ["A-2", "Hook"]])
        shown = coordinator.get(f"/spreadsheets/{last().pk}/columns/").content.decode()
        assert "known heading; codes, each once" in shown

    @pytest.mark.usefixtures("instruments")
    def test_the_numbers_of_all_sets_are_given_with_one_press(self, coordinator: Client) -> None:
        data = xlsx({"Major set": LINES, "Minor set": LINES})
        upload(coordinator, data)
        again = {**as_proposed(last()), "again": "1", "kind": "sets"}
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", again)
        options = [each["option"] for each in last().report["questions"]]
        fields = {**as_proposed(last()), "option": options, "answer": ["T-1", "T-2"]}
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", as_proposed(last()))
        coordinator.post(f"/spreadsheets/{last().pk}/apply/", {})
        assert set(InstrumentSet.objects.values_list("code", "name")) == {
            ("T-1", "Major set"), ("T-2", "Minor set"),
        }  # fmt: skip

    def test_what_the_file_holds_is_one_press(self, coordinator: Client) -> None:
        upload(coordinator, [["Probe", "long"], ["Hook", "short"]])
        self.press(coordinator, "Count sheets")
        assert last().kind == "sets"

    def test_item_numbers_are_proposed_and_typed(self, coordinator: Client) -> None:
        make.Instrument(item_number="HF-1009", name="Other")
        upload(coordinator, [["Name", "Length (mm)"], ["Probe", 140], ["Hook", 120]])
        if last().report["questions"][0]["option"] == "--kind ANSWER":
            self.press(coordinator, "Instruments")
        (question,) = last().report["questions"]
        fields = {"option": question["option"], "answer": question["choices"][0]["answer"]}
        fields |= as_proposed(last())
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", as_proposed(last()))
        assert {each.key for each in last().rows.all()} == {"HF-1010", "HF-1011"}

    def test_what_is_no_answer_is_said_and_changes_nothing(self, coordinator: Client) -> None:
        upload(coordinator, BARE)
        fields = {**as_proposed(last()), "press": "--column C=lenght"}
        answer = coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        assert answer.status_code == 422 and "is no column and key" in answer.content.decode()
        assert last().mapping == {}


class TestHeadingsThatSayNothing:
    STRANGE = [["Column1", "Column2", "Column3", "Column4", "Column5", "Column6"], *BARE]

    def test_their_row_is_no_instrument_and_the_columns_are_asked(self, tmp_path: Path) -> None:
        said = run(written(tmp_path, self.STRANGE))
        assert sum(said["counts"].values()) == len(BARE)
        assert [each["option"] for each in said["questions"]] == ["--column C=ANSWER"]

    def test_the_page_reads_them_as_answered(self, coordinator: Client) -> None:
        upload(coordinator, self.STRANGE)
        for option in ("C=length", "D=width", "E=height", "F=weight"):
            fields = {**as_proposed(last()), "press": f"--column {option}"}
            coordinator.post(f"/spreadsheets/{last().pk}/columns/", fields)
        coordinator.post(f"/spreadsheets/{last().pk}/columns/", as_proposed(last()))
        assert {row.key for row in last().rows.all()} == {row[0] for row in BARE}


def test_a_size_under_a_heading_that_says_nothing_is_asked_where_no_length_is_told(
    tmp_path: Path,
) -> None:
    rows = [["Item no", "Name", "Zz", "Width (mm)"], *(row[:4] for row in BARE)]
    (question,) = run(written(tmp_path, rows))["questions"]
    assert question["option"] == "--column C=ANSWER" and question["choices"][0]["answer"] == (
        "length"
    )
    rows[0][3] = "Length (mm)"
    assert run(written(tmp_path, rows))["questions"] == []


def test_a_code_may_be_the_makers(tmp_path: Path) -> None:
    rows = [[f"P-{n:05}", f"AB{n}R", f"{row[1]}", "12 mm"] for n, row in enumerate(BARE)]
    (question,) = run(written(tmp_path, rows))["questions"]
    answers = [each["answer"] for each in question["choices"]]
    assert answers == ["item_number", "maker_catalog_number", "none"]


def test_names_with_sizes_are_a_list_of_instruments_to_be_numbered(tmp_path: Path) -> None:
    rows = [["Name", "Length (mm)"], ["Probe", 140], ["Hook", 120]]
    said = run(written(tmp_path, rows))
    assert (said["kind"], said["questions"][0]["option"]) == (
        "instruments", "--numbers-from ANSWER",
    )  # fmt: skip

"""What the catalog knows tells the columns of the department's next list, for page and command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from tests.catalog.spreadsheets.batches.test_pages import last, upload
from tests.catalog.spreadsheets.batches.test_questions import run, written
from tests.catalog.spreadsheets.workbooks import xlsx
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

NAMES = ("Mayo scissors", "Kelly clamp", "Adson forceps", "Towel clip", "Nerve hook", "Osteotome")
ROWS: list[list[Any]] = [
    [f"HF-{1000 + 7 * place}", f"BT{20 + place}-{place}", name, 120 + 10 * place]
    for place, name in enumerate(NAMES)
]
HEADINGS = ["Cat #", "Ref", "Description", "Length (mm)"]
LIST: list[list[Any]] = [HEADINGS, *ROWS]
OWN = {"item_number": "A", "maker_catalog_number": "B", "name": "C", "length": "D"}


def know(column: int, rows: int = 4, **more: str) -> None:
    """The first rows of the list are on record, under the numbers of one of its columns."""
    for row in ROWS[:rows]:
        make.Instrument(item_number=f"{row[column]}".lower(), name=f"As known {row[0]}", **more)


def taken(file: Path) -> dict[str, str]:
    said = run(file)
    assert said["questions"] == []
    return {key: letter for key, letter in said["mapping"]["Own list"].items() if key in OWN}


def test_with_an_empty_catalog_it_is_asked_which_number_is_ours(tmp_path: Path) -> None:
    (question,) = run(written(tmp_path, LIST))["questions"]
    answers = {each["answer"] for each in question["choices"]}
    assert question["option"] == "--column B=ANSWER"
    assert {"item_number", "maker_catalog_number"} <= answers


@pytest.mark.parametrize("headings", [HEADINGS, ["Ref", "Cat #", *HEADINGS[2:]]])
def test_known_item_numbers_settle_it(tmp_path: Path, headings: list[str]) -> None:
    know(0)
    file = written(tmp_path, [headings, *ROWS])
    assert taken(file) == OWN
    assert "known item numbers" in run(file)["why"]["Own list"]["A"]


@pytest.mark.parametrize("headings", [HEADINGS, ["Ref", "Cat #", *HEADINGS[2:]]])
def test_in_the_other_column_too(tmp_path: Path, headings: list[str]) -> None:
    know(1)
    file = written(tmp_path, [headings, *ROWS])
    assert taken(file) == {**OWN, "item_number": "B", "maker_catalog_number": "A"}


def test_known_numbers_of_the_maker_settle_it(tmp_path: Path) -> None:
    for row in ROWS:
        make.Instrument(item_number=f"OLD-{row[0]}", maker_catalog_number=row[1])
    file = written(tmp_path, LIST)
    assert taken(file) == OWN
    assert "known maker's numbers" in run(file)["why"]["Own list"]["B"]


def test_what_the_catalog_has_as_both_is_still_asked(tmp_path: Path) -> None:
    for row in ROWS:
        make.Instrument(item_number=row[0])
        make.Instrument(item_number=row[1])
    assert len(run(written(tmp_path, LIST))["questions"]) == 1


def test_too_few_known_numbers_settle_nothing(tmp_path: Path) -> None:
    know(0, rows=2)
    assert len(run(written(tmp_path, LIST))["questions"]) == 1


def test_item_numbers_known_under_another_heading_are_asked_about(tmp_path: Path) -> None:
    """A list whose "item numbers" nobody knows, beside a column of those that the catalog has."""
    know(1)
    (question,) = run(written(tmp_path, [["Item no", *HEADINGS[1:]], *ROWS]))["questions"]
    assert question["option"] == "--column A=ANSWER"


def test_known_names_and_makers_tell_their_columns(tmp_path: Path) -> None:
    for row in ROWS:
        make.Instrument(
            name=f"{row[2]}, new", also_known_as=f"x; {row[2].upper()}", maker="Wexholm"
        )
    rows = [[row[0], row[2], "wexholm", f"{row[3]} mm"] for row in ROWS]
    said = run(written(tmp_path, [["Item no", "What", "Whose", "Length"], *rows]))
    mapping = said["mapping"]["Own list"]
    assert (mapping["name"], mapping["maker"], said["questions"]) == ("B", "C", [])
    assert said["why"]["Own list"]["B"] == "known names"


def test_the_lines_of_known_sets_are_told_by_known_numbers(tmp_path: Path) -> None:
    know(1)
    make.InstrumentSet(code="LAP-1")
    lines = [["lap-1", *row[:3], 1] for row in ROWS]
    file = written(tmp_path, [["Tray", *HEADINGS[:3], "Qty"], *lines])
    said = run(file, "--kind", "sets")
    mapping, why = said["mapping"]["Own list"], said["why"]["Own list"]
    assert (mapping["set_code"], mapping["item_number"]) == ("A", "C")
    assert "known set numbers" in why["A"]
    assert "known item numbers" in why["C"]


@pytest.mark.parametrize("heading", ["#", "Qty", "Number", "Item"])
def test_items_named_1_2_3_make_no_item_numbers_of_lines_and_counts(
    tmp_path: Path, heading: str
) -> None:
    lines = [[place, *row] for place, row in enumerate(ROWS, start=1)]
    file = written(tmp_path, [[heading, "Shelf", *HEADINGS[1:]], *lines])
    before = run(file)
    for number in range(1, 100):
        make.Instrument(item_number=str(number))
    after = run(file)
    assert (after["mapping"], after["questions"]) == (before["mapping"], before["questions"])
    assert after["mapping"].get("Own list", {}).get("item_number") != "A"


@pytest.mark.parametrize("column", [0, 1])
def test_the_page_proposes_what_the_command_takes(
    coordinator: Client, tmp_path: Path, column: int
) -> None:
    know(column)
    upload(coordinator, xlsx({"Own list": LIST}))
    (sheet,) = last().proposals
    proposed = {each["key"]: each["letter"] for each in sheet["columns"] if each["key"]}
    assert proposed == taken(written(tmp_path, LIST))
    shown = coordinator.get(f"/spreadsheets/{last().pk}/columns/").content.decode()
    assert "known item numbers" in shown

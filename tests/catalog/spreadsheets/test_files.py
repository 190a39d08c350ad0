"""Good and bad workbooks, one failure each: every file of ``fixtures/workbooks``.

The folder is made by ``python -m tests.catalog.spreadsheets.make_workbooks``; the table here
says what each file is there for.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings

from catalog.spreadsheets.cells.report import Report
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets import make_workbooks
from tests.catalog.spreadsheets.workbooks import check_instruments, rows_that_go_in

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "workbooks"
GOOD = sorted(path.name for path in FOLDER.glob("good_*"))
FILE_PROBLEMS = {
    "bad_called_xlsx.xlsx": "not_a_spreadsheet",
    "bad_cell_far_away.xlsx": "too_many_rows",
    "bad_cell_too_long.xlsx": "cell_too_long",
    "bad_column_far_away.xlsx": "too_many_columns",
    "bad_cut_short.xlsx": "damaged",
    "bad_empty.csv": "empty_file",
    "bad_entities.xlsx": "declares_entities",
    "bad_external_entity.xlsx": "declares_entities",
    "bad_no_headings.xlsx": "no_table",
    "bad_no_number_column.xlsx": "no_table",
    "bad_old_format.xls": "not_a_spreadsheet",
    "bad_other_zip.xlsx": "not_a_spreadsheet",
    "bad_picture.csv": "not_a_spreadsheet",
    "bad_rows_out_of_order.xlsx": "damaged",
    "bad_zip_bomb.xlsx": "unpacks_too_large",
}
"""File to the code of the problem that stops it."""
CELL_PROBLEMS = {
    "bad_ambiguous_day.csv": (2, "C", "ambiguous"),
    "bad_conflicting_cycle.csv": (2, "D", "conflict"),
    "bad_date_was_fraction.xlsx": (2, "C", "looks_like_date"),
    "bad_date_was_number.xlsx": (2, "C", "looks_like_date"),
    "bad_day.csv": (2, "C", "not_a_date"),
    "bad_divided_by_comma.csv": (2, "D", "divided_by_comma"),
    "bad_empty_name.csv": (3, "B", "missing_name"),
    "bad_error_value.xlsx": (2, "B", "error_value"),
    "bad_forbidden_package.csv": (2, "C", "not_in_list"),
    "bad_formula_never_calculated.xlsx": (2, "B", "formula"),
    "bad_implausible_length.csv": (2, "C", "implausible"),
    "bad_implausible_weight.csv": (2, "C", "implausible"),
    "bad_long_number.xlsx": (2, "A", "damaged_number"),
    "bad_lumen_wider_than_tube.csv": (2, "D", "implausible"),
    "bad_negative.csv": (2, "C", "negative"),
    "bad_no_item_number.csv": (3, "A", "missing_item_number"),
    "bad_no_unit.csv": (2, "C", "no_unit"),
    "bad_range.csv": (2, "C", "range"),
    "bad_repeated_number.csv": (3, "A", "repeated_item_number"),
    "bad_tip.csv": (2, "C", "not_in_list"),
    "bad_two_units.csv": (2, "C", "two_units"),
    "bad_unlike_others.csv": (2, "D", "unlike_others"),
    "bad_unit_said_above.csv": (4, "C", "unit_said_above"),
    "bad_unknown_method.csv": (2, "C", "unknown_method"),
    "bad_unknown_unit.csv": (2, "C", "unknown_unit"),
    "bad_unreadable_cycle.csv": (2, "D", "unreadable_cycle"),
    "bad_yes_no.csv": (2, "C", "not_yes_or_no"),
    "bad_zero.csv": (2, "C", "zero"),
}
"""File to the one cell that is wrong, and how."""
ROWS = {"good_judged_unit.csv": 4}
"""Good file to its rows where they are not two: three sizes are the least evidence."""
SAID = {
    "good_every_fact.xlsx": "unknown_value",
    "good_formula_calculated.xlsx": "formula_value",
    "good_hidden_column.xlsx": "hidden_columns",
    "good_hidden_row.xlsx": "hidden_rows",
    "good_hidden_sheet.xlsx": "hidden_sheet",
    "good_judged_unit.csv": "unit_judged",
    "good_merged.xlsx": "merged_value",
    "good_notes_sheet.xlsx": "no_header",
    "good_number_as_text.xlsx": "number_as_text",
    "good_total.xlsx": "total_row",
    "good_unheaded_column.csv": "not_read",
    "good_unknown_heading.csv": "not_read",
    "good_unknown_width.csv": "unknown_value",
}
"""Good file to what the report must say of it."""


def report(name: str) -> Report:
    return check_instruments(read_workbook((FOLDER / name).read_bytes(), name), {})


def test_every_file_of_the_folder_is_in_a_table() -> None:
    listed = {*FILE_PROBLEMS, *CELL_PROBLEMS, *GOOD}
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted(listed)


def test_the_folder_is_what_its_script_makes() -> None:
    assert sorted(make_workbooks.FILES) == sorted(path.name for path in FOLDER.iterdir())


@pytest.mark.parametrize(("name", "code"), FILE_PROBLEMS.items())
def test_a_file_that_cannot_be_read_says_why(name: str, code: str) -> None:
    assert [problem.code for problem in report(name).file_problems] == [code]


@pytest.mark.parametrize("name", FILE_PROBLEMS)
def test_a_file_that_cannot_be_read_has_no_rows(name: str) -> None:
    assert report(name).rows == ()


@pytest.mark.parametrize(("name", "wanted"), CELL_PROBLEMS.items())
def test_a_wrong_cell_is_named_where_the_spreadsheet_shows_it(
    name: str, wanted: tuple[int, str, str]
) -> None:
    found = [(each.row, each.column, each.code) for each in report(name).problems]
    assert found == [wanted]


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_is_read_to_the_last_row(name: str) -> None:
    made = report(name)
    assert (made.file_problems, len(rows_that_go_in(made))) == ((), ROWS.get(name, 2))


@pytest.mark.parametrize(("name", "code"), SAID.items())
def test_what_is_unusual_in_a_good_file_is_said(name: str, code: str) -> None:
    made = report(name)
    said = {each.code for each in (*made.column_notes, *made.problems)}
    assert code in said


def test_a_group_row_is_the_group_of_the_rows_below() -> None:
    rows = report("good_groups.xlsx").rows
    assert [row.values["group"] for row in rows] == ["Cutting", "Holding"]


def test_a_merged_cell_counts_for_every_row_it_reaches() -> None:
    rows = report("good_merged.xlsx").rows
    assert [row.values["maker"] for row in rows] == ["Kirkfell", "Kirkfell"]


@pytest.mark.parametrize("name", [name for name in GOOD if "length" in name])
def test_every_way_of_writing_a_table_gives_the_same_length(name: str) -> None:
    assert [str(row.values["length_mm"]) for row in report(name).rows] == ["125.000", "140.000"]

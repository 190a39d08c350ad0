"""Master lists: the invented hospital's, and small ones for each rule."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.spreadsheets.cells.report import Change, Report, RowReport
from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.workbooks import (
    book,
    check_instruments,
    columns_under,
    demo,
    rows_that_go_in,
)

HEAD = ["Item #", "Name", "Length", "Weight (g)"]


def check(
    rows: Sequence[Sequence[object]], known: Mapping[str, Mapping[str, object]] | None = None
) -> Report:
    return check_instruments(book(("List", rows)), known or {})


def codes(report: Report) -> list[tuple[int, str, str]]:
    return [(each.row, each.column, each.code) for each in report.problems]


@pytest.fixture(scope="module")
def master() -> Report:
    return check_instruments(demo("instrument_master_list.xlsx"), {})


def row(report: Report, number: int) -> RowReport:
    return next(each for each in report.rows if each.row == number)


def test_the_demo_list_is_counted(master: Report) -> None:
    assert master.counts == {
        "new": 64,
        "changed": 0,
        "unchanged": 0,
        "doubtful": 2,
        "refused": 5,
    }


def test_every_problem_of_the_demo_list_is_at_its_cell(master: Report) -> None:
    found = [(p.row, p.column, p.heading, p.value, p.code) for p in master.problems]
    assert found == [
        (81, "A", "Item #", "HF-1021", "repeated_item_number"),
        (82, "G", "Width", "?", "unknown_value"),
        (82, "I", "Wt.", "tbc", "unknown_value"),
        (83, "F", "Length", "-145", "negative"),
        (84, "F", "Length", '5 1/2 - 6"', "range"),
        (85, "B", "Description", "", "missing_name"),
        (85, "F", "Length", "120", "number_as_text"),
        (86, "F", "Length", "1600 cm", "implausible"),
        (87, "B", "Description", '=HYPERLINK("x","Bone hook")', "formula"),
        (87, "M", "Sterilize by", "cold soak", "unknown_method"),
        (88, "B", "Description", "TOTAL LINES", "total_row"),
    ]


def test_a_repeat_names_the_earlier_row(master: Report) -> None:
    assert "row 9" in row(master, 81).problems[0].message


def test_a_row_with_unknown_sizes_goes_in_without_them(master: Report) -> None:
    sound = row(master, 82)
    assert (sound.goes_in, sound.values["width_mm"], sound.values["weight_g"]) == (True, None, None)


def test_a_row_that_can_hardly_be_right_waits(master: Report) -> None:
    assert (row(master, 86).waits, row(master, 86).goes_in) == (True, False)


@pytest.mark.parametrize(
    ("number", "field", "value"),
    [
        (6, "length_mm", "125"),
        (9, "length_mm", "169.862"),
        (9, "weight_g", "79.4"),
        (10, "weight_g", "78.0"),
        (11, "length_mm", "180.086"),
        (24, "length_mm", "125"),
        (45, "height_mm", "2.032"),
        (50, "weight_g", "760.2"),
    ],
)
def test_sizes_of_the_demo_list(master: Report, number: int, field: str, value: str) -> None:
    assert row(master, number).values[field] == Decimal(value)


def test_the_units_of_bare_numbers_are_judged_and_told(master: Report) -> None:
    judged = [(note.column, note.row) for note in master.column_notes if note.code == "unit_judged"]
    assert judged == [("F", 4), ("G", 4), ("H", 4), ("I", 4)]


def test_the_evidence_for_a_unit_is_in_the_note(master: Report) -> None:
    note = next(note for note in master.column_notes if note.column == "F")
    assert note.message.startswith("13 numbers in Length have no unit; read as mm, because the 56")


def test_a_sheet_of_notes_is_noted_and_no_error(master: Report) -> None:
    assert [note.sheet for note in master.column_notes if note.code == "no_header"] == [
        "READ ME FIRST"
    ]


def test_a_grey_row_is_the_group_of_the_rows_below(master: Report) -> None:
    assert [row(master, number).values.get("group") for number in (15, 17, 79)] == [
        "Cutting",
        "Holding",
        "Holloware",
    ]


def test_rows_below_a_blank_row_belong_to_no_group(master: Report) -> None:
    assert "group" not in row(master, 82).values


def test_gas_only_has_unknown_numbers(master: Report) -> None:
    (gas,) = row(master, 70).values["methods"]
    assert {name for name, value in gas.items() if value} == {"method", "cycle_name"}


def test_the_report_can_be_written_as_json(master: Report) -> None:
    told = json.loads(json.dumps(master.as_json()))
    assert list(told["problems"][0]) == [
        "sheet",
        "row",
        "column",
        "heading",
        "value",
        "code",
        "message",
    ]


def test_the_same_list_again_changes_nothing(master: Report) -> None:
    known = {each.key: each.values for each in rows_that_go_in(master)}
    again = check_instruments(demo("instrument_master_list.xlsx"), known)
    assert (again.counts["unchanged"], [each for each in again.rows if each.changes]) == (64, [])


def test_the_demo_list_is_guessed_to_hold_instruments() -> None:
    assert guess_kind(demo("instrument_master_list.xlsx")) == "instruments"


def test_a_file_problem_comes_first_and_alone() -> None:
    report = check_instruments(read_workbook(b"", "list.xlsx"), {})
    assert ([each.code for each in report.file_problems], report.rows) == (["empty_file"], ())


def test_a_workbook_without_a_table_is_a_file_problem() -> None:
    assert [each.code for each in check([["hello"]]).file_problems] == ["no_table"]


def test_a_heading_row_without_the_item_number_is_named() -> None:
    report = check([["Name", "Length", "Weight"], ["Probe", "3 mm", "2 g"]])
    assert [note.code for note in report.column_notes] == ["missing_column"]


def test_all_problems_of_a_row_are_reported() -> None:
    report = check([HEAD, ["HF-1", "=A1", "14-16 cm", "-3"]])
    assert codes(report) == [(2, "B", "formula"), (2, "C", "range"), (2, "D", "negative")]


def test_an_empty_size_is_a_question_and_the_row_goes_in() -> None:
    report = check([HEAD, ["HF-1", "Probe", None, 30]])
    assert (codes(report), report.rows[0].goes_in) == ([(2, "C", "missing_value")], True)


def test_an_empty_cell_keeps_what_the_catalog_knows() -> None:
    known = {"HF-1": {"name": "Probe", "length_mm": Decimal(125), "weight_g": Decimal(30)}}
    report = check([HEAD, ["HF-1", "Probe", None, 30]], known)
    assert (report.counts["unchanged"], report.rows[0].values["length_mm"]) == (1, Decimal(125))


def test_a_question_mark_erases_nothing() -> None:
    known = {"HF-1": {"name": "Probe", "length_mm": Decimal(125), "weight_g": Decimal(30)}}
    assert check([HEAD, ["HF-1", "Probe", "?", 30]], known).rows[0].changes == ()


def test_a_change_is_told_field_by_field() -> None:
    known = {"HF-1": {"name": "Probe", "length_mm": Decimal(120), "weight_g": Decimal(30)}}
    report = check([HEAD, ["HF-1", "Probe", "125 mm", 30]], known)
    assert report.rows[0].changes == (Change("length_mm", Decimal(120), Decimal("125.000")),)


def test_item_numbers_differing_by_case_and_space_are_the_same() -> None:
    report = check([HEAD, ["HF-1", "Probe", "3 cm", 3], ["hf -1", "Probe", "3 cm", 3]])
    assert codes(report) == [(3, "A", "repeated_item_number")]


@pytest.mark.parametrize("number", [None, "?", " "])
def test_a_row_without_item_number_is_refused(number: object) -> None:
    report = check([HEAD, [number, "Probe", "3 cm", 3]])
    assert codes(report) == [(2, "A", "missing_item_number")]


def test_a_heading_with_a_unit_gives_the_unit_of_bare_numbers() -> None:
    report = check([["Item #", "Name", "Länge (cm)"], ["HF-1", "Sonde", "12,5"]])
    assert report.rows[0].values["length_mm"] == Decimal(125)


SIZED = [["HF-1", "A", "14 cm", 30], ["HF-2", "B", "16 cm", 30], ["HF-3", "C", "18 cm", 30]]


@pytest.mark.parametrize(
    ("number", "unit", "mm"), [(160, "mm", "160"), (16, "cm", "160"), (6.3, "in", "160.02")]
)
def test_bare_numbers_are_judged_by_the_cells_with_a_unit(
    number: float, unit: str, mm: str
) -> None:
    report = check([HEAD, *SIZED, ["HF-4", "D", number, 30]])
    assert report.rows[3].values["length_mm"] == Decimal(mm)


def test_bare_numbers_are_judged_by_the_sizes_in_the_names() -> None:
    rows = [[f"HF-{n}", f"Forceps {n} mm", n / 10, 30] for n in (120, 140, 160)]
    assert check([HEAD, *rows]).rows[0].values["length_mm"] == Decimal(120)


def test_bare_numbers_without_evidence_wait() -> None:
    report = check([HEAD, ["HF-1", "Probe", 14, 30]])
    assert (codes(report), report.rows[0].waits) == ([(2, "C", "no_unit")], True)


def test_bare_numbers_between_two_units_wait() -> None:
    # 10 is 100 mm as cm and 254 mm as in; the cells with a unit have their middle at 160 mm.
    report = check([HEAD, *SIZED, ["HF-4", "D", 10, 30]])
    assert codes(report) == [(5, "C", "no_unit")]


def test_evidence_that_disagrees_is_not_clear() -> None:
    named = [[f"HF-{n}", f"Forceps {n} mm", n / 10, 30] for n in (120, 140, 160)]
    # The names say cm. Beside cells of 356 mm the same numbers look like inches.
    large = [[f"HF-L{n}", "Tray", "356 mm", 30] for n in range(4)]
    report = check([HEAD, *large, *named])
    assert {each.code for each in report.problems} >= {"no_unit"}


def test_a_length_shorter_than_the_size_in_the_name_waits() -> None:
    report = check([HEAD, ["HF-1", "Mayo scissors 170 mm", "17 mm", 30]])
    assert codes(report) == [(2, "C", "implausible")]


def test_a_size_far_above_its_column_waits() -> None:
    rows = [[f"HF-{n}", "Hook", "30 mm", 30] for n in range(5)]
    report = check([HEAD, *rows, ["HF-9", "Hook", "601 mm", 30]])
    assert codes(report) == [(7, "C", "implausible")]


def test_a_size_of_just_twenty_times_its_column_passes() -> None:
    rows = [[f"HF-{n}", "Hook", "30 mm", 30] for n in range(5)]
    assert codes(check([HEAD, *rows, ["HF-9", "Rod", "600 mm", 30]])) == []


@pytest.mark.parametrize(("grams", "found"), [(15000, []), (15000.1, [(2, "D", "implausible")])])
def test_the_heaviest_instrument(grams: float, found: list[object]) -> None:
    assert codes(check([HEAD, ["HF-1", "Drill", "300 mm", grams]])) == found


def test_a_heading_row_repeated_after_a_page_break_is_skipped() -> None:
    report = check([HEAD, ["HF-1", "Probe", "3 cm", 3], HEAD, ["HF-2", "Probe", "3 cm", 3]])
    assert report.counts["new"] == 2


def test_an_instrument_named_total_is_no_total_row() -> None:
    report = check([["Item #", "Name"], ["HF-1", "Total hip rasp"]])
    assert report.counts["new"] == 1


def test_a_lonely_item_number_is_no_group() -> None:
    assert codes(check([["Item #", "Name"], ["HF-1", None]])) == [(2, "B", "missing_name")]


HEADED = ["Item #", "Name", "Method", "Cycle"]


def test_a_steam_temperature_needs_no_method() -> None:
    report = check([HEADED, ["HF-1", "Probe", None, "134C 3 min"]])
    assert [one["method"] for one in report.rows[0].values["methods"]] == ["steam"]


@pytest.mark.parametrize(
    ("method", "cycle", "code"),
    [(None, "55C 60 min", "missing_method"), ("steam", "as usual", "unreadable_cycle"),
     ("steam", "≥ 3 min", "no_temperature"), ("EO", "134C 3 min", "conflict")],
)  # fmt: skip
def test_a_cycle_in_doubt_lets_its_row_in(method: str | None, cycle: str, code: str) -> None:
    report = check([HEADED, ["HF-1", "Probe", method, cycle]])
    assert (codes(report), str(report.rows[0].verdict)) == ([(2, "D", code)], "doubtful")


def test_a_known_cycle_is_not_lost_to_a_cell_that_cannot_be_read() -> None:
    cycles = ({"method": "steam", "temperature_c": 134, "exposure_min": 3},)
    known = {"HF-1": {"name": "Probe", "methods": cycles}}
    report = check([HEADED, ["HF-1", "Probe", "steam", "as usual"]], known)
    assert report.rows[0].values["methods"] == cycles


def test_a_hidden_sheet_is_noted_and_not_read() -> None:
    shown = book(("List", [HEAD, ["HF-1", "Probe", "3 cm", 3]]))
    hidden = replace(shown, sheets=tuple(replace(sheet, hidden=True) for sheet in shown.sheets))
    report = check_instruments(hidden, {})
    assert [note.code for note in report.column_notes] == ["hidden_sheet"]


@pytest.mark.parametrize(
    ("headings", "keys"),
    [
        (
            ["Artikelnummer", "Bezeichnung", "Länge", "Gewicht (g)"],
            "item_number name length weight",
        ),
        (["N° article", "Désignation", "Longueur", "Poids"], "item_number name length weight"),
        (
            ["Número de artículo", "Descripción", "Longitud", "Peso"],
            "item_number name length weight",
        ),
        (
            ["Item #", "Instrument", "Ref.", "IFU rev."],
            "item_number name maker_catalog_number ifu_revision",
        ),
    ],
)
def test_headings_in_four_languages(headings: list[str], keys: str) -> None:
    assert columns_under(*headings) == dict(zip(keys.split(), "ABCD", strict=True))


def test_the_surer_of_two_headings_is_taken() -> None:
    found = columns_under("Item", "Item #", "Description")
    assert (found["item_number"], found["name"]) == ("B", "C")


ANY = st.one_of(
    st.none(),
    st.text(max_size=12),
    st.integers(-10, 10**6),
    st.floats(),
    st.booleans(),
    st.sampled_from(["=A1", "12 mm", "?", "steam", "134C 3 min", "TOTAL", "HF-1", "3-4 cm"]),
)


@given(rows=st.lists(st.lists(ANY, max_size=6), max_size=8))
def test_any_rows_give_one_verdict_each(rows: list[list[object]]) -> None:
    head = ["Item #", "Name", "Length", "Weight", "Method", "Cycle"]
    report = check([head, *rows])
    assert sum(report.counts.values()) == len(report.rows)


@given(rows=st.lists(st.lists(ANY, max_size=6), max_size=8))
def test_no_filled_row_is_lost(rows: list[list[object]]) -> None:
    head = ["Item #", "Name", "Length", "Weight", "Method", "Cycle"]
    workbook = book(("List", [head, *rows]))
    report = check_instruments(workbook, {})
    told = {each.row for each in report.rows} | {each.row for each in report.skipped}
    assert told == {each.number for each in workbook.sheets[0].rows}


def test_an_answer_gives_the_unit_that_the_sheet_does_not() -> None:
    workbook = book(("List", [HEAD, ["HF-1", "Probe", 14, 30]]))
    said = {"List": SheetChoice(units={"length": "cm"})}
    report = check_instruments(workbook, {}, choices=said)
    assert report.rows[0].values["length_mm"] == Decimal(140)


MALLETS = [["Item #", "Name", "Group", "Weight (g)"]] + [
    [f"HF-{n}", f"Mallet no. {n}", "Mallets", 440 + n] for n in range(6)
]


def test_a_mallet_of_two_grams_is_a_question() -> None:
    report = check([*MALLETS, ["HF-9", "Light mallet", "Mallets", 2]])
    assert codes(report) == [(8, "D", "implausible")]


def test_two_grams_are_no_question_in_another_group() -> None:
    report = check([*MALLETS, ["HF-9", "Needle", "Needles", 2]])
    assert codes(report) == []


def test_the_group_of_the_catalog_counts_where_the_file_has_too_few() -> None:
    known = {f"X-{n}": {"group": "Mallets", "weight_g": Decimal(450 + n)} for n in range(5)}
    report = check([MALLETS[0], ["HF-9", "Light mallet", "mallets", 2]], known)
    assert codes(report) == [(2, "D", "implausible")]

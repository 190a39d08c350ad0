"""Count sheets: the invented hospital's, and small ones for each rule."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

import pytest

from catalog.spreadsheets.cells.report import Change, Report, SetReport, Verdict
from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.checking.sets.lines import check_sets
from tests.catalog.spreadsheets.workbooks import book, check_instruments, demo, rows_that_go_in

INSTRUMENTS = {"HF-1": ("Probe", ["sound"]), "HF-2": ("Hook, sharp", [])}
TOP = [["Small set"], ["Set no.", "S1", "Rev.", 2], ["Service", "Eyes", "Packed in", "wrap"]]
HEAD = ["Qty", "Instrument", "Item #"]
LINES = [[2, "Probe", "HF-1"], [1, "Hook, sharp", "HF-2"]]


def check(
    *rows: Sequence[object],
    top: Sequence[Sequence[object]] = TOP,
    known: Mapping[str, Mapping[str, object]] | None = None,
) -> Report:
    return check_sets(book(("One", [*top, HEAD, *rows])), known or {}, INSTRUMENTS)


def codes(report: Report) -> list[tuple[int, str, str]]:
    return [(each.row, each.column, each.code) for each in report.problems]


@pytest.fixture(scope="module")
def sheets() -> Report:
    return check_sets(demo("count_sheets.xlsx"), {}, demo_instruments())


def demo_instruments() -> dict[str, tuple[str, Sequence[str]]]:
    report = check_instruments(demo("instrument_master_list.xlsx"), {})
    return {
        row.key: (str(row.values["name"]), tuple(row.values["also_known_as"]))  # type: ignore[arg-type]
        for row in rows_that_go_in(report)
    }


def known_from(one: SetReport) -> dict[str, object]:
    return {
        "name": one.name,
        "service": one.service,
        "revision": one.revision,
        "packed_in": one.packed_in,
        "lines": {line.key: line.values["quantity"] for line in one.lines if line.goes_in},
    }


def test_the_demo_sheets_are_counted(sheets: Report) -> None:
    assert (sheets.counts["new"], sheets.counts["refused"], len(sheets.rows)) == (61, 1, 62)


def test_the_only_problem_of_the_demo_sheets_is_the_unknown_instrument(sheets: Report) -> None:
    assert [(p.sheet, p.row, p.column, p.value, p.code) for p in sheets.problems] == [
        ("Minor procedures set", 18, "B", "HF-9999", "unknown_instrument")
    ]


def test_the_demo_sets_and_their_lines(sheets: Report) -> None:
    assert [(one.code, len(one.lines)) for one in sheets.sets] == [
        ("HF-S01", 33),
        ("HF-S02", 11),
        ("HF-S03", 8),
        ("HF-S04", 7),
        ("HF-S05", 3),
    ]


def test_the_heading_block_is_read(sheets: Report) -> None:
    one = sheets.sets[2]
    assert (one.name, one.service, one.revision, one.packed_in) == (
        "Bone instruments set, heavy",
        "Orthopaedics",
        "4",
        "rigid container, full size",
    )


def test_every_total_of_the_demo_sheets_was_checked(sheets: Report) -> None:
    assert [note.code for note in sheets.column_notes].count("total_checked") == 5


def test_a_set_with_a_refused_line_is_in_doubt(sheets: Report) -> None:
    minor = sheets.sets[1]
    assert (minor.verdict, minor.waits, minor.left_out) == (Verdict.DOUBTFUL, False, 1)


def test_the_same_sheets_again_change_nothing(sheets: Report) -> None:
    known = {one.code: known_from(one) for one in sheets.sets}
    again = check_sets(demo("count_sheets.xlsx"), known, demo_instruments())
    assert again.counts["unchanged"] == 61


def test_the_demo_sheets_are_guessed_to_hold_sets() -> None:
    assert guess_kind(demo("count_sheets.xlsx")) == "sets"


def test_a_workbook_of_notes_is_neither() -> None:
    assert guess_kind(book(("Notes", [["hello"]]))) is None


def test_the_report_can_be_written_as_json(sheets: Report) -> None:
    assert len(json.loads(json.dumps(sheets.as_json()))["sets"]) == 5


def test_a_line_carries_its_set_its_place_and_its_count() -> None:
    assert check(*LINES).rows[1].values == {
        "set_code": "S1",
        "set_name": "Small set",
        "packed_in": "wrap",
        "service": "Eyes",
        "revision": "2",
        "order": 2,
        "item_number": "HF-2",
        "name": "Hook, sharp",
        "quantity": 1,
    }


def test_a_nickname_is_as_good_as_the_name() -> None:
    assert codes(check([1, "Sound", "HF-1"])) == []


def test_another_instruments_name_makes_the_line_wait() -> None:
    report = check([1, "Hook, sharp", "HF-1"])
    assert (codes(report), report.rows[0].waits) == ([(5, "B", "name_mismatch")], True)


def test_an_item_number_is_found_whatever_its_case() -> None:
    assert check([1, "Probe", "hf-1"]).rows[0].key == "HF-1"


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ([None, "Probe", "HF-1"], (5, "A", "missing_quantity")),
        ([0, "Probe", "HF-1"], (5, "A", "zero")),
        (["some", "Probe", "HF-1"], (5, "A", "not_a_count")),
        ([1, None, None], (5, "C", "missing_item_number")),
        ([1, "Probe", "=C9"], (5, "C", "formula")),
        (["=A9", "Probe", "HF-1"], (5, "A", "formula")),
        ([1, "Curette", "HF-3"], (5, "C", "unknown_instrument")),
    ],
)
def test_a_line_that_cannot_be_read_is_refused(line: list[object], found: object) -> None:
    report = check(line)
    assert (codes(report), report.counts["refused"]) == ([found], 1)


def test_a_total_that_agrees_is_no_line_and_no_problem() -> None:
    report = check(*LINES, ["TOTAL", 3])
    assert (codes(report), len(report.rows)) == ([], 2)


@pytest.mark.parametrize(
    "said",
    ["Totaal", "Totale pezzi", "Sous-total", "Gesamtzahl", "Razem", "Total number of items: "],
)
def test_a_total_is_one_in_whatever_words(said: str) -> None:
    report = check(*LINES, [said, 3])
    assert (codes(report), len(report.rows)) == ([], 2)


def test_an_instrument_whose_name_begins_with_total_is_a_line() -> None:
    assert len(check(*LINES, [1, "Total hip rasp"]).rows) == 3


def test_a_total_that_does_not_agree_makes_the_set_wait() -> None:
    report = check(*LINES, ["TOTAL", 4])
    assert (codes(report), report.sets[0].waits) == ([(7, "B", "total_mismatch")], True)


def test_no_line_of_a_set_that_waits_goes_in() -> None:
    report = check(*LINES, ["TOTAL", 4])
    assert (rows_that_go_in(report), report.counts["doubtful"]) == ([], 2)


def test_a_total_never_calculated_cannot_be_checked() -> None:
    assert [code for _, _, code in codes(check(*LINES, ["TOTAL", "=SUM(A5:A6)"]))] == [
        "total_unreadable"
    ]


def test_two_subtotals_are_each_checked_with_their_own_lines() -> None:
    assert codes(check(LINES[0], ["Subtotal", 2], LINES[1], ["Subtotal", 1], ["Total", 3])) == []


def test_a_repeated_line_waits() -> None:
    assert codes(check(LINES[0], LINES[0])) == [(6, "C", "repeated_line")]


@pytest.mark.parametrize(
    ("top", "found"),
    [
        ([["Small set"]], (2, "A", "unnumbered_set")),
        ([["Set no.", None, "Rev.", 2]], (1, "B", "missing_set_code")),
    ],
)
def test_a_sheet_without_set_number_is_refused(
    top: list[list[object]], found: tuple[int, str, str]
) -> None:
    report = check(*LINES, top=top)
    assert (codes(report), report.counts["refused"]) == ([found], 2)


def test_a_set_number_that_is_a_formula_has_one_problem() -> None:
    assert codes(check(*LINES, top=[["Set no.", "=B9"]])) == [(1, "B", "formula")]


def test_two_sheets_with_one_set_number_are_not_mixed() -> None:
    workbook = book(("One", [*TOP, HEAD, *LINES]), ("Two", [*TOP, HEAD, *LINES]))
    report = check_sets(workbook, {}, INSTRUMENTS)
    assert [one.verdict for one in report.sets] == [Verdict.NEW, Verdict.REFUSED]


KNOWN = {"name": "Small set", "service": "Eyes", "revision": 2, "packed_in": "wrap"}


def test_a_changed_count_is_told() -> None:
    known = {"S1": {**KNOWN, "lines": {"HF-1": 5, "HF-2": 1}}}
    assert check(*LINES, known=known).rows[0].changes == (Change("quantity", 5, 2),)


def test_a_line_no_longer_on_the_sheet_is_told() -> None:
    known = {"S1": {**KNOWN, "lines": {"HF-1": 2, "HF-2": 1, "HF-7": 4}}}
    one = check(*LINES, known=known).sets[0]
    assert (one.removed, one.verdict) == (("HF-7",), Verdict.CHANGED)


def test_a_known_set_with_the_same_lines_is_unchanged() -> None:
    known = {"S1": {**KNOWN, "lines": {"HF-1": 2, "HF-2": 1}}}
    assert check(*LINES, known=known).sets[0].verdict is Verdict.UNCHANGED


def test_a_section_heading_goes_with_the_lines_below() -> None:
    report = check(["TOP LAYER"], *LINES)
    assert report.rows[0].values["section"] == "Top Layer"

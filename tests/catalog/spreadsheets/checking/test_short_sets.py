"""A set read as less, or as more, than its sheet says would leave short, or wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from catalog.spreadsheets.cells.report import Report
from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.evidence.known import on_record
from tests.catalog.spreadsheets.workbooks import book

INSTRUMENTS = {f"HF-{n}": (name, ()) for n, name in enumerate(("Probe", "Hook", "Clip"), start=1)}
Rows = Sequence[Sequence[object]]
LABEL = ["Set no.", "T-1"]
HEAD = ["Qty", "Item no.", "Description"]
LINES = [[2, "HF-1", "Probe"], [1, "HF-2", "Hook"], [4, "HF-3", "Clip"]]


def check(*rows: Sequence[object], known: bool = False) -> Report:
    workbook = book(("Sheet1", rows))
    if known:
        record = on_record({"name": [name for name, _ in INSTRUMENTS.values()]})
        workbook = replace(workbook, sheets=(replace(workbook.sheets[0], on_record=record),))
    assert guess_kind(workbook) == "sets"
    return check_sets(workbook, {}, INSTRUMENTS)


def found(report: Report) -> list[tuple[str, str, int, int]]:
    """Number, name, lines and lines left out of each set."""
    return [(one.code, one.name, len(one.lines), one.left_out) for one in report.sets]


class TestASetNamedInItsFirstLine:
    def test_in_whatever_words(self) -> None:
        """Columns that are mostly empty were none, and all lines went into one set."""
        lines = [["K-1", "Knee", *LINES[0]], *([None, None, *line] for line in LINES[1:])]
        more = [["K-2", "Hip", *LINES[2]], [None, None, *LINES[0]]]
        report = check(["Codice set", "Nome set", *HEAD], *lines, *more)
        assert found(report) == [("K-1", "Knee", 3, 0), ("K-2", "Hip", 2, 0)]

    def test_one_alone_is_short_of_its_other_lines(self) -> None:
        lines = [["K-1", *LINES[0]], *([None, *line] for line in LINES[1:])]
        assert found(check(["Codice set", *HEAD], *lines)) == [("K-1", "K-1", 3, 2)]

    NAMED = [["T-1", *LINES[0]], [None, *LINES[1]], ["T-2", *LINES[2]], [None, *LINES[0]]]

    def test_the_lines_below_belong_to_it(self) -> None:
        report = check(["Set no.", *HEAD], *self.NAMED)
        assert found(report) == [("T-1", "T-1", 2, 0), ("T-2", "T-2", 2, 0)]
        assert [note.code for note in report.column_notes] == ["filled_down"]

    def test_where_other_lines_name_theirs_the_one_that_does_not_is_left_out_of_it(self) -> None:
        """Before, it was refused on its own, and the set came into force without it."""
        named = [["T-1", *line] for line in LINES[:2]]
        report = check(["Set no.", *HEAD], *named, [None, *LINES[2]])
        assert found(report) == [("T-1", "T-1", 3, 1)]
        assert [each.code for each in report.rows[2].problems] == ["missing_set_code"]


def test_a_paragraph_above_the_lines_is_no_name_of_the_set() -> None:
    told = "This set is for hernia repair. Look at every piece before you pack it, and call us."
    assert found(check([told], [], ["Description", "Qty"], ["Probe", 2])) == [("", "list", 1, 1)]


def test_a_total_may_have_its_sum_under_any_heading() -> None:
    assert found(check(LABEL, ["Qty", "Item no."], [2, "HF-1"], [1, "HF-2"], ["Total", 3])) == [
        ("T-1", "list", 2, 0)
    ]  # fmt: skip


def test_a_count_in_a_name_is_asked_where_one_count_was_said_for_all() -> None:
    workbook = book(("S", [["Instrument"], ["2 Probe"], ["Hook"], ["Clip (4)"]]))
    said = {"S": SheetChoice(quantity=1, numbers_from="N-1", set_numbers={"S": "T-1"})}
    report = check_sets(workbook, {}, INSTRUMENTS, said)
    assert [row.waits for row in report.rows] == [True, False, True]
    assert report.rows[0].problems[-1].code == "count_in_name"


@pytest.mark.parametrize(
    ("beside", "places"), [("Revisado", (1, 2, 3, 4, 5, 6)), ("Stan", (4, 9, 4, 9, 4, 9))]
)
def test_what_differs_line_by_line_is_no_revision_of_the_set(
    beside: str, places: Sequence[int]
) -> None:
    lines = [[code, *line] for code in ("K-1", "K-2") for line in LINES]
    rows = [[code, place, *line] for place, (code, *line) in zip(places, lines, strict=True)]
    report = check(["Set no.", beside, *HEAD], *rows)
    assert found(report) == [("K-1", "K-1", 3, 0), ("K-2", "K-2", 3, 0)]


def test_the_value_of_a_label_is_no_heading() -> None:
    rows = [["Código caja", "K-1"], ["Nombre de la caja", "Hand x"], [], HEAD, *LINES]
    assert found(check(*rows)) == [("K-1", "Hand x", 3, 0)]


def test_a_line_without_its_count_is_no_section() -> None:
    report = check(LABEL, ["Description", "Qty"], ["Probe", 2], ["Hook"], ["Clip", 4], known=True)
    assert [one[2:] for one in found(report)] == [(3, 1)]
    assert "section" not in report.rows[2].values


@pytest.mark.parametrize(
    ("heads", "letters"),
    [(["Qty in set", "Qty on hand"], "AB"), (["Ist", "Soll"], ""), (["Before", "After"], "AB"),
     (["Count 1", "Count 2"], "AB"), (["Stock", "Qty"], ""), (["Manquant", "Nb"], ""),
     (["Falta", "N.º de peças"], ""), (["Lagersaldo", "St"], ""), (["Par", "Actual"], "")],
)  # fmt: skip
def test_two_columns_of_counts_of_one_set(heads: list[str], letters: str) -> None:
    """Neither makes sets of its own: one is the count, or it is asked which."""
    rows = [[count, 5 - count, *rest] for count, *rest in LINES]
    report = check(LABEL, [*heads, *HEAD[1:]], *rows)
    asked = [each.option for each in report.questions]
    if letters:
        assert asked
        assert asked[0].startswith("--column")
    else:
        assert (asked, found(report)) == ([], [("T-1", "list", 3, 0)])


class TestSetsAcross:
    HEAD = ["Item no.", "Name", "Major", "Minor"]
    ROWS = [["HF-1", "Probe", 1, 2], ["HF-2", "Hook", 2, 2], ["HF-3", "Clip", 3, None]]
    SETS = [("", "Major", 3, 3), ("", "Minor", 2, 2)]

    def test_a_column_of_totals_is_no_set_and_is_told(self) -> None:
        rows = [[*row, int(row[2]) + int(row[3] or 0)] for row in self.ROWS]
        report = check([*self.HEAD, "Total"], *rows)
        assert found(report) == self.SETS
        assert [note.code for note in report.column_notes] == ["not_read"]

    def test_a_quantity_that_is_their_sum_does_not_hide_them(self) -> None:
        rows = [[*row[:2], int(row[2]) + int(row[3] or 0), *row[2:]] for row in self.ROWS]
        assert found(check([*self.HEAD[:2], "Quantity", *self.HEAD[2:]], *rows)) == self.SETS

    def test_stock_is_no_quantity(self) -> None:
        rows = [[*row[:2], 9, *row[2:]] for row in self.ROWS]
        assert found(check([*self.HEAD[:2], "Stock", *self.HEAD[2:]], *rows)) == self.SETS


class TestTheSecondSetHasNoHeadings:
    def test_it_has_those_of_the_first(self) -> None:
        rows = [LABEL, HEAD, *LINES[:2], [], ["Set no.", "T-2"], ["Set name", "Small"], LINES[2]]
        assert found(check(*rows)) == [("T-1", "list", 2, 0), ("T-2", "Small", 1, 0)]

    def test_a_title_that_speaks_of_a_set_is_no_section_where_the_first_has_one(self) -> None:
        rows = [["Big set"], HEAD, *LINES[:2], [], ["Small set"], LINES[2]]
        assert found(check(*rows)) == [("", "Big set", 2, 2), ("", "Small set", 1, 1)]

    def test_side_by_side_its_columns_may_stand_in_another_order(self) -> None:
        rows = [
            ["Set no.", "T-1", None, None, "Set no.", "T-2"],
            [*HEAD, None, "Item no.", "Description", "Qty"],
            [*LINES[0], None, "HF-2", "Hook", 5],
        ]
        report = check(*rows)
        assert [(row.key, row.values["quantity"]) for row in report.rows] == [
            ("HF-1", 2), ("HF-2", 5),
        ]  # fmt: skip

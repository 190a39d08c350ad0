"""What a spreadsheet shows is what is read, or it is asked: nothing is taken for something else."""

from __future__ import annotations

import io
from typing import Any

import openpyxl
import pytest

from catalog.spreadsheets.cells.report import Report, RowReport, Verdict
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.columns.choices import SheetChoice
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook
from tests.catalog.spreadsheets.workbooks import book, check_instruments

HEAD = ["Item #", "Name", "Length (mm)", "Weight (g)"]


def csv(text: str) -> Report:
    return check_instruments(read_workbook(text.encode(), "list.csv"), {})


def row(report: Report, key: str) -> RowReport:
    return next(each for each in report.rows if each.key == key)


def codes(one: RowReport) -> list[str]:
    return [each.code for each in one.problems]


class TestThousands:
    """A point is a thousands mark where commas stand before decimals (German and French lists)."""

    def test_where_the_column_has_decimal_commas_a_point_divides_thousands(self) -> None:
        report = csv("Item #;Name;Gewicht (g)\nA-1;Haken;240,5\nA-2;Hammer;1.200\n")
        assert row(report, "A-2").values["weight_g"] == 1200

    def test_another_column_tells_it_where_its_own_does_not(self) -> None:
        report = csv("Item #;Name;Länge (cm);Gewicht (g)\nA-1;Hammer;24,5;1.200\n")
        assert row(report, "A-1").values["weight_g"] == 1200

    def test_where_the_column_has_decimal_points_it_is_one(self) -> None:
        report = csv("Item #,Name,Weight (g)\nA-1,Hook,40.5\nA-2,Tip,1.200\n")
        assert float(str(row(report, "A-2").values["weight_g"])) == 1.2

    def test_where_nothing_tells_it_is_refused(self) -> None:
        report = csv("Item #;Name;Gewicht (g)\nA-1;Hammer;1.200\n")
        assert codes(row(report, "A-1")) == ["ambiguous"]

    def test_a_number_of_the_spreadsheet_has_no_marks(self) -> None:
        report = check_instruments(book(("L", [HEAD, ["A-1", "Hook", 120, 1.201]])), {})
        assert codes(report.rows[0]) == []

    def test_a_comma_is_one_where_points_stand_before_decimals(self) -> None:
        report = csv('Item #,Name,Weight (g)\nA-1,Hook,40.5\nA-2,Mallet,"1,200"\n')
        assert row(report, "A-2").values["weight_g"] == 1200

    @pytest.mark.parametrize(("typed", "mm"), [("125.000", 125), ("0.125", 0.125)])
    def test_what_can_be_one_thing_only_is_read(self, typed: str, mm: float) -> None:
        report = csv(f"Item #,Name,Length (mm)\nA-1,Hook,{typed}\n")
        assert float(str(row(report, "A-1").values["length_mm"])) == mm


class TestThreeSizesInACell:
    """A comma before three digits may divide thousands or decimals; an inch is 25.4 mm
    (international yard and pound agreement 1959)."""

    def read(self, *cells: str, said: SheetChoice | None = None) -> Report:
        rows = [[f"A-{place}", f"Saw {place}", cell] for place, cell in enumerate(cells, 1)]
        workbook = book(("L", [["Item #", "Name", "Size (in)"], *rows]))
        return check_instruments(workbook, {}, choices={"L": said} if said else None)

    def sizes(self, one: RowReport) -> list[float]:
        return [float(str(one.values[f"{key}_mm"])) for key in ("length", "width", "height")]

    def test_where_nothing_tells_it_each_size_is_refused_by_name(self) -> None:
        report = self.read("12,125 x 3,500 x 1,250", "10,250 x 2,125 x 1,125")
        assert [codes(each) for each in report.rows] == [["ambiguous"] * 3] * 2
        assert "12125 or 12.125" in report.rows[0].problems[0].message

    def test_where_another_cell_tells_it_they_are_read(self) -> None:
        report = self.read("12,125 x 3,500 x 1,250", "10,5 x 2,125 x 1,125")
        assert self.sizes(report.rows[0]) == [307.975, 88.9, 31.75]

    def test_an_order_that_nothing_tells_is_asked(self) -> None:
        report = self.read("1 x 3 x 12", "1 x 2 x 10")
        (question,) = report.questions
        assert [each.answer for each in question.choices] == ["sizes", "none"]
        assert "length_mm" not in report.rows[0].values

    def test_the_answer_says_the_order(self) -> None:
        report = self.read("12 x 3 x 14", "10 x 2 x 11", said=SheetChoice(columns={"C": "sizes"}))
        assert (self.sizes(report.rows[0]), report.questions) == ([304.8, 76.2, 355.6], ())


def shown(number_format: str, value: Any, column: int = 1) -> Workbook:
    """A list with one row, in which one cell has a number format."""
    made = openpyxl.Workbook()
    made.active.append(HEAD)
    made.active.append(["HF-1", "Hook", 120, 30])
    cell = made.active.cell(2, column, value)
    cell.number_format = number_format
    out = io.BytesIO()
    made.save(out)
    return read_workbook(out.getvalue(), "list.xlsx")


class TestNumberFormats:
    """Formats as ECMA-376 part 1, 18.8.31 describes them: fixed texts in quotes or after a \\."""

    @pytest.mark.parametrize(
        ("number_format", "value", "number"),
        [('"HF-"0000', 1042, "HF-1042"), ("00-00", 421, "04-21"), ("0000", 42, "0042"),
         ("\\H\\F0", 7, "HF7"), ("General", 42, "42"), ('000" "000', 12345, "012 345")],
    )  # fmt: skip
    def test_the_item_number_is_what_is_shown(
        self, number_format: str, value: int, number: str
    ) -> None:
        report = check_instruments(shown(number_format, value), {})
        assert [each.key for each in report.rows] == [number]

    @pytest.mark.parametrize("number_format", ["0.0\\ \\c\\m", '0.0" cm"', '0.0\\ "cm"'])
    def test_a_unit_that_is_shown_counts_before_the_heading(self, number_format: str) -> None:
        report = check_instruments(shown(number_format, 16.5, column=3), {})
        assert report.rows[0].values["length_mm"] == 165

    @pytest.mark.parametrize(
        ("number_format", "value"), [("# ?/?", 6.5), ("General", "6½"), ("General", "6 1/2")]
    )
    def test_a_fraction_below_millimetres_is_asked(self, number_format: str, value: Any) -> None:
        report = check_instruments(shown(number_format, value, column=3), {})
        assert codes(report.rows[0]) == ["ambiguous"]

    @pytest.mark.parametrize("value", ['6 1/2"', "6½ in"])
    def test_a_fraction_with_its_unit_is_read(self, value: str) -> None:
        """An inch is 25.4 mm (international yard and pound agreement 1959)."""
        report = check_instruments(shown("General", value, column=3), {})
        assert float(str(report.rows[0].values["length_mm"])) == 165.1


class TestNumbersThatLookAlike:
    @pytest.mark.parametrize(
        "number",
        ["HF–1", "HF\u20111", "ＨＦ-1", "HF\u200b-1", "hf-1", "HF- 1", "HF\u00a0-1", "HF\u00ad-1",
         "HF−1", "HF-1."],
    )  # fmt: skip
    def test_they_meet_the_one_in_the_catalog(self, number: str) -> None:
        report = check_instruments(book(("L", [HEAD, [number, "Hook", 120, 30]])), {"HF-1": {}})
        assert report.rows[0].key == "HF-1"

    def test_nothing_invisible_is_kept_in_a_new_one(self) -> None:
        report = check_instruments(book(("L", [HEAD, ["HF\u200b-1", "Hook\ufeff", 120, 30]])), {})
        assert (report.rows[0].key, report.rows[0].values["name"]) == ("HF-1", "Hook")

    @pytest.mark.parametrize("number", ["1.23E+05", "none", "HF-4, HF-5", "HF-2\nHF-3", "A; B"])
    def test_what_is_no_single_number_is_refused(self, number: str) -> None:
        report = check_instruments(book(("L", [HEAD, [number, "Hook", 120, 30]])), {})
        assert report.rows[0].verdict is Verdict.REFUSED


class TestAnotherTableBelow:
    """A second list on the same sheet has its own columns and units (a common way to append)."""

    FIRST = [["Item #", "Name", "Length (mm)", "Weight (g)"], ["A-1", "Hook", 120, 30]]

    def read(self, *rows: list[Any]) -> Report:
        return check_instruments(book(("L", [*self.FIRST, *rows])), {})

    def test_its_own_order_of_columns_counts(self) -> None:
        head = ["Item #", "Name", "Weight (g)", "Length (mm)"]
        one = row(self.read(head, ["B-1", "Clamp", 40, 140]), "B-1")
        assert (one.values["length_mm"], one.values["weight_g"]) == (140, 40)

    def test_its_own_units_count(self) -> None:
        """An ounce is 28.349523125 g (international yard and pound agreement 1959)."""
        head = ["Item #", "Name", "Length (in)", "Weight (oz)"]
        one = row(self.read(head, ["B-1", "Clamp", 5.5, 1.4]), "B-1")
        assert [float(str(one.values[key])) for key in ("length_mm", "weight_g")] == [139.7, 39.7]

    def test_the_heading_row_is_no_item_and_the_report_says_what_was_done(self) -> None:
        report = self.read(["Item #", "Name", "Length (in)"], ["B-1", "Clamp", 5.5])
        assert [each.key for each in report.rows] == ["A-1", "B-1"]
        assert [(note.row, note.code) for note in report.column_notes] == [(3, "another_table")]

    def test_without_a_required_column_nothing_below_is_read_and_it_is_said(self) -> None:
        report = self.read(["Name", "Weight (g)", "Length (mm)"], ["Clamp", 40, 140])
        assert [each.key for each in report.rows] == ["A-1"]
        assert [(note.row, note.code) for note in report.column_notes] == [(3, "missing_column")]

    def test_a_second_list_with_more_columns_does_not_hide_the_first(self) -> None:
        head = ["Item #", "Name", "Length (mm)", "Width (mm)", "Height (mm)", "Weight (g)"]
        report = self.read(head, ["B-1", "Clamp", 140, 20, 10, 40])
        assert [each.key for each in report.rows] == ["A-1", "B-1"]

    def test_repeated_headings_after_a_page_break_are_not_another_table(self) -> None:
        report = self.read(self.FIRST[0], ["A-2", "Clamp", 140, 40])
        assert [each.key for each in report.rows] == ["A-1", "A-2"]
        assert report.column_notes == ()

    def test_columns_named_by_hand_are_known_again_by_their_headings(self) -> None:
        rows = [["Koodi", "Kuvaus", "Pituus (mm)"], ["A-1", "Hook", 120],
                ["Koodi", "Pituus (cm)", "Kuvaus"], ["B-1", 14, "Clamp"]]  # fmt: skip
        said = SheetChoice(1, {"A": "item_number", "B": "name", "C": "length"})
        report = check_instruments(book(("L", rows)), {}, choices={"L": said})
        assert row(report, "B-1").values["length_mm"] == 140


INSTRUMENTS: dict[str, tuple[str, list[str]]] = {
    "HF-1": ("Probe", []), "HF-2": ("Hook", []), "HF-3": ("Clamp", []),
}  # fmt: skip


def contents(report: Report) -> dict[str, list[tuple[str, object]]]:
    return {one.code: [(line.key, line.values["quantity"]) for line in one.lines]
            for one in report.sets}  # fmt: skip


class TestSetsOnOneSheet:
    LINES_A = [[1, "HF-1", "Probe"], [2, "HF-2", "Hook"]]
    UNDER = [
        ["Set no.", "T-A"], ["Set name", "A"], ["Qty", "Item #", "Name"], *LINES_A, [],
        ["Set no.", "T-B"], ["Set name", "B"], ["Qty", "Item #", "Name"], [4, "HF-3", "Clamp"],
    ]  # fmt: skip
    TWO = {"T-A": [("HF-1", 1), ("HF-2", 2)], "T-B": [("HF-3", 4)]}

    def test_one_under_the_other_they_are_two(self) -> None:
        report = check_sets(book(("S", self.UNDER)), {}, INSTRUMENTS)
        assert contents(report) == self.TWO
        assert not report.problems

    def test_side_by_side_they_are_two(self) -> None:
        rows = [
            ["Set no.", "T-A", None, None, "Set no.", "T-B"],
            ["Qty", "Item #", "Name", None, "Qty", "Item #", "Name"],
            [1, "HF-1", "Probe", None, 4, "HF-3", "Clamp"], [2, "HF-2", "Hook"],
        ]  # fmt: skip
        assert contents(check_sets(book(("S", rows)), {}, INSTRUMENTS)) == self.TWO

    def test_columns_named_by_hand_are_those_of_every_set(self) -> None:
        said = {"S": SheetChoice(3, {"A": "quantity", "B": "item_number", "C": "name"})}
        rows = [["Kpl", "Koodi", "Kuvaus"] if row[:1] == ["Qty"] else row for row in self.UNDER]
        assert contents(check_sets(book(("S", rows)), {}, INSTRUMENTS, said)) == self.TWO

    def test_the_same_number_twice_is_refused(self) -> None:
        rows = [["Set no.", "T-A"] if row == ["Set no.", "T-B"] else row for row in self.UNDER]
        report = check_sets(book(("S", rows)), {}, INSTRUMENTS)
        assert [each.code for each in report.problems] == ["repeated_set"]

    def test_a_total_that_cannot_be_checked_does_not_hold_the_set(self) -> None:
        rows = [*self.UNDER[:5], ["TOTAL", None, None, "sixteen"]]
        report = check_sets(book(("S", rows)), {}, INSTRUMENTS)
        assert [each.waits for each in report.sets] == [False]
        assert [each.code for each in report.problems] == ["total_unreadable"]


class TestAnOpenQuote:
    def test_one_that_swallows_rows_is_refused(self) -> None:
        text = 'Item #,Name,L,W\nA-1,Hook,1,2\nA-2,"Iris,115,20\nA-3,Kocher,180,72\nA-4,K,140,40\n'
        book_ = read_workbook(text.encode(), "list.csv")
        assert [each.code for each in book_.problems] == ["open_quote"]
        assert "A-2" in book_.problems[0].message

    def test_a_note_of_several_lines_is_none(self) -> None:
        text = 'Item #,Name,Notes\nA-1,Hook,"Check tip, jaw.\nOil it, then wipe, then ask."\n'
        assert not read_workbook(text.encode(), "list.csv").problems


class TestACommaThatDividesARow:
    """Text tables that some programs write without quotation marks (RFC 4180 wants them)."""

    def test_a_decimal_comma_between_commas_makes_the_row_wait(self) -> None:
        report = csv("Item #,Name,Length (cm),Weight (g)\nA-1,Hook,12,5,30\nA-2,Clip,14,30\n")
        assert [(codes(each), each.goes_in) for each in report.rows] == [
            (["divided_by_comma"], False), ([], True),
        ]  # fmt: skip

    def test_the_rest_of_a_name_is_not_lost(self) -> None:
        text = "Set no.,T-1\nQty,Name\n2,Probe, curved\n1,Hook\n"
        report = check_sets(read_workbook(text.encode(), "set.csv"), {}, INSTRUMENTS)
        assert [(codes(each), each.goes_in) for each in report.rows] == [
            (["divided_by_comma"], False), ([], True),
        ]  # fmt: skip

    def test_a_note_beside_the_list_does_not_hold_its_row(self) -> None:
        report = csv("Item #,Name,Length (cm),\nA-1,Hook,12,seen in May\n")
        assert [(codes(each), each.goes_in) for each in report.rows] == [([], True)]

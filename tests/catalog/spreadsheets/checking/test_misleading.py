"""Columns, headings and formats that look like what they are not: asked or left, never misread."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import openpyxl
import pytest

from catalog.spreadsheets.cells.report import Report
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.workbooks import book, check_instruments

ROWS = range(1, 7)


def listed(*headings: str, values: Sequence[Sequence[object]] = ()) -> Report:
    """A list with numbers and names, and columns of ``values`` under the other headings."""
    rows = [[f"A-{n}", f"Clamp {n}", *(each[n - 1] for each in values)] for n in ROWS]
    return check_instruments(book(("L", [["Item no.", "Name", *headings], *rows])), {})


def taken(report: Report) -> dict[str, str]:
    return next(iter(report.mapping.values()), {})  # type: ignore[return-value]


SIZES = [50 + 11 * n for n in ROWS]


@pytest.mark.parametrize(
    "part",
    ["Handle length", "Cable length", "Effective length", "Length without handle", "Ring length",
     "Klingenlänge", "Grifflänge", "Backenlänge", "Schneidenlänge", "Longueur du manche",
     "Longueur de la tige", "Lengte van het handvat", "Snijlengte", "Longitud del mango",
     "Longitud de la punta", "Lunghezza manico", "Lunghezza dello stelo", "Comprimento do cabo",
     "Skaftlängd", "Spetslängd", "Długość ostrza", "Długość rękojeści", "Lngth of handel"],
)  # fmt: skip
def test_the_length_of_a_part_is_not_that_of_the_instrument(part: str) -> None:
    report = listed(f"{part} (mm)", values=[SIZES])
    assert "length" not in taken(report)


@pytest.mark.parametrize(
    "part", ["Blattbreite", "Maulbreite", "Largeur de lame", "Ancho de punta", "Larghezza punta"]
)
def test_nor_the_width_of_one(part: str) -> None:
    assert "width" not in taken(listed("Length (mm)", f"{part} (mm)", values=[SIZES, SIZES]))


@pytest.mark.parametrize(
    "gross", ["Fraktvikt", "Poids du carton", "Peso confezione", "Siebgewicht", "Weight limit"]
)
def test_nor_the_weight_of_more_than_the_instrument(gross: str) -> None:
    assert "weight" not in taken(listed(f"{gross} (g)", values=[SIZES]))


@pytest.mark.parametrize("word", ["Length foo", "Length old", "Sprocket length"])
def test_a_size_of_which_more_is_said_than_we_know_is_asked(word: str) -> None:
    report = listed(f"{word} (mm)", values=[SIZES])
    assert ("length" in taken(report), [each.option for each in report.questions]) == (
        False, ["--column C=ANSWER"],
    )  # fmt: skip


@pytest.mark.parametrize(
    "whole", ["Length over all", "Widest point width", "Größte Breite", "Longueur hors tout"]
)
def test_the_words_for_a_whole_are_no_part(whole: str) -> None:
    report = listed(f"{whole} (mm)", values=[SIZES])
    assert {"length", "width"} & set(taken(report))


def test_a_letter_beside_a_length_with_its_own_heading_is_a_size() -> None:
    report = listed("Länge (mm)", "B (mm)", "H (mm)", values=[SIZES, [9] * 6, [7] * 6])
    assert {"length": "C", "width": "D", "height": "E"}.items() <= taken(report).items()


def numbered(first: str, second: str, own: Sequence[str], other: Sequence[str]) -> Report:
    """A list whose numbers stand in one of two columns."""
    rows = [[a, b, f"Clamp {n}"] for n, (a, b) in enumerate(zip(own, other, strict=True))]
    return check_instruments(book(("L", [[first, second, "Name"], *rows])), {})


@pytest.mark.parametrize(
    "former", ["Old number", "Altnummer", "Ancien code", "Código anterior", "Stary numer"]
)
def test_a_former_number_is_no_number(former: str) -> None:
    report = numbered(
        "Inventory code", former, [f"BX {n}4 R" for n in ROWS], [f"K-{n}" for n in ROWS]
    )
    assert (taken(report)["item_number"], "B" in taken(report).values()) == ("A", False)


def test_a_code_with_gaps_is_one_and_a_count_in_stock_is_none() -> None:
    report = numbered(
        "Codice", "Scorta minima", [f"BX {n}4 R" for n in ROWS], [str(n) for n in ROWS]
    )
    assert taken(report)["item_number"] == "A"


def test_what_counts_pieces_is_no_number_of_the_maker() -> None:
    report = numbered("Code", "Besteld", [f"K-{n}" for n in ROWS], [str(n * 7) for n in ROWS])
    assert "B" not in taken(report).values()


@pytest.mark.parametrize("heading", ["Serial no.", "Lot no."])
def test_a_number_of_one_piece_or_lot_is_asked(heading: str) -> None:
    rows = [[f"SN{n}77", f"Clamp {n}"] for n in ROWS]
    report = check_instruments(book(("L", [[heading, "Name"], *rows])), {})
    assert (taken(report), [each.option for each in report.questions]) == (
        {}, ["--column A=ANSWER"],
    )  # fmt: skip


class TestUnitsThatDisagree:
    """6.5 in are 165.1 mm, and 6.5 cm are 65 mm: nothing tells which, so it is asked."""

    LENGTHS = (6, 6.5, 7, 5.5, 8, 9)

    @pytest.mark.parametrize("heading", ["Length (mm/in)", "Length mm (in)", "Länge cm / Zoll"])
    def test_two_units_in_a_heading_are_none(self, heading: str) -> None:
        report = listed(heading, values=[self.LENGTHS])
        assert [each.option for each in report.questions] == ["--unit length=ANSWER"]

    def test_a_unit_below_the_heading_is_another_than_in_it(self) -> None:
        rows = [[f"A-{n}", f"Clamp {n}", 5 + n] for n in ROWS]
        head = [["Item no.", "Name", "Length (cm)"], [None, None, "in"]]
        report = check_instruments(book(("L", [*head, *rows])), {})
        assert [each.option for each in report.questions] == ["--unit length=ANSWER"]

    def test_a_row_of_units_may_have_a_currency_in_it(self) -> None:
        rows = [[f"A-{n}", f"Clamp {n}", 5 + n, 20 + n] for n in ROWS]
        head = [["Item no.", "Name", "Length", "Price"], [None, None, "cm", "€"]]
        report = check_instruments(book(("L", [*head, *rows])), {})
        assert [row.values["length_mm"] for row in report.rows] == [10 * (5 + n) for n in ROWS]


class TestAUnitThatALonelyTextNames:
    HEAD = ["Item no.", "Name", "Length"]

    def lengths(self, *rows: Sequence[object]) -> list[tuple[str, list[str]]]:
        report = check_instruments(book(("L", rows)), {})
        return [(row.key, [each.code for each in row.problems]) for row in report.rows]

    def test_from_there_on_it_is_asked(self) -> None:
        rows = [[f"A-{n}", f"Hook {n}", 180 + n] for n in ROWS]
        below = [["All below in cm"], ["B-1", "Clip", 14], ["B-2", "Clip", "150 mm"]]
        assert self.lengths(self.HEAD, *rows, *below)[-2:] == [
            ("B-1", ["unit_said_above"]), ("B-2", []),
        ]  # fmt: skip

    def test_one_that_agrees_is_no_question(self) -> None:
        rows = [[f"A-{n}", f"Hook {n}", 180 + n] for n in ROWS]
        found = self.lengths(["Sizes in millimetres"], self.HEAD, *rows)
        assert [codes for _, codes in found] == [[]] * 6


@pytest.mark.parametrize("unit", ["pollici", "polegadas", "tum", "duim"])
def test_inches_in_other_languages(unit: str) -> None:
    """An inch is 25.4 mm (international yard and pound agreement 1959)."""
    report = listed(f"Length ({unit})", values=[[10] * 6])
    assert report.rows[0].values["length_mm"] == 254


class TestAFurtherTable:
    FIRST = [["Item no.", "Name", "Length (mm)", "Weight (g)"], ["A-1", "Hook", 120, 30]]

    def read(self, *rows: Sequence[object]) -> Report:
        return check_instruments(book(("L", [*self.FIRST, *rows])), {})

    def sizes(self, report: Report) -> list[Any]:
        row = next(each for each in report.rows if each.key == "B-1")
        return [float(str(row.values[key])) for key in ("length_mm", "weight_g")]

    def test_it_may_have_a_row_of_units(self) -> None:
        head = [["Item no.", "Name", "Weight", "Length"], [None, None, "g", "cm"]]
        assert self.sizes(self.read(*head, ["B-1", "Clamp", 40, 14])) == [140, 40]

    def test_it_may_have_two_rows_of_headings(self) -> None:
        head = [["Item no.", "Name", "Size (cm)"], [None, None, "Width", "Length"]]
        report = self.read(*head, ["B-1", "Clamp", 2, 14])
        assert next(each for each in report.rows if each.key == "B-1").values["length_mm"] == 140

    @pytest.mark.parametrize(
        "head",
        [["Item no. 2024", "Name", "Weight (kg)", "Length (cm)"],
         ["Code", "What", "Mass (kg)", "End to end (cm)"]],
    )  # fmt: skip
    def test_headings_that_cannot_be_understood_end_the_first_one(self, head: list[str]) -> None:
        report = self.read(head, ["B-1", "Clamp", 40, 140])
        assert [each.key for each in report.rows] == ["A-1"]
        assert [note.code for note in report.column_notes] == ["missing_column"]

    def test_side_by_side_the_first_is_read_and_the_other_is_told(self) -> None:
        rows = [[*self.FIRST[0], None, *self.FIRST[0]]]
        rows += [[f"A-{n}", f"Hook {n}", 120, 30, None, f"B-{n}", f"Clip {n}", 90, 9] for n in ROWS]
        report = check_instruments(book(("L", rows)), {})
        assert [each.key for each in report.rows] == [f"A-{n}" for n in ROWS]
        assert "table_beside" in [note.code for note in report.column_notes]


def formatted(rows: Sequence[Sequence[object]], formats: dict[str, str]) -> bytes:
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(list(row))
    for place, number_format in formats.items():
        made.active[place].number_format = number_format
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


class TestWhatAFormatShows:
    """As ECMA-376 part 1, 18.8.31 describes number formats."""

    @pytest.mark.parametrize(
        ("number_format", "value", "number"),
        [('General"-A"', 1042, "1042-A"), ('"HF-"0000;-0000', 7, "HF-0007"),
         ('[Red]"HF-"0', 42, "HF-42"), ('_-"HF-"0', 42, "HF-42"), ('"HF-"@', "42", "HF-42")],
    )  # fmt: skip
    def test_an_item_number(self, number_format: str, value: object, number: str) -> None:
        rows = [["Item no.", "Name"], [value, "Clamp"], ["HF-1", "Hook"]]
        data = formatted(rows, {"A2": number_format})
        assert check_instruments(read_workbook(data, "l.xlsx"), {}).rows[0].key == number

    @pytest.mark.parametrize(
        ("number_format", "value"), [('"HF-"0.0', 104.5), ('[>9]"HF-"0;"HX-"0', 42)]
    )
    def test_one_that_is_not_worked_out_is_refused(self, number_format: str, value: object) -> None:
        rows = [["Item no.", "Name"], [value, "Clamp"], ["HF-1", "Hook"]]
        report = check_instruments(
            read_workbook(formatted(rows, {"A2": number_format}), "l.xlsx"), {}
        )
        assert [each.code for each in report.rows[0].problems] == ["damaged_number"]

    @pytest.mark.parametrize(
        ("number_format", "count", "codes"),
        [('0" sets"', None, ["count_unclear"]), ('0" pr"', 2, ["pair"]), ('0" Stk"', 2, [])],
    )
    def test_a_count(self, number_format: str, count: int | None, codes: list[str]) -> None:
        rows = [["Set no.", "T-1"], ["Qty", "Item no."], [2, "HF-1"]]
        data = read_workbook(formatted(rows, {"A3": number_format}), "l.xlsx")
        (line,) = check_sets(data, {}, {"HF-1": ("Probe", [])}).rows
        assert (line.values["quantity"], [each.code for each in line.problems]) == (count, codes)

    @pytest.mark.parametrize(
        ("number_format", "mm"), [('0" mm";-0" mm"', 12), ("0[$ cm]", 120), ('[$-409]0" cm"', 120)]
    )
    def test_the_unit_of_a_length(self, number_format: str, mm: int) -> None:
        rows = [["Item no.", "Name", "Length (in)"], ["HF-1", "Hook", 12]]
        data = read_workbook(formatted(rows, {"C2": number_format}), "l.xlsx")
        assert check_instruments(data, {}).rows[0].values["length_mm"] == mm

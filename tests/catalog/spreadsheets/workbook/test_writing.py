"""Out to a file and in again: no text becomes a formula, and none is changed."""

from __future__ import annotations

import io
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as some

from catalog.spreadsheets.workbook.reading import read_workbook
from catalog.spreadsheets.workbook.writing import SheetOut, csv_text, xlsx

DANGEROUS = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x","y")', "#N/A"]


def sheet(*values: object) -> SheetOut:
    return SheetOut("List", ["Text"], [[value] for value in values])  # type: ignore[list-item]


def first_cell(data: bytes, name: str) -> object:
    return read_workbook(data, name).sheets[0].rows[1].cells[0]


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_workbook_holds_it_as_a_text(text: str) -> None:
    cell = openpyxl.load_workbook(io.BytesIO(xlsx([sheet(text)])))["List"]["A2"]
    assert cell.data_type == "s"


@pytest.mark.parametrize("text", DANGEROUS[:-1])
def test_a_workbook_marks_it_as_quoted(text: str) -> None:
    cell = openpyxl.load_workbook(io.BytesIO(xlsx([sheet(text)])))["List"]["A2"]
    assert cell.quotePrefix


@pytest.mark.parametrize("text", DANGEROUS[:-1])
def test_csv_has_an_apostrophe_before_it(text: str) -> None:
    line = csv_text(sheet(text)).decode("utf-8-sig").split("\r\n", 1)[1]
    assert line.lstrip('"').startswith("'")


@pytest.mark.parametrize("text", [*DANGEROUS[:4], "'=1+1", "''-x", "plain", "'tis"])
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_the_import_reads_the_very_text(text: str, form: str) -> None:
    data = xlsx([sheet(text)]) if form == "xlsx" else csv_text(sheet(text))
    cell = first_cell(data, f"list.{form}")
    assert (cell.value, cell.formula) == (text, None)  # type: ignore[attr-defined]


LETTERS = some.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\ufeff\ufffe\uffff")


@given(some.text(LETTERS, min_size=1, max_size=30).filter(str.strip))
def test_any_text_comes_back_from_csv(text: str) -> None:
    data = csv_text(SheetOut("List", ["Text", "More"], [[text, "x"]]))
    assert first_cell(data, "list.csv").value == text  # type: ignore[attr-defined]


@given(some.text(LETTERS, min_size=1, max_size=30).filter(str.strip))
def test_no_text_is_a_formula_in_a_workbook(text: str) -> None:
    assert first_cell(xlsx([sheet(text)]), "list.xlsx").formula is None  # type: ignore[attr-defined]


def test_a_negative_number_is_a_number() -> None:
    assert csv_text(sheet(Decimal("-1.50"))).endswith(b"\r\n-1.5\r\n")


def test_unknown_is_an_empty_cell() -> None:
    assert csv_text(SheetOut("L", ["A", "B"], [[None, 1]])).endswith(b"\r\n,1\r\n")


def test_control_characters_are_left_out() -> None:
    assert first_cell(xlsx([sheet("a\x00\x0bb")]), "l.xlsx").value == "ab"  # type: ignore[attr-defined]


def test_a_title_that_spreadsheet_programs_refuse_is_mended() -> None:
    book = openpyxl.load_workbook(io.BytesIO(xlsx([SheetOut("a/b:" + "x" * 40, ["A"], [])])))
    assert book.sheetnames == ["a b " + "x" * 27]

"""Out to a file and in again: no text becomes a formula, and none is changed."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as some
from python_calamine import CalamineWorkbook

from catalog.spreadsheets.workbook import writing_xlsx
from catalog.spreadsheets.workbook.reading import read_workbook
from catalog.spreadsheets.workbook.writing import SheetOut, as_csv
from catalog.spreadsheets.workbook.writing_xlsx import as_xlsx

DANGEROUS = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x","y")', "#N/A"]


def xlsx(sheets: list[SheetOut]) -> bytes:
    return b"".join(as_xlsx(sheets))


def csv_text(sheet: SheetOut) -> bytes:
    return b"".join(as_csv(sheet))


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


def endless() -> Iterator[list[int]]:
    yield from ([number] for number in range(5_000))
    raise AssertionError("Nobody asked for so many.")


@pytest.mark.parametrize("write", [as_csv, lambda one: as_xlsx([one])])
def test_the_first_rows_are_out_before_the_last_is_asked_for(write: Any) -> None:
    parts = write(SheetOut("List", ["Number"], endless()))
    assert b"".join(next(parts) for _ in range(8))


def read_back(data: bytes) -> dict[str, list[list[Any]]]:
    """As a library reads it that did not write it and is not ours."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


def test_another_reader_finds_every_kind_of_value() -> None:
    moment = datetime(2026, 3, 6, 13, 45, tzinfo=UTC)
    values = ['a<b>&"c" é', Decimal("12.50"), 7, 0.1, True, date(2026, 3, 6), moment, None, ""]
    data = xlsx([SheetOut("List", [f"H{n}" for n in range(len(values))], [values])])
    assert read_back(data)["List"][1] == [
        values[0], 12.5, 7, 0.1, "yes", date(2026, 3, 6), moment.replace(tzinfo=None), "", "",
    ]  # fmt: skip


def test_more_rows_than_a_sheet_holds_stand_on_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing_xlsx, "MOST_ROWS", 3)
    found = read_back(xlsx([SheetOut("List", ["N"], [[n] for n in range(5)])]))
    assert found == {"List": [["N"], [0], [1]], "List 2": [["N"], [2], [3]],
                     "List 3": [["N"], [4]]}  # fmt: skip


def test_the_heading_stays_in_view_is_filtered_and_prints_on_each_page() -> None:
    book = openpyxl.load_workbook(io.BytesIO(xlsx([sheet("a", "b")])))
    made = book["List"]
    assert (made.freeze_panes, made.auto_filter.ref, made.print_title_rows) == (
        "A2", "A1:A3", "$1:$1",
    )  # fmt: skip
    assert made["A1"].font.bold and not made["A2"].font.bold


def test_a_long_text_is_wrapped() -> None:
    book = openpyxl.load_workbook(io.BytesIO(xlsx([sheet("x" * 49, "=" + "x" * 49)])))
    cells = book["List"]["A2"], book["List"]["A3"]
    assert [(one.alignment.wrap_text, one.quotePrefix) for one in cells] == [
        (True, False), (True, True),
    ]  # fmt: skip

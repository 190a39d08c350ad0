"""A cell that a person corrected on the page of the report, as the readers find it."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from catalog.spreadsheets.cells.typed import Place, size_reader
from catalog.spreadsheets.workbook.cell import Cell

LENGTH = Place("List", "Length", "mm")
read = size_reader("length")


def test_the_unit_that_its_format_shows_stays() -> None:
    assert read(Cell(2, "C", 16.5, None, '0.0" cm"').typed_over("17"), LENGTH).value == 170


def test_a_number_is_no_number_stored_as_text() -> None:
    assert read(Cell(2, "C", 165, None, "0").typed_over("170"), LENGTH).problems == ()


def test_a_date_is_one_no_more() -> None:
    cell = Cell(2, "C", datetime(2026, 5, 1), None, "d-mmm").typed_over("5 1/2 in")
    assert read(cell, LENGTH).value == Decimal("139.7")


def test_a_merged_cell_is_a_cell_of_its_own() -> None:
    cell = Cell(3, "C", 165, merged="C2").typed_over("170")
    assert (read(cell, LENGTH).value, read(cell, LENGTH).problems) == (170, ())

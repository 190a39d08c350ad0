"""The cell readers: ordinary cells, the traps of spreadsheets, and any cell at all."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from catalog.spreadsheets.cells.report import EFFECTS
from catalog.spreadsheets.cells.typed import Place, Reading
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import SET_COLUMNS
from catalog.spreadsheets.workbook.cell import CSV_FORMAT, Cell

PLACE = Place("List", "Heading")
COLUMNS = {column.key: column for column in (*INSTRUMENT_COLUMNS, *SET_COLUMNS)}

ANY_VALUE = st.one_of(
    st.none(),
    st.text(max_size=300),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.decimals(allow_nan=False),
    st.datetimes(),
    st.dates(),
    st.times(),
    st.timedeltas(),
    st.from_regex(r"[0-9]{1,4}[ .,/-][0-9]{1,3} ?(mm|in|\"|g|oz|min|C)?", fullmatch=True),
    st.from_regex(r"[0-9]{1,3}C [0-9]{1,3}(-[0-9]{1,3})? min(, dry [0-9]{1,4})?", fullmatch=True),
    st.sampled_from(["#N/A", "#REF!", "?", "n/a", "steam, EO", "x2", "2 ea", "½", "\ud800", "²"]),
)
ANY_CELL = st.builds(
    Cell,
    row=st.integers(1, 20000),
    column_letter=st.sampled_from(["A", "AB"]),
    value=ANY_VALUE,
    formula=st.one_of(st.none(), st.none(), st.text(max_size=50)),
    number_format=st.one_of(st.just("General"), st.just(CSV_FORMAT), st.text(max_size=12)),
)


@pytest.mark.parametrize("column", COLUMNS.values(), ids=COLUMNS.keys())
@given(cell=ANY_CELL, unit=st.sampled_from([None, "mm", "in", "g", "oz", "furlong"]))
@example(cell=Cell(1, "A", "1e999"), unit="mm")
def test_any_cell_gives_a_value_or_known_problems(
    column: Column, cell: Cell, unit: str | None
) -> None:
    reading = column.reader(cell, Place("List", "Heading", unit))
    assert {each.code for each in reading.problems} <= set(EFFECTS)


@given(cell=ANY_CELL)
def test_a_problem_shows_the_value_as_it_was_typed(cell: Cell) -> None:
    problems = COLUMNS["length"].reader(cell, PLACE).problems
    assert all(each.value == cell.typed for each in problems)


@given(number=st.integers(2, 10**6))
def test_a_bare_number_in_a_column_without_a_unit_is_a_question(number: int) -> None:
    reading = COLUMNS["weight"].reader(Cell(1, "A", number), PLACE)
    assert [each.code for each in reading.problems] == ["no_unit"]


def read(
    key: str, value: object, number_format: str = "General", unit: str | None = None
) -> Reading:
    cell = Cell(7, "C", value, None, number_format)  # type: ignore[arg-type]
    return COLUMNS[key].reader(cell, Place("List", "Heading", unit))


def code(reading: Reading) -> str:
    return reading.problems[0].code if reading.problems else ""


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("name", "  Kelly \u00a0 forceps\n curved ", "Kelly forceps curved"),
        ("name", 1000.0, "1000"),
        ("item_number", 1000, "1000"),
        ("also_known_as", "snap; mosquito;snap", ("snap", "mosquito")),
        ("also_known_as", None, ()),
        ("length", '6 11/16"', Decimal("169.862")),
        ("weight", "0.172 lb", Decimal("78.0")),
        ("tip", "Sharp", "sharp"),
        ("tip", "gezähnt", "toothed"),
        ("tip", None, ""),
        ("protector", "None", ""),
        ("protector", "?", None),
        ("protector", None, None),
        ("protector", "vented, small", "vented, small"),
        ("hinged", "Y", True),
        ("hinged", "y", True),
        ("hinged", "Ja", True),
        ("hinged", "sí", True),
        ("hinged", "non", False),
        ("hinged", "nein", False),
        ("hinged", "NO", False),
        ("hinged", True, True),
        ("hinged", None, None),
        ("spares_on_hand", 0, 0),
        ("spares_on_hand", 5.0, 5),
        ("spares_on_hand", None, None),
        ("quantity", "2 ea", 2),
        ("quantity", "x2", 2),
        ("ifu_revision", "2020-01", "2020-01"),
        ("methods", "steam 134 or H2O2", (("steam", 134), ("h2o2", None))),
        ("methods", "Steam", (("steam", None),)),
        ("methods", "steam, EO", (("steam", None), ("eo", None))),
        ("methods", "H2O2 vapour only", (("h2o2", None),)),
        ("methods", "Dampf oder Ethylenoxid", (("steam", None), ("eo", None))),
        ("cycle", "n/a", None),
    ],
)
def test_an_ordinary_cell_is_read(key: str, value: object, expected: object) -> None:
    assert read(key, value) == Reading(expected)


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("name", "#N/A", "error_value"),
        ("name", True, "not_text"),
        ("name", "x" * 201, "too_long"),
        ("length", "9" * 30_000, "too_long"),
        ("item_number", 12345678901234567890, "damaged_number"),
        ("maker_catalog_number", datetime(2023, 4, 3), "looks_like_date"),
        ("maker_catalog_number", time(3, 4), "looks_like_date"),
        ("length", date(2023, 6, 11), "looks_like_date"),
        ("length", timedelta(hours=3), "looks_like_date"),
        ("length", "?", "unknown_value"),
        ("weight", "tbc", "unknown_value"),
        ("length", 125, "no_unit"),
        ("length", '5 1/2 - 6"', "range"),
        ("tip", "wobbly", "not_in_list"),
        ("tip", "?", "unknown_value"),
        ("hinged", "maybe", "not_yes_or_no"),
        ("hinged", "?", "unknown_value"),
        ("spares_on_hand", -1, "negative"),
        ("spares_on_hand", 2.5, "not_a_count"),
        ("spares_on_hand", "a few", "not_a_count"),
        ("spares_on_hand", True, "not_a_count"),
        ("spares_on_hand", 100_000, "implausible"),
        ("spares_on_hand", "12", "number_as_text"),
        ("quantity", 0, "zero"),
        ("quantity", "1 pr", "pair"),
        ("quantity", "2/4", "count_unclear"),
        ("quantity", "6-8", "count_unclear"),
        ("quantity", "2 sets", "count_unclear"),
        ("methods", "cold soak", "unknown_method"),
        ("methods", "steam, not EO", "unknown_method"),
        ("methods", "?", "unknown_value"),
        ("cycle", "quick", "unreadable_cycle"),
        ("cycle", "134C 18-3 min", "unreadable_cycle"),
        ("cycle", "134C 0 min", "unreadable_cycle"),
        ("cycle", "900C 4 min", "unreadable_cycle"),
        ("cycle", "134C 4 min, dry 2000", "unreadable_cycle"),
    ],
)
def test_a_cell_in_doubt_has_its_code(key: str, value: object, expected: str) -> None:
    assert code(read(key, value)) == expected


@pytest.mark.parametrize("key", COLUMNS)
def test_a_formula_that_was_never_calculated_is_refused(key: str) -> None:
    assert code(COLUMNS[key].reader(Cell(7, "C", None, "=B7"), PLACE)) == "formula"


@pytest.mark.parametrize("key", ["length", "width", "height"])
def test_the_last_result_of_a_formula_is_used_and_said(key: str) -> None:
    reading = COLUMNS[key].reader(Cell(7, "C", "12 mm", "=B7"), PLACE)
    assert (reading.value, code(reading)) == (Decimal(12), "formula_value")


def test_a_formula_is_shown_as_it_was_typed() -> None:
    reading = COLUMNS["name"].reader(Cell(7, "C", "Probe", "=B7"), PLACE)
    assert reading.problems[0].value == "=B7"


def test_a_formula_that_gives_an_error_is_refused() -> None:
    reading = COLUMNS["name"].reader(Cell(7, "C", "#N/A", "=B7"), PLACE)
    assert [each.code for each in reading.problems] == ["formula_value", "error_value"]


def test_a_merged_cell_says_where_its_value_stands() -> None:
    reading = COLUMNS["maker"].reader(Cell(8, "C", "Kirkfell", merged="C7"), PLACE)
    assert (reading.value, code(reading)) == ("Kirkfell", "merged_value")


@pytest.mark.parametrize(
    ("day", "fraction"),
    [(datetime(2002, 5, 1), "5 1/2"), (datetime(2026, 1, 2), "1/2"), (datetime(2026, 4, 3), "3/4")],
)
def test_a_date_that_was_a_fraction_is_named(day: datetime, fraction: str) -> None:
    reading = COLUMNS["length"].reader(Cell(7, "C", day), PLACE)
    assert f"It may have been {fraction}." in reading.problems[0].message


def test_a_number_stored_as_text_is_read_and_noted() -> None:
    reading = read("length", "120", unit="mm")
    assert (reading.value, code(reading)) == (Decimal(120), "number_as_text")


def test_in_csv_every_number_is_text_and_none_is_noted() -> None:
    assert read("length", "120", CSV_FORMAT, "mm") == Reading(Decimal(120))


def test_zeros_before_a_number_come_back_from_its_format() -> None:
    assert read("item_number", 42, "00000").value == "00042"


def test_a_unit_in_the_number_format_goes_before_the_columns() -> None:
    assert read("length", 12.5, '0.0" cm"', "mm").value == Decimal(125)


@pytest.mark.parametrize(
    ("style", "expected"), [("mmm-yy", "2020-01"), ("yyyy-mm-dd", "2020-01-01")]
)
def test_a_revision_that_became_a_date_is_turned_back(style: str, expected: str) -> None:
    assert read("ifu_revision", datetime(2020, 1, 1), style).value == expected


def test_the_widths_message_names_the_width() -> None:
    assert "width" in read("width", "?").problems[0].message

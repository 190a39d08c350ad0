"""Whatever is in a sheet, findings come out of the check and never an exception."""

from __future__ import annotations

import io
import json
from datetime import date, datetime, time, timedelta

import openpyxl
from hypothesis import given
from hypothesis import strategies as st

from catalog.spreadsheets.cells.report import EFFECTS, Verdict
from catalog.spreadsheets.checking.proposing import propose
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.likeness import Names
from catalog.spreadsheets.workbook.marking import Mark, marked_workbook
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.workbooks import book, check_instruments
from tests.conftest import FEWER

HEADINGS = [column.headings[0] for column in INSTRUMENT_COLUMNS]
ANY_VALUE = st.one_of(
    st.none(),
    st.text(max_size=30),
    st.sampled_from(["=A1", "?", "n/a", "14 cm", '5 1/2"', "TOTAL", "134C 3 min", "steam", "#N/A"]),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.booleans(),
    st.datetimes(datetime(1900, 1, 1), datetime(9999, 1, 1)),
    st.dates(date(1900, 1, 1)),
    st.times(),
    st.timedeltas(),
)  # fmt: skip
ROWS = st.lists(st.lists(ANY_VALUE, max_size=len(HEADINGS)), max_size=8)
HEADER = st.lists(
    st.one_of(st.sampled_from(HEADINGS), st.sampled_from(["Länge (cm)", "Wt. oz"]), ANY_VALUE),
    max_size=len(HEADINGS),
)


@given(header=HEADER, rows=ROWS, above=st.integers(0, 2))
def test_any_sheet_gives_a_report_that_can_be_told(
    header: list[object], rows: list[list[object]], above: int
) -> None:
    report = check_instruments(book(("List", [*[["a title"]] * above, header, *rows])), {})
    assert json.loads(json.dumps(report.as_json(), default=str))["kind"] == "instruments"


@given(rows=ROWS)
def test_every_row_of_any_list_has_one_verdict_and_known_problems(rows: list[list[object]]) -> None:
    report = check_instruments(book(("List", [HEADINGS, *rows])), {})
    assert all(
        row.verdict in Verdict and all(each.code in EFFECTS for each in row.problems)
        for row in report.rows
    )


@given(rows=ROWS)
def test_no_row_with_a_refusing_problem_goes_in(rows: list[list[object]]) -> None:
    report = check_instruments(book(("List", [HEADINGS, *rows])), {})
    refusing = [
        row for row in report.rows if any(p.effect in ("refuses", "waits") for p in row.problems)
    ]
    assert not any(row.goes_in for row in refusing)


@given(header=HEADER, rows=ROWS)
def test_any_sheet_can_be_proposed_for(header: list[object], rows: list[list[object]]) -> None:
    for kind in ("instruments", "sets"):
        found = propose(book(("List", [header, *rows])), kind)
        assert [each.title for each in found.sheets] == ["List"]


WRITABLE = st.one_of(
    st.none(),
    st.text(st.characters(min_codepoint=32, max_codepoint=0xD7FF), max_size=20),
    st.integers(-(10**12), 10**12),
    st.booleans(),
    st.dates(date(1902, 1, 1), date(9998, 1, 1)),
    st.just(time(4, 5)),
    st.just(timedelta(hours=30)),
)


def _saved(rows: list[list[object]]) -> bytes:
    workbook = openpyxl.Workbook()
    for row in [HEADINGS, *rows]:
        workbook.active.append(row)
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


@FEWER
@given(rows=st.lists(st.lists(WRITABLE, max_size=6), max_size=4))
def test_any_saved_workbook_is_read_as_another_reader_reads_it(rows: list[list[object]]) -> None:
    data = _saved(rows)
    ours = {
        f"{cell.column_letter}{cell.row}": cell.formula or cell.value
        for sheet in read_workbook(data, "x.xlsx").sheets
        for row in sheet.rows
        for cell in row.cells
    }
    theirs = {
        cell.coordinate: cell.value
        for row in openpyxl.load_workbook(io.BytesIO(data)).active.iter_rows()
        for cell in row
        if cell.value is not None and str(cell.value).strip()
    }
    assert ours == theirs


@FEWER
@given(rows=st.lists(st.lists(WRITABLE, max_size=6), max_size=4))
def test_any_saved_workbook_can_be_marked(rows: list[list[object]]) -> None:
    data = _saved(rows)
    report = check_instruments(read_workbook(data, "x.xlsx"), {})
    marks = [Mark(p.sheet, p.row, p.column, str(p.effect), p.message) for p in report.problems]
    marked = openpyxl.load_workbook(
        io.BytesIO(marked_workbook(data, read_workbook(data, "x.xlsx"), marks, {}))
    ).active
    assert all(marked[f"{mark.column}{mark.row}"].comment for mark in marks)


@given(names=st.lists(st.text(max_size=40), max_size=6), asked=st.text(max_size=40))
def test_any_names_can_be_compared(names: list[str], asked: str) -> None:
    known = Names()
    for number, name in enumerate(names):
        known.add(f"HF-{number}", name)
    found = known.like(asked)
    assert found is None or found[1] in names

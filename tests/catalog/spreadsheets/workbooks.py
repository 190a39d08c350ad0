"""Small workbooks for the tests, made as files or as what the reader gives."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter

from catalog.spreadsheets.cells.report import Report, RowReport
from catalog.spreadsheets.checking.instruments import InstrumentCheck
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.evidence.assigning import Columns
from catalog.spreadsheets.workbook.reading import Cell, Row, Sheet, Workbook, read_workbook

DEMO = Path(__file__).parents[3] / "fixtures" / "demo"


def demo(name: str) -> Workbook:
    """A workbook of the invented hospital, read."""
    return read_workbook((DEMO / name).read_bytes(), name)


def check_instruments(
    workbook: Workbook, known: Mapping[str, Mapping[str, object]], **said: Any
) -> Report:
    """The report on a master list with every row."""
    return InstrumentCheck(workbook, known, **said).whole()


def columns_under(*headings: str, values: Sequence[object] = ()) -> dict[str, str]:
    """Column key to column letter below these headings, over some rows of ``values``."""
    heads = {cell.column_letter: cell for cell in _sheet("", [headings]).rows[0].cells}
    rows = _sheet("", [values] * 3).rows
    found = Columns(heads, rows, INSTRUMENT_COLUMNS).solve().mapping
    return {key: mapped.letter for key, mapped in found.items()}


def rows_that_go_in(report: Report) -> list[RowReport]:
    """The rows that applying writes: none that is refused or waits, itself or its set."""
    return [row for row in report.rows if row.goes_in]


def xlsx(sheets: Mapping[str, Sequence[Sequence[object]]]) -> bytes:
    """An .xlsx file with these rows, from A1 down."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_part(data: bytes, part: str, old: bytes, new: bytes) -> bytes:
    """The .xlsx file with ``old`` replaced in one of its parts; ``old`` must be there."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as before,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for name in before.namelist():
            content = before.read(name)
            if name == part:
                assert old in content, f"{part} has no {old!r}"
                content = content.replace(old, new)
            after.writestr(name, content)
    return out.getvalue()


def book(*sheets: tuple[str, Sequence[Sequence[object]]]) -> Workbook:
    """What the reader gives for these rows; a text that starts with = is a formula."""
    return Workbook("list.xlsx", "0" * 64, tuple(_sheet(title, rows) for title, rows in sheets))


def _sheet(title: str, rows: Sequence[Sequence[object]]) -> Sheet:
    filled = []
    for number, values in enumerate(rows, start=1):
        cells = tuple(
            _cell(number, get_column_letter(place), value)
            for place, value in enumerate(values, start=1)
            if value is not None
        )
        if cells:
            filled.append(Row(number, cells))
    return Sheet(title, tuple(filled))


def _cell(row: int, letter: str, value: object) -> Cell:
    if isinstance(value, str) and value.startswith("="):
        return Cell(row, letter, None, value)
    return Cell(row, letter, value)  # type: ignore[arg-type]

"""From the bytes of a spreadsheet to sheets of rows of cells, or to why not.

.xlsx is looked at by :mod:`catalog.spreadsheets.safety` first and read by openpyxl in its
read-only mode with the size a sheet declares about itself ignored, because it may lie. .csv
is read as UTF-8 (with or without its mark), UTF-16 with its mark, or Windows-1252; the
separator is the one of comma, semicolon and tab that splits the lines most evenly.
"""

from __future__ import annotations

import csv
import hashlib
import io
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Any

import openpyxl
from openpyxl.utils import get_column_letter

from catalog.spreadsheets.safety import (
    MAX_FILE_BYTES,
    OLE_START,
    ZIP_START,
    FileProblem,
    UnsafeFileError,
    check_cell_count,
    check_column_number,
    check_row_number,
    check_workbook_bytes,
    damaged,
)

Value = str | int | float | bool | Decimal | datetime | date | time | timedelta | None

CSV_FORMAT = "csv"
"""The number format of every .csv cell: there a number is always text."""
SNIFF_LINES = 30
SEPARATORS = ",;\t"
FORMULA_START = "="
GUARDED_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""First characters that an export guards with an apostrophe (OWASP, CSV injection)."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as it was typed. ``formula`` is its text when it is one, and then ``value`` is
    what the spreadsheet program last calculated, or None when it never did."""

    row: int
    column_letter: str
    value: Value = None
    formula: str | None = None
    number_format: str = ""

    @property
    def typed(self) -> str:
        """What the person sees in the edit line; '' for an empty cell.

        >>> Cell(87, "B", None, '=A1&"x"').typed, Cell(6, "F", 125.0).typed, Cell(6, "F").typed
        ('=A1&"x"', '125', '')
        """
        if self.formula is not None:
            return self.formula
        if isinstance(self.value, float) and self.value.is_integer():
            return f"{self.value:.0f}"
        return "" if self.value is None else str(self.value)

    @property
    def is_empty(self) -> bool:
        """True when nothing is in the cell, or only spaces."""
        return self.formula is None and not self.typed.strip()


@dataclass(frozen=True)
class Row:
    """The filled cells of one row; ``number`` is the one that the spreadsheet shows."""

    number: int
    cells: tuple[Cell, ...]

    @cached_property
    def _by_letter(self) -> dict[str, Cell]:
        return {cell.column_letter: cell for cell in self.cells}

    def at(self, column_letter: str) -> Cell:
        """The cell in that column, an empty one when nothing is there."""
        return self._by_letter.get(column_letter) or Cell(self.number, column_letter)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with its filled rows, top to bottom."""

    title: str
    rows: tuple[Row, ...]
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Workbook:
    """A file as it was read. With ``problems`` it has no sheets."""

    file_name: str
    sha256: str
    sheets: tuple[Sheet, ...] = ()
    problems: tuple[FileProblem, ...] = field(default=())


def read_workbook(data: bytes, file_name: str) -> Workbook:
    """The workbook in ``data``. Never raises for what is in the file: see ``problems``.

    >>> book = read_workbook(b"Item #,Name\\nHF-1,Probe\\n", "list.csv")
    >>> [cell.value for cell in book.sheets[0].rows[1].cells]
    ['HF-1', 'Probe']
    """
    digest = hashlib.sha256(data).hexdigest()
    try:
        sheets = tuple(_sheets(data, file_name))
        if not any(sheet.rows for sheet in sheets):
            raise UnsafeFileError("empty_file", "There is nothing in the file.")
    except UnsafeFileError as error:
        return Workbook(file_name, digest, problems=(error.problem,))
    return Workbook(file_name, digest, sheets)


def _sheets(data: bytes, file_name: str) -> Iterator[Sheet]:
    if len(data) > MAX_FILE_BYTES:
        raise UnsafeFileError(
            "too_large",
            f"The file has {len(data):,} bytes; the limit is {MAX_FILE_BYTES:,}. Split the list.",
        )
    if not data.strip():
        raise UnsafeFileError("empty_file", "There is nothing in the file.")
    if data.startswith(OLE_START):
        raise UnsafeFileError(
            "old_or_locked",
            "The file is an old .xls workbook, or has a password. Save it as .xlsx without one.",
        )
    if data.startswith(ZIP_START):
        return _xlsx_sheets(data)
    if file_name.casefold().endswith((".xlsx", ".xlsm")):
        raise UnsafeFileError(
            "not_a_spreadsheet",
            "The file is called a workbook and is none: it may be damaged. Save it again as .xlsx.",
        )
    return iter([_csv_sheet(data, file_name)])


def _xlsx_sheets(data: bytes) -> Iterator[Sheet]:
    has_formulas = check_workbook_bytes(data)
    try:
        with warnings.catch_warnings():
            # openpyxl warns of styles and validations it leaves out; we read values only.
            warnings.simplefilter("ignore")
            calculated = _calculated_values(data) if has_formulas else {}
            yield from _sheets_as_typed(data, calculated)
    except UnsafeFileError:
        raise
    except Exception as error:  # The reader's errors are many; for the person they are one.
        raise damaged() from error


def _open(data: bytes, *, values: bool) -> Any:
    return openpyxl.load_workbook(
        io.BytesIO(data), read_only=True, data_only=values, keep_links=False
    )


def _rows(sheet: Any) -> Iterator[tuple[int, list[Any]]]:
    """Row number and filled cells, with the declared size ignored and the limits kept."""
    sheet.reset_dimensions()
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        check_row_number(number, sheet.title)
        check_column_number(len(cells), sheet.title)
        filled = [cell for cell in cells if cell.value is not None and str(cell.value).strip()]
        if filled:
            yield number, filled


def _sheets_as_typed(data: bytes, calculated: dict[tuple[str, str], Any]) -> Iterator[Sheet]:
    book = _open(data, values=False)
    count = 0
    for sheet in book.worksheets:
        rows = []
        for number, cells in _rows(sheet):
            count += len(cells)
            check_cell_count(count)
            made = tuple(_cell(sheet.title, cell, calculated) for cell in cells)
            rows.append(Row(number, made))
        yield Sheet(sheet.title, tuple(rows), hidden=sheet.sheet_state != "visible")
    book.close()


def _calculated_values(data: bytes) -> dict[tuple[str, str], Any]:
    book = _open(data, values=True)
    values: dict[tuple[str, str], Any] = {}
    for sheet in book.worksheets:
        for _, cells in _rows(sheet):
            values.update({(sheet.title, cell.coordinate): cell.value for cell in cells})
            check_cell_count(len(values))
    book.close()
    return values


def _cell(title: str, cell: Any, calculated: dict[tuple[str, str], Any]) -> Cell:
    letter, style = get_column_letter(cell.column), str(cell.number_format or "")
    if cell.data_type == "f":
        formula = str(getattr(cell.value, "text", None) or cell.value)
        value = calculated.get((title, cell.coordinate))
        return Cell(cell.row, letter, value, formula, style)
    return Cell(cell.row, letter, cell.value, None, style)


def _csv_sheet(data: bytes, file_name: str) -> Sheet:
    text = _decoded(data)
    separator = _separator(text)
    try:
        rows = tuple(_csv_rows(text, separator, file_name))
    except csv.Error as error:
        raise UnsafeFileError(
            "damaged", f"The text cannot be split into columns: {error}. Save it as .xlsx."
        ) from error
    return Sheet(file_name.rsplit(".", 1)[0], rows)


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    elif b"\x00" in data:
        encodings = []
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise UnsafeFileError(
        "not_a_spreadsheet", "This is neither a workbook nor a text table. Save it as .xlsx."
    )


def _separator(text: str) -> str:
    """The separator that gives most lines the same number of columns, more than one."""
    lines = text.splitlines()[:SNIFF_LINES]

    def evenness(separator: str) -> tuple[int, int]:
        try:
            widths = [len(row) for row in csv.reader(lines, delimiter=separator) if row]
        except csv.Error:
            return 0, 0
        wide = Counter(width for width in widths if width > 1)
        return (wide.most_common(1)[0][1], max(wide)) if wide else (0, 0)

    return max(SEPARATORS, key=evenness)


def _csv_rows(text: str, separator: str, name: str) -> Iterator[Row]:
    count = 0
    for number, values in enumerate(csv.reader(io.StringIO(text), delimiter=separator), start=1):
        count += len(values)
        check_cell_count(count)
        check_row_number(number, name)
        check_column_number(len(values), name)
        cells = tuple(
            _csv_cell(number, column, value)
            for column, value in enumerate(values, start=1)
            if value.strip()
        )
        if cells:
            yield Row(number, cells)


def _csv_cell(row: int, column: int, value: str) -> Cell:
    letter = get_column_letter(column)
    if value.startswith(FORMULA_START):
        return Cell(row, letter, None, value, CSV_FORMAT)
    if value.startswith("'") and value.lstrip("'").startswith(GUARDED_STARTS):
        value = value[1:]
    return Cell(row, letter, value, None, CSV_FORMAT)

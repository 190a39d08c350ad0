"""From the bytes of a spreadsheet to sheets of rows of cells, or to why not.

.xlsx is looked at by ``safety`` first and read in one pass by ``xlsx``, both beside this module;
the size a sheet declares about itself is ignored, because it may lie. Rows are spooled, so that
memory does not grow with them. .csv is read as UTF-8
(with or without its mark), UTF-16 with its mark, or Windows-1252; the separator is the one of
comma, semicolon and tab that splits the lines most evenly.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from openpyxl.utils import get_column_letter

from catalog.spreadsheets.workbook.cell import CSV_FORMAT, Cell, Row, Value
from catalog.spreadsheets.workbook.safety import (
    MAX_FILE_BYTES,
    OLE_START,
    ZIP_START,
    FileProblem,
    UnsafeFileError,
    check_cell_count,
    check_cell_length,
    check_column_number,
    check_row_number,
    check_workbook_bytes,
    damaged,
)
from catalog.spreadsheets.workbook.spool import RawCell, RawRow, SpooledRows
from catalog.spreadsheets.workbook.xlsx import Package

__all__ = ["Cell", "Row", "Sheet", "Value", "Workbook", "read_workbook"]

SNIFF_LINES = 30
LEAST_SWALLOWED = 2
"""Separators in a later line of one cell that make it a row of the table, not a note (ours)."""
SEPARATORS = ",;\t"
FORMULA_START = "="
GUARDED_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""First characters that an export guards with an apostrophe (OWASP, CSV injection)."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with its filled rows, top to bottom."""

    title: str
    rows: Sequence[Row]
    hidden: bool = False
    hidden_rows: tuple[int, ...] = ()
    hidden_columns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Workbook:
    """A file as it was read. With ``problems`` it has no sheets. ``right``: sheet, row and letter
    of the cells of which somebody said that they are right as they are."""

    file_name: str
    sha256: str
    sheets: tuple[Sheet, ...] = ()
    problems: tuple[FileProblem, ...] = field(default=())
    right: frozenset[tuple[str, int, str]] = frozenset()


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
    check_workbook_bytes(data)
    try:
        package = Package(data)
        cells: Counter[str] = Counter()
        for facts in package.sheets():
            rows = SpooledRows(_counted(package.rows(facts), cells), facts.merges)
            hidden = (tuple(facts.hidden_rows), tuple(facts.hidden_columns))
            yield Sheet(facts.title, rows, facts.hidden, *hidden)
        package.close()
    except UnsafeFileError:
        raise
    except Exception as error:  # The reader's errors are many; for the person they are one.
        raise damaged() from error


def _counted(rows: Iterable[RawRow], cells: Counter[str]) -> Iterator[RawRow]:
    """The same rows; the filled cells of the whole file are refused above the limit."""
    for row in rows:
        cells["filled"] += len(row[1])
        check_cell_count(cells["filled"])
        yield row


def _csv_sheet(data: bytes, file_name: str) -> Sheet:
    text = _decoded(data)
    separator = _separator(text)
    try:
        rows = SpooledRows(_counted(_csv_rows(text, separator, file_name), Counter()))
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


def _csv_rows(text: str, separator: str, name: str) -> Iterator[RawRow]:
    width = 0
    for number, values in enumerate(csv.reader(io.StringIO(text), delimiter=separator), start=1):
        check_row_number(number, name)
        check_column_number(len(values), name)
        width = max(width, len(values))
        if len(values) != width:
            _check_quotes(values, separator, number, width)
        cells = [
            _csv_cell(get_column_letter(column), value, f"row {number}")
            for column, value in enumerate(values, start=1)
            if value.strip()
        ]
        if cells:
            yield number, cells


def _check_quotes(values: Sequence[str], separator: str, number: int, width: int) -> None:
    """A quotation mark that is not closed takes the rows below it into its cell."""
    for value in values:
        lines = value.splitlines()
        swallowed = [
            line for line in lines[1:] if line.count(separator) >= max(LEAST_SWALLOWED, width - 1)
        ]
        if swallowed and separator in lines[0]:
            raise UnsafeFileError(
                "open_quote",
                f"The row that begins “{values[0][:40]}” (about row {number}) has a quotation mark "
                f"that takes the next rows into its cell: “{swallowed[0][:60]}”. Close or delete "
                "the mark, or save the list as .xlsx.",
            )


def _csv_cell(letter: str, value: str, where: str) -> RawCell:
    check_cell_length(len(value), where)
    if value.startswith(FORMULA_START):
        return letter, None, value, CSV_FORMAT
    if value.startswith("'") and value.lstrip("'").startswith(GUARDED_STARTS):
        value = value[1:]
    return letter, value, None, CSV_FORMAT

"""From the bytes of a spreadsheet to sheets of rows of cells, or to why not.

``naming`` tells what the file is. .xlsx is looked at by ``safety`` first and read in one pass by
``xlsx``; the size a sheet declares about itself is ignored, because it may lie. .xls and .ods are
read by ``older``, with a remark on what cannot be seen there. A text table is decoded by
``encodings`` and split by ``text``. Rows are spooled, so that memory does not grow with them.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from catalog.spreadsheets.workbook.cell import Cell, Row, Value
from catalog.spreadsheets.workbook.encodings import Reading, decoded
from catalog.spreadsheets.workbook.naming import Format, format_of
from catalog.spreadsheets.workbook.older import NOT_SEEN, old_sheets
from catalog.spreadsheets.workbook.safety import (
    MAX_FILE_BYTES,
    FileProblem,
    UnsafeFileError,
    check_workbook_bytes,
    damaged,
)
from catalog.spreadsheets.workbook.spool import SpooledRows, counted
from catalog.spreadsheets.workbook.text import text_rows
from catalog.spreadsheets.workbook.xlsx import Package

__all__ = ["Cell", "Row", "Sheet", "Value", "Workbook", "read_workbook"]

MOST_NAMED = 4
"""Readings that a sentence names; all can be chosen."""
OnRecord = Mapping[str, frozenset[str]]
"""Column key to what the catalog has of it, folded for comparing."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet with its filled rows, top to bottom, and what is on record where it is read.

    ``found`` keeps what was made of its rows, which never change, by what was asked."""

    title: str
    rows: Sequence[Row]
    hidden: bool = False
    hidden_rows: tuple[int, ...] = ()
    hidden_columns: tuple[str, ...] = ()
    on_record: OnRecord = field(default_factory=dict)
    found: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Workbook:
    """A file as it was read. With ``problems`` it has no sheets.

    ``right``: sheet, row and letter of the cells of which somebody said that they are right as
    they are. ``remarks`` are sentences on how it was read. ``readings`` are how a text table reads
    in one encoding and another, the one taken first; with the problem ``which_encoding`` somebody
    has to choose one of them.
    """

    file_name: str
    sha256: str
    sheets: tuple[Sheet, ...] = ()
    problems: tuple[FileProblem, ...] = field(default=())
    right: frozenset[tuple[str, int, str]] = frozenset()
    format: Format = Format.XLSX
    remarks: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()


def read_workbook(data: bytes, file_name: str, encoding: str = "") -> Workbook:
    """The workbook in ``data``. Never raises for what is in the file: see ``problems``.

    ``encoding`` is a person's word for a text table; it is told from the bytes when left out.

    >>> book = read_workbook(b"Item #,Name\\nHF-1,Probe\\n", "list.csv")
    >>> [cell.value for cell in book.sheets[0].rows[1].cells]
    ['HF-1', 'Probe']
    """
    book = Workbook(file_name, hashlib.sha256(data).hexdigest())
    try:
        _check_size(data)
        book = replace(book, format=format_of(data, file_name))
        book = _read(data, book, encoding)
        if not book.problems and not any(sheet.rows for sheet in book.sheets):
            raise _nothing_in_it()
    except UnsafeFileError as error:
        return replace(book, sheets=(), problems=(error.problem,))
    return book


def _check_size(data: bytes) -> None:
    if len(data) > MAX_FILE_BYTES:
        raise UnsafeFileError(
            "too_large",
            f"The file has {len(data):,} bytes; the limit is {MAX_FILE_BYTES:,}. Split the list.",
        )
    if not data.strip():
        raise _nothing_in_it()


def _nothing_in_it() -> UnsafeFileError:
    return UnsafeFileError("empty_file", "There is nothing in the file.")


def _read(data: bytes, book: Workbook, encoding: str) -> Workbook:
    if book.format is Format.TEXT:
        return _text_table(data, book, encoding)
    if book.format is Format.XLSX:
        return replace(book, sheets=tuple(_xlsx_sheets(data)))
    if book.format is Format.ODS:
        check_workbook_bytes(data, needs="content.xml")
    return replace(book, sheets=tuple(_old_sheets(data)), remarks=(NOT_SEEN[book.format],))


def _xlsx_sheets(data: bytes) -> Iterator[Sheet]:
    check_workbook_bytes(data)
    try:
        package = Package(data)
        cells: Counter[str] = Counter()
        for facts in package.sheets():
            rows = SpooledRows(counted(package.rows(facts), cells), facts.merges)
            hidden = (tuple(facts.hidden_rows), tuple(facts.hidden_columns))
            yield Sheet(facts.title, rows, facts.hidden, *hidden)
        package.close()
    except (UnsafeFileError, MemoryError):
        raise
    except Exception as error:  # The reader's errors are many; for the person they are one.
        raise damaged() from error


def _old_sheets(data: bytes) -> Iterator[Sheet]:
    cells: Counter[str] = Counter()
    for sheet in old_sheets(data):
        rows = SpooledRows(counted(sheet.rows(), cells), sheet.merges)
        yield Sheet(sheet.title, rows, sheet.hidden)


def _text_table(data: bytes, book: Workbook, encoding: str) -> Workbook:
    found = decoded(data, encoding)
    if found.readings and not found.text:
        return replace(book, problems=(_which(found.readings),), readings=found.readings)
    name = book.file_name
    rows = SpooledRows(counted(text_rows(found.text, name), Counter()))
    remarks = tuple(map(_read_as, found.readings[:1]))
    sheet = Sheet(name.rsplit(".", 1)[0], rows)
    return replace(book, sheets=(sheet,), remarks=remarks, readings=found.readings)


def _which(readings: Sequence[Reading]) -> FileProblem:
    shown = "; ".join(
        f"“{each.shown[0]}” in {each.title} ({each.encoding})" for each in readings[:MOST_NAMED]
    )
    return FileProblem(
        "which_encoding",
        "The letters of this text table can be read in more than one way, and the file does not "
        f"say which is right. Row {readings[0].row} reads {shown}. Choose one, or save the list "
        "as .xlsx.",
    )


def _read_as(reading: Reading) -> str:
    words = ", ".join(f"“{each}”" for each in reading.shown)
    return (
        f"The letters were read as {reading.title} ({reading.encoding}): {words}. If that is "
        "wrong, choose another (on the page Columns and units, or with --encoding)."
    )

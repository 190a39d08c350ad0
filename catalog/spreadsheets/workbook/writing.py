"""Rows to .xlsx and .csv, one way for all. A text that looks like a formula stays a text.

A spreadsheet program runs a cell that starts with =, +, -, @, a tab or the end of a line
(OWASP, "CSV Injection"; ASVS 5.0, 1.2.10). What no file can hold is left out first. In .xlsx
such a text is stored with the type of a text and marked as quoted; in .csv an apostrophe goes
before it, which :mod:`catalog.spreadsheets.workbook.text` takes off again. Numbers are
written as numbers and need no guard.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import openpyxl
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from catalog.spreadsheets.workbook.text import GUARDED_STARTS

Value = str | int | float | bool | Decimal | date | datetime | None

LONGEST_CELL = 32_767
"""Characters that a cell of a workbook can hold (ECMA-376 part 1, 18.18.22)."""
WIDEST, NARROWEST = 48, 10
"""Widths of columns, in characters (our choice); a longer text is wrapped."""
WRAPPED = Alignment(wrap_text=True, vertical="top")
WIDTH_FROM_ROWS = 200
"""So many rows are looked at for the width of a column."""
UNPRINTABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Signs that no workbook can hold (XML 1.0, 2.2)."""
MAX_TITLE = 31
"""Characters in the title of a sheet (spreadsheet programs refuse more)."""


@dataclass(frozen=True, slots=True)
class SheetOut:
    """One sheet: its title, its headings, and its rows."""

    title: str
    headings: Sequence[str]
    rows: Sequence[Sequence[Value]]


def xlsx(sheets: Iterable[SheetOut]) -> bytes:
    """A workbook with a bold, frozen, filterable heading row on each sheet."""
    book = openpyxl.Workbook(write_only=True)
    for sheet in sheets:
        made = book.create_sheet(sheet_title(sheet.title))
        made.freeze_panes = "A2"
        made.print_title_rows = "1:1"
        for place, width in enumerate(_widths(sheet), start=1):
            made.column_dimensions[get_column_letter(place)].width = width
        last = get_column_letter(max(1, len(sheet.headings)))
        made.auto_filter.ref = f"A1:{last}{len(sheet.rows) + 1}"
        made.append([_cell(made, heading, bold=True) for heading in sheet.headings])
        for row in sheet.rows:
            made.append([_cell(made, value) for value in row])
    return bytes_of(book)


def bytes_of(book: Any) -> bytes:
    """A workbook of openpyxl as its file."""
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def csv_text(sheet: SheetOut) -> bytes:
    """The rows as UTF-8 with its mark, which spreadsheet programs need to see the accents."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([_csv_value(heading) for heading in sheet.headings])
    writer.writerows([[_csv_value(value) for value in row] for row in sheet.rows])
    return out.getvalue().encode("utf-8-sig")


def printable(text: str) -> str:
    """``text`` without the signs that no workbook can hold.

    >>> printable("Sc\x0bal")
    'Scal'
    """
    return UNPRINTABLE.sub("", text)


def guarded(text: str) -> str:
    """``text`` with an apostrophe before it when a spreadsheet program would run it.

    >>> guarded("=1+1"), guarded("Probe"), guarded("'-x")
    ("'=1+1", 'Probe', "''-x")
    """
    return f"'{text}" if text.lstrip("'").startswith(GUARDED_STARTS) else text


def _csv_value(value: Value) -> Value:
    if isinstance(value, str):
        return guarded(printable(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, Decimal):
        text = f"{value.normalize():f}"
        in_threes = len(text.partition(".")[2]) == 3  # Read as thousands by some programs.
        return f"{text}0" if in_threes else text
    return value


def _cell(sheet: Worksheet, value: Value, *, bold: bool = False) -> WriteOnlyCell:
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, datetime):
        value = value.replace(tzinfo=None)
    if not isinstance(value, str):
        cell = WriteOnlyCell(sheet, value=value)
    else:
        text = printable(value)[:LONGEST_CELL]
        cell = WriteOnlyCell(sheet, value=text or None)
        if text:
            cell.data_type = "s"  # Never "f" for a formula or "e" for an error.
        if text.startswith(GUARDED_STARTS):
            cell.quotePrefix = True
        if len(text) > WIDEST:
            cell.alignment = WRAPPED
    if bold:
        cell.font = Font(bold=True)
    return cell


def sheet_title(title: str) -> str:
    """A title that a sheet can have, from one that may be too long or hold strange signs."""
    return re.sub(r"[\[\]:*?/\\]", " ", title).strip("' ")[:MAX_TITLE] or "Sheet"


def _widths(sheet: SheetOut) -> list[int]:
    shown = [sheet.headings, *sheet.rows[:WIDTH_FROM_ROWS]]
    return [
        min(WIDEST, max(NARROWEST, 2 + max(len(str(row[place] or "")) for row in shown)))
        for place in range(len(sheet.headings))
    ]

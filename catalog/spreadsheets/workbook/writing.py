"""Rows to .csv and .xlsx, one way for all, streamed. A text that looks like a formula stays a text.

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
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import islice
from typing import Any

from catalog.spreadsheets.workbook.text import GUARDED_STARTS

Value = str | int | float | bool | Decimal | date | datetime | None

UNPRINTABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Signs that no workbook can hold (XML 1.0, 2.2)."""
MAX_TITLE = 31
"""Characters in the title of a sheet (spreadsheet programs refuse more)."""
AT_ONCE = 200
"""Rows that are written together."""
LOOKED_AT = frozenset((*GUARDED_STARTS, "'"))


@dataclass(frozen=True, slots=True)
class SheetOut:
    """One sheet: its title, its headings, and its rows, which are asked for once, one by one.

    ``count`` is how many rows there are, where that is known before and they may be many.
    """

    title: str
    headings: Sequence[str]
    rows: Iterable[Sequence[Value]]
    count: int = 0


def in_parts(rows: Iterable[Sequence[Value]]) -> Iterator[list[Sequence[Value]]]:
    """The rows, some together."""
    left = iter(rows)
    while some := list(islice(left, AT_ONCE)):
        yield some


def as_csv(sheet: SheetOut) -> Iterator[bytes]:
    """The rows as UTF-8 with its mark, which spreadsheet programs need to see the accents; in
    parts of some rows each."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n").writerows
    out.write("\ufeff")
    write([[_csv_value(heading) for heading in sheet.headings]])
    for rows in in_parts(sheet.rows):
        write([[_csv_value(value) for value in row] for row in rows])
        yield out.getvalue().encode()
        out.seek(0)
        out.truncate()
    yield out.getvalue().encode()


def bytes_of(book: Any) -> bytes:
    """A workbook of openpyxl as its file."""
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


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
    if value is None or value == "":
        return value
    if isinstance(value, str):
        if value[0] not in LOOKED_AT and value.isprintable():
            return value
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


def sheet_title(title: str) -> str:
    """A title that a sheet can have, from one that may be too long or hold strange signs."""
    return re.sub(r"[\[\]:*?/\\]", " ", title).strip("' ")[:MAX_TITLE] or "Sheet"

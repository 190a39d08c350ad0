"""The rows of .xls and .ods workbooks, read by calamine.

It gives what every cell last showed as a value, and merged cells of .xls; it has no call for
formulas, number formats, hidden rows and hidden columns, which :data:`NOT_SEEN` says to the
person. It knows no limits and may end the process on a hostile file: it runs where memory and
time are limited (``catalog.management.limits``), and what it gives is held to the same limits on
rows, columns, cells and their length as any other file.
"""

from __future__ import annotations

import contextlib
import io
import os
from collections.abc import Iterator, Mapping
from datetime import date, time, timedelta
from typing import Any

from openpyxl.utils import get_column_letter
from python_calamine import (
    CalamineSheet,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from catalog.spreadsheets.workbook.naming import PASSWORD, Format
from catalog.spreadsheets.workbook.safety import (
    UnsafeFileError,
    check_cell_length,
    check_column_number,
    check_row_number,
    damaged,
)
from catalog.spreadsheets.workbook.spool import Merges, RawCell, RawRow

NOT_SEEN: Mapping[Format, str] = {
    Format.XLS: "This is an old workbook (.xls). Formulas, number formats, hidden rows and hidden "
    "columns cannot be seen in it: what a formula last showed was read as if it were typed, hidden "
    "rows like any other, and zeros or a unit that only a number format shows (0042, 16.5 cm) are "
    "missing. If the list has any of these, save it as .xlsx and send that.",
    Format.ODS: "This is an .ods workbook. Formulas, number formats, merged cells, hidden rows and "
    "hidden columns cannot be seen in it: what a formula last showed was read as if it were typed, "
    "hidden rows like any other, and zeros or a unit that only a number format shows (0042, "
    "16.5 cm) are missing. If the list has any of these, save it as .xlsx and send that.",
}
"""What is said with every such file."""
WHOLE_BELOW = 2**53
"""Numbers are stored as binary fractions; up to here a whole one is exactly what was typed."""
DAY_FORMAT, TIME_FORMAT = "yyyy-mm-dd", "hh:mm:ss"
"""For dates, whose own format is not known: they are shown in full."""


class OldSheet:
    """One sheet. ``rows`` can be gone through once."""

    def __init__(self, sheet: CalamineSheet, title: str, hidden: bool) -> None:
        self._sheet, self.title, self.hidden = sheet, title, hidden

    @property
    def merges(self) -> Merges:
        """Cells merged downwards, by column letter; none of .ods."""
        found: Merges = {}
        for (top, left), (bottom, _) in self._sheet.merged_cell_ranges or ():
            if bottom > top:
                found.setdefault(get_column_letter(left + 1), []).append((top + 1, bottom + 1))
        return found

    def rows(self) -> Iterator[RawRow]:
        """The filled rows, numbered as the spreadsheet shows them."""
        if self._sheet.start is None:
            return
        first = self._sheet.start[1] + 1  # Columns before it are left out; rows are not.
        for number, values in enumerate(self._sheet.iter_rows(), start=1):
            cells = [
                self._cell(number, column, value)
                for column, value in enumerate(values, start=first)
                if not (isinstance(value, str) and not value.strip())
            ]
            if cells:
                yield number, cells

    def _cell(self, row: int, column: int, value: Any) -> RawCell:
        check_row_number(row, self.title)
        check_column_number(column, self.title)
        letter = get_column_letter(column)
        if isinstance(value, str):
            check_cell_length(len(value), f"{self.title}!{letter}{row}")
        elif isinstance(value, float) and value.is_integer() and abs(value) < WHOLE_BELOW:
            value = int(value)
        shown = TIME_FORMAT if isinstance(value, time | timedelta) else ""
        return letter, value, None, DAY_FORMAT if isinstance(value, date) else shown


def old_sheets(data: bytes) -> Iterator[OldSheet]:
    """The worksheets in their order. UnsafeFileError where the file has a password or is broken."""
    with _named():
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for facts in book.sheets_metadata:
        if facts.typ == SheetTypeEnum.WorkSheet:
            with _named():
                sheet = book.get_sheet_by_name(facts.name)
            yield OldSheet(sheet, facts.name, facts.visible != SheetVisibleEnum.Visible)


@contextlib.contextmanager
def _named() -> Iterator[None]:
    """What the reader ends in is named for the person; what it prints is for its makers."""
    kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    try:
        yield
    except PasswordError as error:
        raise UnsafeFileError("password", PASSWORD) from error
    except MemoryError:
        raise
    except Exception as error:  # The reader's errors are many; for the person they are one.
        raise damaged() from error
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # What the reader's own mistakes end in.
            raise
        raise damaged() from error
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)

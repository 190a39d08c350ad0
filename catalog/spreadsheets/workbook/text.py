"""The rows of a text table (.csv): its separator, its line ends, its quotation marks.

The separator is the one of comma, semicolon, tab and bar that splits the lines most evenly. Lines
end as they do on any machine; those of an old Mac with a carriage return alone.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence

from openpyxl.utils import get_column_letter

from catalog.spreadsheets.workbook.cell import CSV_FORMAT
from catalog.spreadsheets.workbook.safety import (
    UnsafeFileError,
    check_cell_length,
    check_column_number,
    check_row_number,
)
from catalog.spreadsheets.workbook.spool import RawCell, RawRow

SNIFF_LINES = 30
LEAST_SWALLOWED = 2
"""Separators in a later line of one cell that make it a row of the table, not a note (ours)."""
SEPARATORS = ",;\t|"
FORMULA_START = "="
GUARDED_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""First characters that an export guards with an apostrophe (OWASP, CSV injection)."""
_QUOTED_OR_END = re.compile(r'"[^"]*"?|\r\n|\r|\n')


def text_rows(text: str, name: str) -> Iterator[RawRow]:
    """The filled rows of the table called ``name``. UnsafeFileError where it is none."""
    lines = io.StringIO(text, newline=None if _ends_lines_with_cr(text) else "\n")
    separator = _separator(text)
    width = 0
    try:
        for number, values in enumerate(csv.reader(lines, delimiter=separator), start=1):
            check_row_number(number, name)
            check_column_number(len(values), name)
            width = max(width, len(values))
            if len(values) != width:
                _check_quotes(values, separator, number, width)
            cells = [
                _cell(get_column_letter(column), value, f"row {number}")
                for column, value in enumerate(values, start=1)
                if value.strip()
            ]
            if cells:
                yield number, cells
    except csv.Error as error:
        raise _cannot_be_split(str(error)) from error


def _ends_lines_with_cr(text: str) -> bool:
    """Whether the first line that ends outside quotation marks ends as on an old Mac."""
    if "\n" not in text:
        return True
    found = (each[0] for each in _QUOTED_OR_END.finditer(text))
    return next((each for each in found if each[0] != '"'), "") == "\r"


def _cannot_be_split(why: str) -> UnsafeFileError:
    if "new-line" in why:
        return UnsafeFileError(
            "damaged",
            "A cell has a line break (a carriage return) and no quotation marks around it, so that "
            "nobody can tell where its row ends. Save the list as .xlsx.",
        )
    if "field limit" in why:
        return UnsafeFileError(
            "cell_too_long", "One cell has more text than any spreadsheet program writes: a "
            "quotation mark may be open. Save the list as .xlsx."
        )  # fmt: skip
    return UnsafeFileError(
        "damaged", f"The text cannot be split into columns: {why}. Save it as .xlsx."
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


def _cell(letter: str, value: str, where: str) -> RawCell:
    check_cell_length(len(value), where)
    if value.startswith(FORMULA_START):
        return letter, None, value, CSV_FORMAT
    if value.startswith("'") and value.lstrip("'").startswith(GUARDED_STARTS):
        value = value[1:]
    return letter, value, None, CSV_FORMAT

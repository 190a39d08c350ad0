"""The declared columns as people need them: a blank workbook to fill in, and their help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import openpyxl
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter

from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import SET_COLUMNS
from catalog.spreadsheets.workbook.writing import bytes_of

COLUMNS_OF = {"instruments": INSTRUMENT_COLUMNS, "sets": SET_COLUMNS}
"""Kind of spreadsheet to its declared columns."""
SHEET_OF = {"instruments": "Instruments", "sets": "Count sheet"}
TEXT_FORMAT = "@"
TEMPLATE_ROWS = 200
"""Rows of the blank workbook that are formatted in advance."""
_WIDTHS = {
    "name": 44, "also_known_as": 28, "methods": 24, "cycle": 28, "maker": 24,
    "parts_apart": 28, "forbids": 28, "ifu_reference": 24, "notes": 44,
}  # fmt: skip


def help_lines(columns: Sequence[Column]) -> Iterator[str]:
    """The columns as lines of plain text.

    >>> next(help_lines(INSTRUMENT_COLUMNS))
    "Item number (required): The department's own number. Each number stands once."
    """
    for column in columns:
        required = " (required)" if column.required else ""
        yield f"{column.title}{required}: {column.help}"


def blank_workbook(kind: str) -> bytes:
    """An .xlsx file with the headings of ``kind``, ready to be filled in and imported."""
    columns = COLUMNS_OF[kind]
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = SHEET_OF[kind]
    top = 1
    if kind == "sets":
        for top, label in enumerate(("Set no.", "Set name", "Packed in", "Service", "Rev."), 1):
            sheet.cell(top, 1, label).font = Font(bold=True)
        top += 2
    _headings(sheet, columns, top)
    _explain(book.create_sheet("How to fill it in"), columns)
    return bytes_of(book)


def _headings(sheet: openpyxl.worksheet.worksheet.Worksheet, columns: Sequence[Column],
              row: int) -> None:  # fmt: skip
    for place, column in enumerate(columns, start=1):
        cell = sheet.cell(row, place, column.heading)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E3EDF0")
        cell.comment = Comment(column.help, "Packbench", width=320, height=90)
        letter = get_column_letter(place)
        sheet.column_dimensions[letter].width = max(
            _WIDTHS.get(column.key, 16), len(column.heading) + 2
        )
        if column.unit is None:
            # As text nothing turns into a date or loses its leading zeros.
            for below in range(row + 1, row + 1 + TEMPLATE_ROWS):
                sheet.cell(below, place).number_format = TEXT_FORMAT
    sheet.freeze_panes = sheet.cell(row + 1, 1)


def _explain(sheet: openpyxl.worksheet.worksheet.Worksheet, columns: Sequence[Column]) -> None:
    sheet.append(["Heading", "Must be there", "What goes in", "Also understood"])
    for column in columns:
        understood = ", ".join(column.goes_by)
        sheet.append([column.title, "yes" if column.required else "", column.help, understood])
    for letter, width in zip("ABCD", (26, 16, 60, 90), strict=True):
        sheet.column_dimensions[letter].width = width
    for row in sheet.iter_rows():
        for cell in row:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    for cell in sheet[1]:
        cell.font = Font(bold=True)

"""A list as a file: text with commas, a workbook, a PDF.

A cell that a spreadsheet program would take for a formula gets an apostrophe before it.
Source: OWASP, CSV injection; ASVS 5.0, 1.2.10.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.workbook.child import INVALID_TITLE_REGEX

from reports.documents.lists import ListDocument
from reports.drawing.lists import draw_list

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0")
WIDTH_OF_SHARE = 18


def harmless(cell: str) -> str:
    """A cell's words that no program runs.

    >>> harmless("=1+1"), harmless("HF-1042")
    ("'=1+1", 'HF-1042')
    """
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell


def csv_file(document: ListDocument) -> bytes:
    """The list as text with commas: UTF-8 with a byte order mark, for spreadsheet programs."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(document.headings)
    writer.writerows([harmless(cell) for cell in row] for row in document.rows)
    return out.getvalue().encode("utf-8-sig")


def xlsx_file(document: ListDocument) -> bytes:
    """The list as a workbook: one sheet, heading row frozen, every cell as text."""
    workbook = Workbook()
    sheet = workbook.active
    sheet.title = INVALID_TITLE_REGEX.sub("", document.kind.title)[:31]
    sheet.append(document.headings)
    for row in document.rows:
        sheet.append([harmless(cell) for cell in row])
    for cells in sheet.iter_rows():
        for cell in cells:
            cell.data_type = "s" if cell.value else "n"
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for letter, column in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", document.kind.columns, strict=False):
        sheet.column_dimensions[letter].width = WIDTH_OF_SHARE * column.share
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


FORMS: dict[str, tuple[str, Callable[[ListDocument], bytes]]] = {
    "pdf": ("application/pdf", draw_list),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", xlsx_file),
    "csv": ("text/csv; charset=utf-8", csv_file),
}
"""What a list can be had as: content type, and the function that writes it."""

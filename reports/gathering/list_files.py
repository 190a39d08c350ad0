"""A list as a file: text with commas, a workbook, a PDF."""

from __future__ import annotations

from collections.abc import Callable

from catalog.pages.exports import TYPES
from catalog.spreadsheets.workbook.writing import SheetOut, csv_text, xlsx
from reports.documents.lists import ListDocument
from reports.drawing.lists import draw_list


def sheet_of(document: ListDocument) -> SheetOut:
    """The list as a sheet, every cell as text."""
    return SheetOut(document.kind.title, document.headings, document.rows)


FORMS: dict[str, tuple[str, Callable[[ListDocument, str], bytes]]] = {
    "pdf": ("application/pdf", draw_list),
    "xlsx": (TYPES["xlsx"], lambda document, _: xlsx([sheet_of(document)])),
    "csv": (TYPES["csv"], lambda document, _: csv_text(sheet_of(document))),
}
"""What a list can be had as: content type, and what writes it, on the paper named."""

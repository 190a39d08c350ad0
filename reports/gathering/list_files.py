"""A list as a file: text with commas, a workbook, a PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from catalog.pages.exports import TYPES
from catalog.spreadsheets.workbook.writing import SheetOut, as_csv
from catalog.spreadsheets.workbook.writing_xlsx import as_xlsx
from reports.documents.lists import ListDocument
from reports.drawing.lists import draw_list


def sheet_of(document: ListDocument) -> SheetOut:
    """The list as a sheet, every cell as text."""
    return SheetOut(document.kind.title, document.headings, document.rows)


FORMS: dict[str, tuple[str, Callable[[ListDocument, str], Iterator[bytes]]]] = {
    "pdf": ("application/pdf", lambda document, paper: iter([draw_list(document, paper)])),
    "xlsx": (TYPES["xlsx"], lambda document, _: as_xlsx([sheet_of(document)])),
    "csv": (TYPES["csv"], lambda document, _: as_csv(sheet_of(document))),
}
"""What a list can be had as: content type, and what writes it, on the paper named."""

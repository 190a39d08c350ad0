"""Every list that can be asked for, and a list as a file: text with commas, a workbook, a PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from catalog.pages.exports import TYPES
from catalog.spreadsheets.workbook.writing import SheetOut, as_csv
from catalog.spreadsheets.workbook.writing_xlsx import as_xlsx
from reports.documents.lists import ListDocument, ListKind
from reports.drawing.lists import draw_list
from reports.gathering import complaints, lists_from_catalog, lists_from_records
from reports.gathering.skills import recording


def by_key(kinds: Iterable[ListKind]) -> dict[str, ListKind]:
    """Each by its key, in their order. ValueError where two have one."""
    found: dict[str, ListKind] = {}
    for kind in kinds:
        if found.setdefault(kind.key, kind) is not kind:
            raise ValueError(f"there are two lists {kind.key}")
    return found


KINDS = by_key(
    kind
    for room in (lists_from_catalog, lists_from_records, complaints, recording)
    for kind in room.LISTS
)
"""In the order in which the page of lists has them."""


def sheet_of(document: ListDocument) -> SheetOut:
    """The list as a sheet, every cell as text."""
    return SheetOut(document.kind.title, document.headings, document.rows)


FORMS: dict[str, tuple[str, Callable[[ListDocument, str], Iterator[bytes]]]] = {
    "pdf": ("application/pdf", lambda document, paper: iter([draw_list(document, paper)])),
    "xlsx": (TYPES["xlsx"], lambda document, _: as_xlsx([sheet_of(document)])),
    "csv": (TYPES["csv"], lambda document, _: as_csv(sheet_of(document))),
}
"""What a list can be had as: content type, and what writes it, on the paper named."""

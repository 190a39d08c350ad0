"""What a list shows, as a spreadsheet: the same rows, columns and order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils import timezone

from catalog.forms.base import label_of
from catalog.history import field_words, in_words
from catalog.models import CountSheet, Line
from catalog.spreadsheets.workbook.writing import SheetOut, Value, csv_text, xlsx

TYPES = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
}
FORMATS = tuple(TYPES)


def download(wanted: str, sheets: Sequence[SheetOut], name: str) -> HttpResponse:
    """The sheets as a download; .csv holds the first one only."""
    data = xlsx(sheets) if wanted == "xlsx" else csv_text(sheets[0])
    dated = f"{name} {timezone.localdate():%Y-%m-%d}.{wanted}".lower()
    return file_response(data, dated, TYPES[wanted])


def file_response(data: bytes, name: str, kind: str, *, inline: bool = False) -> HttpResponse:
    """A file under a name without strange signs, never kept by a cache."""
    safe = "".join(mark if (mark.isascii() and mark.isalnum()) or mark in "-._" else "-"
                   for mark in name)  # fmt: skip
    how = "inline" if inline else "attachment"
    return HttpResponse(
        data,
        content_type=kind,
        headers={"Content-Disposition": f'{how}; filename="{safe}"', "Cache-Control": "no-store"},
    )


def from_table(table: tables.Table, title: str) -> SheetOut:
    """All rows of a list in its order, not only those of the page; numbers stay numbers."""
    columns = [column for column in table.columns if not column.column.exclude_from_export]
    headings = [_heading(column) for column in columns]
    rows = [
        [_value(row.get_cell_value(column.name), column) for column in columns]
        for row in table.rows
    ]
    return SheetOut(title, headings, rows)


def _heading(column: Any) -> str:
    unit = getattr(column.column, "unit", "")
    return f"{column.header} ({unit})" if unit else str(column.header)


def _value(value: Any, column: Any) -> Value:
    """None and the words for unknown are an empty cell."""
    if value is None or value == column.column.default:
        return None
    if isinstance(value, Decimal | int | float):
        return value
    if hasattr(value, "tzinfo"):
        return timezone.localtime(value)
    return str(value)


def from_rows(rows: QuerySet[Any]) -> SheetOut:
    """Every column of some rows; lists of other rows by their codes."""
    meta = rows.model._meta
    columns = [column for column in meta.fields if column.name != "id"]
    lists = list(meta.many_to_many)
    headings = list(map(_field_heading, columns))
    headings += [str(column.verbose_name) for column in lists]
    out = [
        [*(_plain(getattr(row, column.name)) for column in columns),
         *("; ".join(each.code for each in getattr(row, column.name).all()) for column in lists)]
        for row in rows
    ]  # fmt: skip
    return SheetOut(str(meta.verbose_name_plural).capitalize(), headings, out)


def _field_heading(column: Any) -> str:
    unit = field_words(column.name).partition(", ")[2]
    return f"{label_of(column)} ({unit})" if unit else label_of(column)


def _plain(value: Any) -> Value:
    if value is None or isinstance(value, str | int | Decimal):
        return value
    return in_words(value) if isinstance(value, list) else str(value)


LINE_COLUMNS: tuple[tuple[str, Callable[[Line], Value]], ...] = (
    ("Set no.", lambda line: line.count_sheet.instrument_set.code),
    ("Set name", lambda line: line.count_sheet.instrument_set.name),
    ("Service", lambda line: line.count_sheet.instrument_set.service),
    ("Packed in", lambda line: line.count_sheet.instrument_set.packed_in),
    ("Rev.", lambda line: line.count_sheet.revision),
    ("Section", lambda line: line.section),
    ("Qty", lambda line: line.quantity),
    ("Name", lambda line: line.instrument.name),
    ("Item number", lambda line: line.instrument.item_number),
    ("May go without", lambda line: line.may_go_without),
    ("Substitutes", lambda line: "; ".join(s.item_number for s in line.substitutes.all())),
    ("Note", lambda line: line.note),
)
"""A count sheet as a list with a set column, which the import reads again."""


def from_lines(lines: Iterable[Line], title: str = "Count sheets") -> SheetOut:
    """Lines of count sheets, one row each."""
    rows = [[value(line) for _, value in LINE_COLUMNS] for line in lines]
    return SheetOut(title, [heading for heading, _ in LINE_COLUMNS], rows)


def lines_in_force() -> QuerySet[Line]:
    """The lines of every count sheet in force, set by set; three queries."""
    return (
        Line.objects.filter(
            count_sheet__state=CountSheet.State.CURRENT,
            count_sheet__instrument_set__retired=False,
        )
        .select_related("count_sheet__instrument_set", "instrument")
        .prefetch_related("substitutes")
        .order_by("count_sheet__instrument_set__code", "order")
    )

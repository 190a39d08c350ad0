"""What a list shows, as a spreadsheet: the same rows, columns and order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from html import unescape
from inspect import signature
from itertools import chain, count
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.html import strip_tags
from django.utils.safestring import SafeString

from catalog.forms.base import label_of
from catalog.history import field_words, in_words
from catalog.models import CountSheet, Line
from catalog.pages.tables import LengthColumn
from catalog.runs import Run, beside
from catalog.spreadsheets.workbook.writing import SheetOut, Value, as_csv
from catalog.spreadsheets.workbook.writing_xlsx import as_xlsx

TYPES = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
}
FORMATS = tuple(TYPES)
AT_ONCE = 500
"""Rows that are read together."""
LONG_CELLS = {"csv": 250_000, "xlsx": 200_000}
"""A file of more cells is made beside the web server."""
WHOLE_BYTES = 64 * 1024
"""Up to so many bytes a file is sent whole."""


def download(
    request: HttpRequest, wanted: str, sheets: Sequence[SheetOut], name: str, permission: str = ""
) -> HttpResponseBase:
    """The sheets as a download; .csv holds the first one only.

    One that takes long leads to a page that says how far it is, for those with ``permission``.
    """
    if wanted == "csv":
        sheets = sheets[:1]
    if sum(one.count * len(one.headings) for one in sheets) > LONG_CELLS[wanted]:
        told = Run(f"{name} as a file", sum(one.count for one in sheets), permission)
        if begun := beside(request, told):
            return begun
    sheets = _watched(sheets, getattr(request, "progress", None))
    parts = as_xlsx(sheets) if wanted == "xlsx" else as_csv(sheets[0])
    dated = f"{name} {timezone.localdate():%Y-%m-%d}.{wanted}".lower()
    return streamed(parts, dated, TYPES[wanted])


def streamed(
    parts: Iterator[bytes], name: str, kind: str, *, inline: bool = False
) -> HttpResponseBase:
    """A file in parts, sent while it is made; a short one whole, with its length.

    The first parts are made before anything is sent: what fails in them is an error page.
    """
    begun = b""
    for part in parts:
        begun += part
        if len(begun) > WHOLE_BYTES:
            headers = _headers(name, inline=inline)
            return StreamingHttpResponse(chain([begun], parts), content_type=kind, headers=headers)
    return file_response(begun, name, kind, inline=inline)


def file_response(data: bytes, name: str, kind: str, *, inline: bool = False) -> HttpResponse:
    """A file under a name without strange signs, never kept by a cache."""
    headers = _headers(name, inline=inline)
    return HttpResponse(data, content_type=kind, headers=headers)


def _headers(name: str, *, inline: bool) -> dict[str, str]:
    safe = "".join(mark if (mark.isascii() and mark.isalnum()) or mark in "-._" else "-"
                   for mark in name)  # fmt: skip
    how = "inline" if inline else "attachment"
    return {"Content-Disposition": f'{how}; filename="{safe}"', "Cache-Control": "no-store"}


def _watched(sheets: Sequence[SheetOut], tell: Callable[[int], None] | None) -> list[SheetOut]:
    """The sheets, whose rows tell now and then how many were asked for."""
    done = count()

    def watched(rows: Iterable[Sequence[Value]]) -> Iterator[Sequence[Value]]:
        for row in rows:
            if tell and (number := next(done)) % AT_ONCE == 0:
                tell(number)
            yield row

    return [replace(one, rows=watched(one.rows)) for one in sheets] if tell else list(sheets)


def from_table(table: tables.Table, title: str) -> SheetOut:
    """All rows of a list in its order, not only those of the page; numbers stay numbers.

    What each column says of a row is found out once, not for each row anew. The rows are read
    from the database while they are written, and without their models where no cell needs them.
    """
    columns = [column for column in table.columns if not column.column.exclude_from_export]
    many = getattr(table.data, "in_all", table.paginator.count)  # The page asked already.
    rows = _rows(table, columns)
    return SheetOut(title, list(map(_heading, columns)), rows, many)


def _rows(table: tables.Table, columns: Sequence[Any]) -> Iterator[list[Value]]:
    found, cells = table.data.data, [_Cell.of(table, column) for column in columns]
    if any(cell.asks_row for cell in cells):
        for row in found.iterator(AT_ONCE):
            yield [cell.value(cell.found(row), row) for cell in cells]
        return
    paths = [cell.path for cell in cells]  # With the key: rows that look alike are two.
    plain = [cell.plain for cell in cells]
    for _, *values in found.prefetch_related(None).values_list("pk", *paths).iterator(AT_ONCE):
        yield [one if as_it_is and type(one) in AS_IT_IS else cell.value(one)
               for cell, as_it_is, one in zip(cells, plain, values, strict=True)]  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Cell:
    """What one column of a table says of a row, as django-tables2 has it: ``value_NAME`` of the
    table, else its ``render_NAME``, else the column's own; whether that ``asks_row``, not the value
    alone."""

    path: str
    empty: tuple[Any, ...]
    default: Any
    says: Callable[..., Any] | None
    takes: frozenset[str]
    choices: Mapping[Any, Any]
    asks_row: bool
    plain: bool

    @classmethod
    def of(cls, table: tables.Table, column: Any) -> _Cell:
        says = _day if type(column.column) is tables.DateColumn else column.value
        if getattr(says, "__func__", None) in OWN:
            says = None
        takes = frozenset(signature(says).parameters) if says else frozenset()
        path = str(column.accessor)
        field = column.accessor.get_field(table.data.model)
        choices = dict(getattr(field, "flatchoices", None) or {})
        asks_row = "record" in takes or bool(getattr(field, "is_relation", False))
        return cls(path, tuple(column.column.empty_values), column.column.default,
                   says, takes, choices, asks_row, not says and not choices)  # fmt: skip

    def found(self, row: Any) -> Any:
        """The value in a row; None where something on the way to it is not there."""
        for name in self.path.split("__"):
            row = getattr(row, name, None)
        return row

    def value(self, value: Any, row: Any = None) -> Value:
        """None and the words for unknown are an empty cell."""
        if self.plain and type(value) in AS_IT_IS:
            return value
        value = self.choices.get(value, value) if self.choices else value
        if value in self.empty:
            return None
        if self.says:
            known = {"value": value, "record": row}
            value = self.says(**{name: known[name] for name in self.takes})
        if isinstance(value, str):
            return None if value == self.default else _plain_text(value)
        if value is None or isinstance(value, Decimal | int | float):
            return value
        if isinstance(value, datetime):
            return timezone.localtime(value)
        return value if isinstance(value, date) else str(value)


AS_IT_IS = frozenset((str, int, Decimal, type(None)))
OWN = (tables.Column.value, tables.DateTimeColumn.value, LengthColumn.value)
"""What a column says where nothing else is said: its value as it is."""


def _day(value: datetime | date) -> date:
    return timezone.localdate(value) if isinstance(value, datetime) else value


def _plain_text(value: str) -> str:
    """What was made for a page, without its marks."""
    return unescape(strip_tags(value)) if isinstance(value, SafeString) else value


def _heading(column: Any) -> str:
    unit = getattr(column.column, "unit", "")
    return f"{column.header} ({unit})" if unit else str(column.header)


def from_rows(rows: QuerySet[Any]) -> SheetOut:
    """Every column of some rows; lists of other rows by their codes."""
    meta = rows.model._meta
    columns = [column for column in meta.fields if column.name != "id"]
    lists = list(meta.many_to_many)
    headings = list(map(_field_heading, columns))
    headings += [str(column.verbose_name) for column in lists]
    out = (
        [*(_plain(getattr(row, column.name)) for column in columns),
         *("; ".join(each.code for each in getattr(row, column.name).all()) for column in lists)]
        for row in rows
    )  # fmt: skip
    return SheetOut(str(meta.verbose_name_plural).capitalize(), headings, out)


def _field_heading(column: Any) -> str:
    unit = field_words(column.name).partition(", ")[2]
    return f"{label_of(column)} ({unit})" if unit else label_of(column)


def _plain(value: Any) -> Value:
    if value is None or isinstance(value, str | int | Decimal):
        return value
    return in_words(value) if isinstance(value, list) else str(value)


OF_THE_SET = "count_sheet__instrument_set__"
LINE_COLUMNS: Mapping[str, str] = {
    "Set no.": f"{OF_THE_SET}code",
    "Set name": f"{OF_THE_SET}name",
    "Service": f"{OF_THE_SET}service",
    "Packed in": f"{OF_THE_SET}packed_in",
    "Rev.": "count_sheet__revision",
    "Section": "section",
    "Qty": "quantity",
    "Name": "instrument__name",
    "Item number": "instrument__item_number",
    "May go without": "may_go_without",
    "Substitutes": "pk",
    "Note": "note",
}
"""A count sheet as a list with a set column, which the import reads again."""


def from_lines(lines: QuerySet[Line], title: str = "Count sheets") -> SheetOut:
    """Lines of count sheets, one row each, read while they are written."""
    return SheetOut(title, list(LINE_COLUMNS), _line_rows(lines), lines.count())


def _line_rows(lines: QuerySet[Line]) -> Iterator[list[Value]]:
    instead: dict[int, list[str]] = {}
    pairs = Line.substitutes.through.objects.filter(line__in=lines.order_by().values("pk"))
    named = pairs.order_by("instrument__item_number")
    for line, number in named.values_list("line_id", "instrument__item_number"):
        instead.setdefault(line, []).append(number)
    for *row, key, note in lines.values_list(*LINE_COLUMNS.values()).iterator(AT_ONCE):
        yield [*row, "; ".join(instead.get(key, ())), note]


def lines_in_force() -> QuerySet[Line]:
    """The lines of every count sheet in force, set by set."""
    return Line.objects.filter(
        count_sheet__state=CountSheet.State.CURRENT,
        count_sheet__instrument_set__retired=False,
    ).order_by("count_sheet__instrument_set__code", "order")

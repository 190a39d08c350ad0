"""Lists: as pages, sorted and parted, and as files."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import django_tables2 as tables
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2 import RequestConfig
from django_tables2.data import TableData
from django_tables2.utils import OrderByTuple

from assembly.judging.scene_svg import svg
from catalog.pages.tables import NUMBER
from catalog.reading import read_page
from catalog.runs import Run, beside
from reports.documents.lists import Found, ListKind, Row
from reports.gathering.list_files import KINDS
from reports.gathering.lists_from_catalog import found_rows, list_document, takes_long
from reports.pages.answers import as_file, check_form, person
from reports.pages.workstation import sheet_paper

ROWS_A_PAGE = 50
LONG_ROWS = {"pdf": 2_000, "xlsx": 5_000, "csv": 5_000}
"""The file of more rows is made beside the web server."""
WHOLE = {"td": {"class": "nowrap"}}


def _kind(request: HttpRequest, key: str) -> ListKind:
    found = KINDS.get(key)
    if found is None:
        raise Http404(f"There is no list {key}.")
    if not request.user.has_perm(found.permission):
        raise PermissionDenied
    return found


class Figure(str):
    """Words that begin with a number and are sorted by it: "9 %" comes before "10 %"."""

    @property
    def _number(self) -> float:
        found = re.match(r"-?\d+(?:\.\d+)?", self.replace(",", ""))
        return float(found[0]) if found else -math.inf

    def __lt__(self, other: str) -> bool:
        return self._number < Figure(other)._number

    def __gt__(self, other: str) -> bool:
        return self._number > Figure(other)._number


class Parted(TableData):
    """Rows that the database sorts and parts into pages."""

    data: Found

    def __len__(self) -> int:
        return len(self.data)

    def __getitem__(self, part: slice) -> list[dict[str, str]]:
        return [_cells(row) for row in self.data[part]]

    def order_by(self, aliases: OrderByTuple) -> None:
        for alias in reversed(aliases):
            self.data = self.data.ordered(int(alias.bare[1:]), alias.is_descending)


def _cells(row: Sequence[str]) -> dict[str, str]:
    return {f"c{number}": cell for number, cell in enumerate(row)}


def list_table(kind: ListKind, rows: Found | Sequence[Row]) -> tables.Table:
    """The list as a table of django-tables2: sorted by its headings, parted into pages."""
    link = kind.link
    columns = {}
    for number, column in enumerate(kind.columns):
        columns[f"c{number}"] = tables.Column(
            verbose_name=column.title,
            empty_values=(),
            orderable=bool(rows.orders[number]) if isinstance(rows, Found) else True,
            attrs=NUMBER if column.align == "right" else WHOLE if column.whole else {},
        )
    if link:
        name, place = link

        def render_link(value: str) -> str:
            return format_html('<a href="{}">{}</a>', reverse(name, args=[value]), value)

        columns[f"c{place}"].render = render_link
    meta = type("Meta", (), {"empty_text": kind.nothing})
    made = type("ListTable", (tables.Table,), {**columns, "Meta": meta})
    if isinstance(rows, Found):
        return made(Parted(rows))
    sides = [Figure if column.align == "right" else str for column in kind.columns]
    return made([_cells([sides[n](cell) for n, cell in enumerate(row)]) for row in rows])


def table_of(request: HttpRequest, kind: ListKind, rows: Found | Sequence[Row]) -> tables.Table:
    table = list_table(kind, rows)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    return table


def _begun(request: HttpRequest, kind: ListKind) -> HttpResponse | None:
    """To a run that finds the rows and leads back here, where no page may wait so long."""
    if takes_long(kind):
        told = Run(kind.title, 0, kind.permission, then=request.get_full_path())
        return beside(request, told, reverse("list_file", args=[kind.key, "csv"]))
    return None


@read_page("catalog.view_instrumentset")
def list_page(request: HttpRequest, key: str) -> HttpResponse:
    """One list, with itself as PDF, workbook and text."""
    kind = _kind(request, key)
    if begun := _begun(request, kind):
        return begun
    rows = found_rows(kind)
    # The plots are made of numbers and of words that are escaped where they are drawn.
    plots = [SafeString(svg(one)) for one in kind.plots()]
    context = {"kind": kind, "table": table_of(request, kind, rows), "rows": rows, "plots": plots}
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    return render(request, "reports/_list.html" if part else "reports/list.html", context)


@read_page("catalog.view_instrumentset")
def list_file(request: HttpRequest, key: str, form: str) -> HttpResponseBase:
    """One list as a file: pdf, xlsx or csv."""
    check_form(form)
    kind = _kind(request, key)
    if begun := _begun(request, kind):
        return begun
    rows = found_rows(kind)
    if isinstance(rows, Found) and len(rows) > LONG_ROWS[form]:
        told = Run(kind.title, 0, kind.permission)
        if begun := beside(request, told, paper=sheet_paper(request)):
            return begun
    return as_file(request, list_document(kind, person(request), rows), key, form, "list", key)

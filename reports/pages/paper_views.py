"""The page of all papers, long print runs, lists."""

from __future__ import annotations

import math
import re
import uuid
from collections.abc import Sequence

import django_tables2 as tables
from django import forms
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2 import RequestConfig
from django_tables2.data import TableData
from django_tables2.utils import OrderByTuple

from assembly.judging.scene_svg import svg
from assembly.ledger import Refused
from assembly.presses import Sent, verb_page
from catalog import runs
from catalog.forms.fields import WordsField
from catalog.models import InstrumentSet
from catalog.pages.tables import NUMBER
from catalog.reading import read_page
from catalog.runs import Run, beside
from reports.documents.lists import Found, ListKind, Row
from reports.gathering.list_files import KINDS
from reports.gathering.lists_from_catalog import found_rows, list_document, takes_long
from reports.gathering.stocks import label_stocks
from reports.models import LabelStock
from reports.pages.answers import as_file, check_form, person
from reports.pages.sheet_runs import chosen_sets
from reports.pages.teaching.posters import posters_standing
from reports.pages.workstation import SHEET_PAPERS, next_free, sheet_paper, stock_shown

ROWS_A_PAGE = 50
LONGEST = 50_000
LONG_ROWS = {"pdf": 2_000, "xlsx": 5_000, "csv": 5_000}
"""The file of more rows is made beside the web server."""
WHOLE = {"td": {"class": "nowrap"}}


@read_page("catalog.view_instrumentset")
def papers(request: HttpRequest) -> HttpResponse:
    """Everything that can be printed, by what it is for."""
    services = InstrumentSet.objects.exclude(service="").values_list("service", flat=True)
    on = stock_shown(request)
    return render(
        request,
        "reports/papers.html",
        {
            "lists": [one for one in KINDS.values() if request.user.has_perm(one.permission)],
            "posters": posters_standing(),
            "stocks": [(one.key, one.name) for one in label_stocks().values()],
            "unused": LabelStock.objects.filter(retired=True),
            "on": on,
            "places": range(1, on.grid.labels + 1) if on.grid else (),
            "start": next_free(request, on),
            "paper": sheet_paper(request),
            "papers": SHEET_PAPERS,
            "services": sorted(set(services)),
        },
    )


# --- print runs ----------------------------------------------------------------------------


class PrintRun(Sent):
    """Which count sheets are printed, and how."""

    codes, service = WordsField(LONGEST), WordsField()
    photos = forms.BooleanField(required=False)


@verb_page("catalog.print_count_sheet", "papers")
def print_count_sheets(request: HttpRequest) -> HttpResponse:
    """Begin a run of count sheets and go to its page."""
    asked = {**PrintRun.read(request.POST), "paper": sheet_paper(request), "by": person(request)}
    total = len(chosen_sets(asked["codes"], asked["service"])[0])
    if not total:
        raise Refused("No set was found by these codes. Nothing was printed.")
    told = Run(f"Count sheets of {total} sets", total, "catalog.print_count_sheet",
                    "count-sheets.pdf", "application/pdf")  # fmt: skip
    return redirect("run", run=runs.start(told, asked, "print_run", uuid.uuid4()))


def _run_of(request: HttpRequest, run: uuid.UUID) -> Run:
    """The run, for those who may see it; 404 where there is none."""
    state = runs.state(run)
    if state is None:
        raise Http404("There is no such run, or it was more than a day ago.")
    if not request.user.has_perm(state.permission):
        raise PermissionDenied
    return state


@read_page("catalog.view_instrument")
def run_page(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """How a run stands; asked again each second while it goes on."""
    state = _run_of(request, run)
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    if state.state == "done" and state.then:
        return HttpResponse(headers={"HX-Redirect": state.then}) if part else redirect(state.then)
    template = "reports/_run.html" if part else "reports/run.html"
    return render(request, template, {"run": run, "state": state})


@verb_page("catalog.view_instrument", "run")
def stop_run(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """Stop a run before its next document, or soon."""
    _run_of(request, run)
    runs.stop(run)
    return redirect("run", run=run)


@read_page("catalog.view_instrument")
def run_file(request: HttpRequest, run: uuid.UUID) -> FileResponse:
    """The file of a finished run."""
    state, path = _run_of(request, run), runs.file(run)
    if path is None:
        raise Http404("This run has no file.")
    return FileResponse(
        path.open("rb"),
        content_type=state.kind,
        filename=state.name,
        as_attachment=state.kind != "application/pdf",
        headers={"Cache-Control": "no-store"},
    )


# --- lists ---------------------------------------------------------------------------------


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

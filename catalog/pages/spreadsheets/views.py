"""The pages of spreadsheets: upload, columns, check report, applying, taking back."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import PurePath
from typing import Any

from django.contrib import messages
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.functional import cached_property
from django.views.generic import View
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin, SingleTableView

from catalog.actions import actor_for
from catalog.forms.fields import row_number
from catalog.models import Change, SpreadsheetBatch, SpreadsheetRow
from catalog.pages.exports import TYPES, file_response
from catalog.pages.records import with_logins
from catalog.pages.spreadsheets.cell_fields import Cells
from catalog.pages.spreadsheets.forms import SheetForm, UploadForm
from catalog.pages.spreadsheets.questions import answers_in, asked
from catalog.pages.spreadsheets.tables import (
    BatchTable,
    ChangeTable,
    RowFilter,
    RowTable,
    ways_to_look,
)
from catalog.reading import read_page
from catalog.spreadsheets.batches import jobs
from catalog.spreadsheets.batches.choosing import (
    leave_cell_out,
    leave_row_out,
    take_number,
    with_known,
)
from catalog.spreadsheets.batches.correcting import NO_CELL
from catalog.spreadsheets.batches.downloads import TooLargeToMarkError, written
from catalog.spreadsheets.batches.verbs import remember
from catalog.spreadsheets.checking.answers import AnswerError, answered
from catalog.spreadsheets.checking.proposing import NAMED_OF
from catalog.spreadsheets.columns.choices import (
    NOTHING_SAID,
    Choices,
    SheetChoice,
    choices_from_json,
)
from catalog.spreadsheets.columns.describing import COLUMNS_OF, blank_workbook
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS

PERMISSION = "catalog.import_spreadsheets"
State, Job = SpreadsheetBatch.State, SpreadsheetBatch.Job
STILL_READ = (State.UPLOADED, State.CHECKED, State.STOPPED)
"""While it may be said how it is to be read."""
UNREAD = ("no_unit", "missing_column", "no_header", "hidden_sheet", "table_beside", NO_CELL)
"""Notes on what was not read, which a person has to see; it is said on the page of columns."""


class SpreadsheetPage(PermissionRequiredMixin, View):
    """What every page of spreadsheets has: the permission, and the batch as it really is."""

    permission_required = PERMISSION
    raise_exception = True

    def batch(self) -> SpreadsheetBatch:
        """The batch of the address, marked as stopped when its job is gone."""
        batches = SpreadsheetBatch.objects.defer("content")
        return jobs.settle(get_object_or_404(batches, pk=self.kwargs["pk"]))

    def by(self) -> str:
        """Who does it, as the records name people."""
        return actor_for(self.request.user).name


def begin(batch: SpreadsheetBatch, job: str) -> None:
    """Start a job unless one is running; then the page shows that one."""
    try:
        jobs.start(batch, job)
    except BlockingIOError:
        batch.refresh_from_db()


class SpreadsheetList(SpreadsheetPage, SingleTableView):
    """All spreadsheets, the last first, and the field to upload another."""

    model = SpreadsheetBatch
    table_class = BatchTable
    template_name = "catalog/spreadsheets/list.html"
    paginate_by = 25

    def get_queryset(self) -> QuerySet[SpreadsheetBatch]:
        return SpreadsheetBatch.objects.defer("content", "proposals", "mapping")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**{"form": UploadForm(), **kwargs})

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        form = UploadForm(request.POST, request.FILES)
        if not form.is_valid():
            self.object_list = self.get_queryset()
            return self.render_to_response(self.get_context_data(form=form), status=422)
        file = form.cleaned_data["file"]
        data = file.read()
        batch = SpreadsheetBatch.objects.create(
            file_name=PurePath(file.name).name[-200:],
            sha256=hashlib.sha256(data).hexdigest(),
            content=data,
            kind=form.cleaned_data["kind"],
            by=self.by(),
        )
        begin(batch, Job.LOOK)
        return redirect("catalog:spreadsheet", pk=batch.pk)


class Batch(SpreadsheetPage, SingleTableMixin, FilterView):
    """One spreadsheet: what is being done with it, or the report on its rows."""

    model = SpreadsheetRow
    table_class = RowTable
    filterset_class = RowFilter
    paginate_by = 25
    strict = False

    def get_queryset(self) -> QuerySet[SpreadsheetRow]:
        return with_known(self.shown.rows.all())

    def get_table_kwargs(self) -> dict[str, Any]:
        checked = self.shown.state == State.CHECKED
        one_by_one = checked and self.shown.kind == SpreadsheetBatch.Kind.INSTRUMENTS
        return {
            "cells": self.cells if checked else None,
            "exclude": () if one_by_one else ("chosen",),
        }

    def get_filterset_kwargs(self, filterset_class: Any) -> dict[str, Any]:
        """Where nothing is asked for, what needs a person is shown, else what comes next."""
        given = super().get_filterset_kwargs(filterset_class)
        if not any(self.request.GET.get(name) for name in ("q", "verdict")):
            given["data"] = {"verdict": next(iter(self.ways), "all")}
        return given

    @cached_property
    def cells(self) -> Cells:
        """The cells of the spreadsheet as fields."""
        return Cells(self.shown)

    @cached_property
    def ways(self) -> dict[str, tuple[str, int]]:
        """The ways to look at the rows that show any, each with its words and how many."""
        return ways_to_look(self.shown)

    @property
    def asks_for_the_list(self) -> bool:
        """Whether htmx asks, which puts the list alone into the page."""
        headers = self.request.headers
        return bool(headers.get("HX-Request")) and not headers.get("HX-Boosted")

    def get_template_names(self) -> list[str]:
        alone = self.asks_for_the_list
        return ["catalog/_list.html" if alone else "catalog/spreadsheets/batch.html"]

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.shown = self.batch()
        if self.shown.state == State.UPLOADED and not self.shown.job:
            return redirect("catalog:spreadsheet_columns", pk=self.shown.pk)
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Leave a row or one of its cells out, or take it in again; or give its number to what it
        is the same as."""
        self.shown = self.batch()
        if self.shown.state == State.CHECKED:
            cell, other = request.POST.get("cell", ""), request.POST.get("number")
            number = cell.partition(" ")[0] or other or request.POST.get("row")
            row = get_object_or_404(self.shown.rows, pk=row_number(number))
            if cell:
                leave_cell_out(row, cell.partition(" ")[2])
            elif other:
                take_number(row)
            else:
                leave_row_out(row)
        if self.asks_for_the_list:
            return super().get(request, *args, **kwargs)
        return redirect(f"{request.get_full_path()}#list")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        batch, notes = self.shown, self.shown.report.get("notes", [])
        checked = batch.state == State.CHECKED
        way = kwargs["filter"].form["verdict"].value() or ""
        of_no_row = self.cells.of_no_row() if checked else []
        earlier = SpreadsheetBatch.objects.filter(sha256=batch.sha256, pk__lt=batch.pk)
        return super().get_context_data(
            batch=batch,
            progress=jobs.progress_of(batch),
            same_file=earlier.defer("content").first(),
            ways=self.ways,
            way=way,
            of_no_row=of_no_row,
            correctable=checked and bool(of_no_row or way in ("", "ask", "gaps")),
            corrections=self.cells.corrections,
            unread=[
                each
                for each in (*notes, *batch.report.get("problems", []))
                if each["code"] in UNREAD
            ],
            notes=[note for note in notes if note["code"] not in UNREAD],
            **kwargs,
        )


class Progress(SpreadsheetPage):
    """The progress bar alone; it asks again each second and gives way to the page at the end."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        context = {"batch": batch, "progress": jobs.progress_of(batch)}
        answer = render(request, "catalog/spreadsheets/_progress.html", context)
        if not batch.job:
            answer["HX-Refresh"] = "true"
        return answer


class Columns(SpreadsheetPage):
    """Which column is what, and in which unit: proposed, corrected, remembered."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if batch.job or batch.state in (State.APPLIED, State.REVERTED, State.REFUSED):
            return redirect("catalog:spreadsheet", pk=batch.pk)
        if batch.letters_asked:
            return redirect("catalog:spreadsheet_letters", pk=batch.pk)
        return self._page(batch, self._forms(batch))

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if batch.job or batch.state not in STILL_READ:
            return redirect("catalog:spreadsheet", pk=batch.pk)
        forms = self._forms(batch)
        if not forms:  # It was stopped before anybody looked at it: its page says what to do.
            return redirect("catalog:spreadsheet", pk=batch.pk)
        choices = {form.proposal["title"]: form.read(request.POST) for form in forms}
        if "again" in request.POST:
            return self._look_again(batch, choices)
        if "press" in request.POST or "option" in request.POST:
            return self._answered(batch, forms)
        batch.mapping = {title: choice.as_json() for title, choice in choices.items()}
        if all(choice.left_out for choice in choices.values()):
            forms[0].errors.append("Every sheet is left out. Take at least one in.")
        if any(form.errors for form in forms):
            return self._page(batch, forms, status=422)
        remember(batch, self.by())
        unjudged = any(form.unjudged for form in forms)
        if unjudged:
            said = "Nothing is checked yet: the unit of the column that you chose is judged by its "
            messages.info(request, f"{said}numbers. Confirm it below, then press again.")
        begin(batch, Job.LOOK if unjudged else Job.CHECK)
        return redirect("catalog:spreadsheet", pk=batch.pk)

    def _answered(self, batch: SpreadsheetBatch, forms: list[SheetForm]) -> HttpResponse:
        """Take the answers, with what was corrected below them, and propose the rest anew."""
        stored = choices_from_json(batch.mapping)
        said = {form.proposal["title"]: form.said(stored) for form in forms}
        titles = list(said)
        try:
            answers = list(answers_in(self.request.POST))
            kind = next((text for name, text in answers if name == "kind"), batch.kind)
            batch.kind = kind if kind in SpreadsheetBatch.Kind.values else batch.kind
            answers = [(name, text) for name, text in answers if name != "kind"]
            choices = answered(answers, titles, batch.kind or "instruments", said)
        except AnswerError as error:
            forms[0].errors.append(str(error))
            return self._page(batch, forms, status=422)
        batch.mapping = {title: choice.as_json() for title, choice in choices.items()}
        begin(batch, Job.LOOK)
        return redirect("catalog:spreadsheet", pk=batch.pk)

    def _look_again(self, batch: SpreadsheetBatch, choices: Choices) -> HttpResponse:
        """Propose the columns anew below the heading rows that the person names."""
        batch.mapping = {
            title: SheetChoice(choice.header_row).as_json() for title, choice in choices.items()
        }
        kind = self.request.POST.get("kind", batch.kind)
        batch.kind = kind if kind in SpreadsheetBatch.Kind.values else batch.kind
        begin(batch, Job.LOOK)
        return redirect("catalog:spreadsheet", pk=batch.pk)

    def _forms(self, batch: SpreadsheetBatch) -> list[SheetForm]:
        columns = NAMED_OF[batch.kind or "instruments"]
        return [
            SheetForm(number, proposal, columns, _choice(batch, proposal))
            for number, proposal in enumerate(batch.proposals, start=1)
        ]

    def _page(
        self, batch: SpreadsheetBatch, forms: list[SheetForm], status: int = 200
    ) -> HttpResponse:
        columns = NAMED_OF[batch.kind or "instruments"]
        context = {
            "batch": batch,
            "forms": forms,
            "asked": asked(batch.report.get("questions", ()), columns),
            "columns": columns,
            "units": [*LENGTH_UNITS, *WEIGHT_UNITS],
            "kinds": SpreadsheetBatch.Kind.choices,
        }
        return render(self.request, "catalog/spreadsheets/columns.html", context, status=status)


def _choice(batch: SpreadsheetBatch, proposal: Mapping[str, Any]) -> SheetChoice:
    """What a person said of a sheet, and for the rest what is proposed."""
    said = choices_from_json(batch.mapping).get(proposal["title"], NOTHING_SAID)
    columns = {column["letter"]: column["key"] for column in proposal["columns"]}
    return replace(
        said,
        header_row=proposal["header_row"] if said.header_row is None else said.header_row,
        columns={**columns, **said.columns},
        left_out=proposal["left_out"] if said.left_out is None else said.left_out,
    )


class Changes(SpreadsheetPage, SingleTableView):
    """Every change that a batch made, with before and after."""

    model = Change
    table_class = ChangeTable
    template_name = "catalog/spreadsheets/changes.html"
    paginate_by = 50

    def get_queryset(self) -> QuerySet[Change]:
        label = self.batch().label
        of_it = Q(batch=label) | Q(kind="spreadsheet", object_key=label)
        return with_logins(Change.objects.filter(of_it))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(batch=self.batch(), **kwargs)


@read_page(PERMISSION)
def column_help(request: HttpRequest) -> HttpResponse:
    """Every declared column with its help and the headings it goes by."""
    kinds = [(key, title, COLUMNS_OF[key]) for key, title in SpreadsheetBatch.Kind.choices]
    return render(request, "catalog/spreadsheets/help.html", {"kinds": kinds})


@read_page(PERMISSION)
def blank(request: HttpRequest, kind: str) -> HttpResponse:
    """A workbook with the headings, ready to be filled in."""
    if kind not in COLUMNS_OF:
        raise Http404
    return file_response(blank_workbook(kind), f"packbench-{kind}.xlsx", TYPES["xlsx"])


@read_page(PERMISSION)
def marked(request: HttpRequest, pk: int) -> HttpResponse:
    """The person's own workbook with its cells coloured and the reasons as comments."""
    return _download(request, pk, "marked")


@read_page(PERMISSION)
def refused(request: HttpRequest, pk: int) -> HttpResponse:
    """The rows that did not go in, ready to be corrected and imported again."""
    return _download(request, pk, "refused")


def _download(request: HttpRequest, pk: int, name: str) -> HttpResponse:
    batch = get_object_or_404(SpreadsheetBatch, pk=pk)
    try:
        data = written(batch, name)
    except TooLargeToMarkError as problem:
        return render(request, "catalog/spreadsheets/too_large.html",
                      {"batch": batch, "problem": problem}, status=413)  # fmt: skip
    return file_response(data, f"spreadsheet-{pk}-{name}.xlsx", TYPES["xlsx"])

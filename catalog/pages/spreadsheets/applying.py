"""The pages on which a checked spreadsheet is applied, and taken back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from catalog.forms.fields import row_number
from catalog.models import SpreadsheetBatch
from catalog.pages.spreadsheets.views import SpreadsheetPage, begin
from catalog.spreadsheets.batches.choosing import gone_from, retired_by
from catalog.spreadsheets.batches.writing import MOST_NAMED, catalog_changes, in_the_way

State, Job = SpreadsheetBatch.State, SpreadsheetBatch.Job
GROUPS = (
    ("new", "All new rows"),
    ("changed", "All changed rows"),
    ("doubtful", "All doubtful rows that may go in (with what is unknown left empty)"),
)


AT_ONCE = ("new", "changed")
"""The groups that go in with one press on the report."""


class Apply(SpreadsheetPage):
    """Which groups go in; refused when the catalog changed since the check."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if batch.job or batch.state != State.CHECKED:
            return redirect("catalog:spreadsheet", pk=batch.pk)
        rows = batch.rows.filter(goes_in=True, left_out=False)
        counts = dict(rows.values_list("verdict").annotate(Count("pk")).order_by())
        these = [row_number(each) for each in request.GET.getlist("row")]
        context = {
            "batch": batch,
            "groups": [(key, title, counts.get(key, 0)) for key, title in GROUPS],
            "these": rows.filter(pk__in=these),
            "changes": catalog_changes(batch)[:MOST_NAMED],
            "left": batch.rows.filter(goes_in=False).count(),
            "gone": gone_from(batch),
        }
        return render(request, "catalog/spreadsheets/apply.html", context)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Apply what is chosen, or with one press on the report what is new and changed. Back to
        the choice where rows are ticked one by one, nothing is, or the catalog changed."""
        batch = self.batch()
        if not batch.job and batch.state == State.CHECKED:
            rows = [row_number(each) for each in request.POST.getlist("row")]
            whole = "whole" in request.POST
            if "choose" in request.POST or (whole and rows) or catalog_changes(batch):
                return self._to_choose(batch, rows)
            groups = AT_ONCE if whole else request.POST.getlist("group")
            batch.selection = {
                "groups": [key for key, _ in GROUPS if key in groups],
                "rows": [number for number in rows if number],
                "retire": retired_by(
                    batch, request.POST.getlist("retire"), all_="retire-all" in request.POST
                ),
                "spares": "spares" in request.POST,
            }
            batch.applied_by, batch.applied_account = self.by(), request.user.pk
            if batch.kind != "sets" and not any(batch.selection.values()):
                messages.info(request, "Nothing is ticked, so nothing was applied.")
                return self._to_choose(batch, rows)
            begin(batch, Job.APPLY)
        return redirect("catalog:spreadsheet", pk=batch.pk)

    def _to_choose(self, batch: SpreadsheetBatch, rows: Sequence[int]) -> HttpResponse:
        page = reverse("catalog:spreadsheet_apply", args=[batch.pk])
        return redirect(f"{page}?{urlencode([('row', row) for row in rows if row])}")


class TakeBack(SpreadsheetPage):
    """Take a whole batch back, unless later work would be lost: then that is named."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if batch.job or batch.state != State.APPLIED:
            return redirect("catalog:spreadsheet", pk=batch.pk)
        context = {"batch": batch, "in_the_way": in_the_way(batch)}
        return render(request, "catalog/spreadsheets/take_back.html", context)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        batch = self.batch()
        if not batch.job and batch.state == State.APPLIED:
            batch.applied_by, batch.applied_account = self.by(), request.user.pk
            begin(batch, Job.REVERT)
        return redirect("catalog:spreadsheet", pk=batch.pk)

"""Lists of the spreadsheet pages, and their filter."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import Count, Q, QuerySet
from django.template.loader import render_to_string

from catalog.models import CycleOption, SpreadsheetBatch, SpreadsheetRow
from catalog.pages import records
from catalog.pages.filters import SEARCH_BOX, WordsFilter
from catalog.pages.spreadsheets.cell_fields import MOST_FIELDS, Cells
from catalog.spreadsheets.batches.choosing import NOT_BY_THE_CELL, cells_of_new, is_new

WHOLE = {"td": {"class": "whole"}}


class BatchTable(tables.Table):
    at = tables.DateTimeColumn()
    file_name = tables.Column(linkify=("catalog:spreadsheet", {"pk": tables.A("pk")}))
    counts = tables.Column(verbose_name="Rows", orderable=False)

    class Meta:
        model = SpreadsheetBatch
        fields = ("file_name", "kind", "state", "by", "at", "counts")
        empty_text = "No spreadsheet was uploaded yet."

    def render_counts(self, value: dict[str, int]) -> str:
        return ", ".join(f"{count} {verdict}" for verdict, count in value.items() if count)


WAYS: Mapping[str, tuple[str, Q]] = {
    "ask": ("Need you", Q(goes_in=False)),
    "gaps": ("With gaps", Q(goes_in=True, verdict="doubtful")),
    "changed": ("Changed", Q(verdict="changed")),
    "new": ("New", Q(verdict="new")),
    "unchanged": ("Unchanged", Q(verdict="unchanged")),
    "all": ("All", Q()),
    "same": ("Nearly alike", Q(same_as__isnull=False)),
    "left": ("Left out", Q(left_out=True)),
}
"""The ways to look at the rows of a report, what needs a person first: words, and which rows."""


def ways_to_look(batch: SpreadsheetBatch) -> dict[str, tuple[str, int]]:
    """Those of :data:`WAYS` that show any row: words, and how many rows."""
    counts = batch.rows.aggregate(**{key: Count("pk", filter=q) for key, (_, q) in WAYS.items()})
    return {key: (words, counts[key]) for key, (words, _) in WAYS.items() if counts[key]}


class RowTable(tables.Table):
    """The rows of one check; the boxes to take single rows are left out once it is applied.

    ``cells``: those in question become fields.
    """

    chosen = tables.Column(empty_values=(), orderable=False, verbose_name="Take")
    where = tables.Column(empty_values=(), order_by=("pk",), verbose_name="Row", attrs=WHOLE)
    key = tables.Column(verbose_name="Number", attrs=WHOLE)
    what = tables.Column(empty_values=(), orderable=False, verbose_name="What was found")

    class Meta:
        model = SpreadsheetRow
        fields = ("chosen", "where", "key", "name", "verdict", "what")
        attrs = {"class": "stacks"}
        empty_text = "No row is like this."

    def __init__(self, *args: Any, cells: Cells | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._cells = cells

    def render_chosen(self, record: SpreadsheetRow) -> str:
        return render_to_string("catalog/spreadsheets/report/_choose.html", {"row": record})

    def render_where(self, record: SpreadsheetRow) -> str:
        return f"{record.sheet}, row {record.row}"

    def render_verdict(self, record: SpreadsheetRow) -> str:
        return render_to_string("catalog/spreadsheets/report/_verdict.html", {"row": record})

    def render_what(self, record: SpreadsheetRow) -> str:
        fields = self._cells.of_row(record)[0] if self._cells and record.problems else []
        new = bool(self._cells) and is_new(record)
        cells = cells_of_new(record) if new else {}
        changes = [
            {
                **each,
                "old": _words_of(each["old"], each["field"]),
                "new": _words_of(each["new"], each["field"]),
                "may_be_kept": new or each["field"] not in NOT_BY_THE_CELL,
            }
            for each in record.changes
        ]
        context = {
            "row": record,
            "changes": changes,
            "cells": [(name, _words_of(value, name)) for name, value in cells.items()],
            "fields": fields[:MOST_FIELDS],
            "correctable": bool(self._cells),
        }
        return render_to_string("catalog/spreadsheets/report/_what.html", context)


def _words_of(value: Any, field: str = "") -> Any:
    """A value of a field as people read it: cycles in words, sizes without zeros at their end."""
    if value and isinstance(value, str) and field.endswith(("_mm", "_g")):
        return f"{Decimal(value).normalize():f}"
    if isinstance(value, list):
        return [_words_of(each) for each in value]
    if isinstance(value, dict):
        figures = ("temperature_c", "temperature_to_c", "exposure_min", "exposure_max",
                   "drying_min", "aeration_min")  # fmt: skip
        known = {name: value[name] for name in figures if value.get(name) is not None}
        return str(CycleOption(**{**value, **{k: Decimal(str(v)) for k, v in known.items()}}))
    return value


class RowFilter(WordsFilter):
    columns = ("key", "name")
    q = django_filters.CharFilter(method="search", label="Find", widget=SEARCH_BOX)
    verdict = django_filters.ChoiceFilter(
        method="look",
        choices=[(key, key) for key in (*WAYS, "refused", "doubtful")],
        widget=forms.HiddenInput,
    )

    class Meta:
        model = SpreadsheetRow
        fields = ["q", "verdict"]

    def look(
        self, rows: QuerySet[SpreadsheetRow], _name: str, way: str
    ) -> QuerySet[SpreadsheetRow]:
        rows = rows.filter(WAYS[way][1] if way in WAYS else Q(verdict=way))
        return rows.order_by("-verdict", "pk") if way == "ask" else rows  # Refused ones first.


class ChangeTable(records.ChangeTable):
    """What one batch changed: all of it for the same reason."""

    class Meta(records.ChangeTable.Meta):
        exclude = ("reason",)
        empty_text = "Nothing was changed."

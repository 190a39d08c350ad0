"""Lists of the spreadsheet pages, and their filter."""

from __future__ import annotations

import django_filters
import django_tables2 as tables
from django.db.models import QuerySet
from django.template.loader import render_to_string

from catalog.models import SpreadsheetBatch, SpreadsheetRow
from catalog.pages import records
from catalog.pages.filters import SEARCH_BOX, with_words
from catalog.spreadsheets.cells.report import Verdict

MOMENT = "Y-m-d H:i"
WHOLE = {"td": {"class": "whole"}}


class BatchTable(tables.Table):
    at = tables.DateTimeColumn(format=MOMENT)
    file_name = tables.Column(linkify=("catalog:spreadsheet", {"pk": tables.A("pk")}))
    counts = tables.Column(verbose_name="Rows", orderable=False)

    class Meta:
        model = SpreadsheetBatch
        fields = ("file_name", "kind", "state", "by", "at", "counts")
        empty_text = "No spreadsheet was uploaded yet."

    def render_counts(self, value: dict[str, int]) -> str:
        return ", ".join(f"{count} {verdict}" for verdict, count in value.items() if count)


class RowTable(tables.Table):
    """The rows of one check; the boxes to take single rows are left out once it is applied."""

    chosen = tables.Column(empty_values=(), orderable=False, verbose_name="Take")
    where = tables.Column(empty_values=(), order_by=("pk",), verbose_name="Where", attrs=WHOLE)
    key = tables.Column(verbose_name="Number", attrs=WHOLE)
    what = tables.Column(empty_values=(), orderable=False, verbose_name="What was found")

    class Meta:
        model = SpreadsheetRow
        fields = ("chosen", "where", "key", "name", "verdict", "what")
        empty_text = "No row is like this."

    def render_chosen(self, record: SpreadsheetRow) -> str:
        return render_to_string("catalog/spreadsheets/_choose.html", {"row": record})

    def render_where(self, record: SpreadsheetRow) -> str:
        return f"{record.sheet}, row {record.row}"

    def render_verdict(self, record: SpreadsheetRow) -> str:
        return render_to_string("catalog/spreadsheets/_verdict.html", {"row": record})

    def render_what(self, record: SpreadsheetRow) -> str:
        return render_to_string("catalog/spreadsheets/_what.html", {"row": record})


class RowFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(method="search", label="Find", widget=SEARCH_BOX)
    verdict = django_filters.ChoiceFilter(
        choices=[(str(each), each.title()) for each in Verdict], empty_label="any"
    )
    shows = django_filters.ChoiceFilter(
        method="narrow",
        label="With",
        empty_label="anything",
        choices=[
            ("problem", "something to say"),
            ("same", "a near-duplicate name"),
            ("left", "rows left out"),
        ],
    )

    class Meta:
        model = SpreadsheetRow
        fields = ["q", "verdict", "shows"]

    def search(
        self, rows: QuerySet[SpreadsheetRow], _name: str, words: str
    ) -> QuerySet[SpreadsheetRow]:
        return with_words(rows, words, "key", "name")

    def narrow(
        self, rows: QuerySet[SpreadsheetRow], _name: str, what: str
    ) -> QuerySet[SpreadsheetRow]:
        if what == "problem":
            return rows.exclude(problems=[])
        return rows.exclude(same_as=None) if what == "same" else rows.filter(left_out=True)


class ChangeTable(records.ChangeTable):
    """What one batch changed: all of it for the same reason."""

    class Meta(records.ChangeTable.Meta):
        exclude = ("reason",)
        empty_text = "Nothing was changed."

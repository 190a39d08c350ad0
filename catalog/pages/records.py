"""Lists of what was changed and of what is missing."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.contrib.auth.models import User
from django.db.models import OuterRef, QuerySet, Subquery
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2.data import TableQuerysetData

from catalog.history import differences
from catalog.models import Change, Instrument
from catalog.pages.filters import LACKING, MISSING, WordsFilter, values_of
from catalog.pages.lists import ListPage
from catalog.pages.tables import NUMBER
from catalog.where_used import missing_something, missing_words

DATE = forms.DateInput(attrs={"type": "date"})


class ChangeFilter(WordsFilter):
    """By what was changed, by whom, and when."""

    columns = ("object_key", "object_name", "batch", "reason")

    q = django_filters.CharFilter(
        method="search", label="Find", widget=forms.TextInput(attrs={"type": "search",
        "placeholder": "number, name, batch or reason"}),
    )  # fmt: skip
    actor = django_filters.ChoiceFilter(
        label="Who", choices=lambda: values_of(Change, "actor"), empty_label="anybody"
    )
    kind = django_filters.ChoiceFilter(
        label="Kind", choices=lambda: values_of(Change, "kind"), empty_label="any"
    )
    verb = django_filters.ChoiceFilter(
        label="What was done", choices=Change.Verb.choices, empty_label="anything"
    )
    since = django_filters.DateFilter(
        field_name="at", lookup_expr="date__gte", label="From", widget=DATE
    )
    until = django_filters.DateFilter(
        field_name="at", lookup_expr="date__lte", label="To", widget=DATE
    )

    class Meta:
        model = Change
        fields = ["q", "actor", "kind", "verb", "since", "until"]


def with_logins(changes: QuerySet[Change]) -> QuerySet[Change]:
    """Each with the name that its account signs in with, as the table says it: ``login``."""
    login = User.objects.filter(pk=OuterRef("account")).values("username")
    return changes.annotate(login=Subquery(login))


class ChangeTable(tables.Table):
    """Changes :func:`with_logins`."""

    at = tables.DateTimeColumn(verbose_name="When", attrs={"td": {"class": "moment"}})
    actor = tables.Column(verbose_name="Who")
    verb = tables.Column(verbose_name="Did")
    kind = tables.Column(verbose_name="Kind")
    object_name = tables.Column(verbose_name="What")
    details = tables.Column(
        verbose_name="Before and after", empty_values=(), orderable=False, accessor="pk"
    )
    reason = tables.Column(verbose_name="Why, or in which batch", empty_values=())

    class Meta:
        model = Change
        fields = ("at", "actor", "verb", "kind", "object_name", "details", "reason")
        empty_text = "Nothing on record fits. Take a filter away."

    def render_actor(self, record: Any) -> SafeString:
        return format_html('{} <span class="small">{}</span>', record.actor, record.login or "")

    def value_actor(self, record: Any) -> str:
        return f"{record.actor} ({record.login})" if record.login else record.actor

    def render_details(self, record: Change) -> str:
        return render_to_string("catalog/_differences.html", {"change": record})

    def value_details(self, record: Change) -> str:
        return "; ".join(
            f"{each.field}: {each.before} → {each.after}" if each.before
            else f"{each.field}: {each.after}"
            for each in differences(record)
        )  # fmt: skip

    def render_reason(self, record: Change) -> str:
        return ", ".join(part for part in (record.reason, record.batch) if part)


MOST_COUNTED = 10_000
"""Changes that a page tells and leafs through; of more it says so, and a filter leads further."""


class Newest(TableQuerysetData):
    """Rows of a table that grows for good: so many are counted, not all that there are."""

    @cached_property
    def counted(self) -> int:
        return int(self.data.values("pk")[: MOST_COUNTED + 1].count())

    @property
    def in_all(self) -> int:
        """How many rows a file has."""
        return int(self.data.count())

    @property
    def more(self) -> bool:
        """Whether there are more than are counted."""
        return self.counted > MOST_COUNTED

    def __len__(self) -> int:
        return min(self.counted, MOST_COUNTED)


class Records(ListPage):
    """Every change, newest first."""

    permission_required = "catalog.view_change"
    model = Change
    table_class = ChangeTable
    filterset_class = ChangeFilter
    title = "Records"
    lead = "Every change, by a page, a command or a spreadsheet. Beside each name: its account."

    def get_queryset(self) -> QuerySet[Change]:
        return with_logins(Change.objects.all())

    def get_table_data(self) -> Newest:
        return Newest(super().get_table_data())


class MissingFilter(django_filters.FilterSet):
    what = django_filters.ChoiceFilter(
        label="Missing",
        method="lacks",
        empty_label="anything",
        choices=[*MISSING, ("review", "the IFU review")],
    )

    class Meta:
        model = Instrument
        fields = ["what"]

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        if what == "review":
            return rows.filter(ifu_review_on__lte=timezone.localdate())
        return rows.filter(LACKING[what])


class MissingTable(tables.Table):
    sets_blocked = tables.Column(verbose_name="Sets it blocks", attrs=NUMBER)
    item_number = tables.Column(linkify=("instrument", {"item_number": tables.A("item_number")}))
    name = tables.Column()
    missing = tables.Column(empty_values=(), orderable=False, verbose_name="Missing")
    enter = tables.Column(
        empty_values=(), orderable=False, verbose_name="To do", exclude_from_export=True
    )

    class Meta:
        model = Instrument
        fields = ("sets_blocked", "item_number", "name", "group", "missing", "enter")
        empty_text = "Nothing is missing. Every instrument has its sizes, its weight and a cycle."

    def render_missing(self, record: Instrument) -> str:
        return ", ".join(missing_words(record, timezone.localdate()))

    def render_enter(self, record: Instrument) -> SafeString:
        if not self.request.user.has_perm("catalog.change_instrument"):
            return SafeString("")
        page = reverse("catalog:edit_instrument", args=[record.item_number])
        return format_html('<a href="{}">Enter it</a>', page)


class Missing(ListPage):
    """What nobody has measured or read yet, ranked by how many sets wait for it."""

    permission_required = "catalog.view_instrument"
    model = Instrument
    table_class = MissingTable
    filterset_class = MissingFilter
    title = "What is missing"
    lead = (
        "A package is never recommended on a guess, and a set with an unknown weight never "
        "passes. What blocks most sets comes first."
    )

    def get_queryset(self) -> QuerySet[Instrument]:
        return missing_something(timezone.localdate())

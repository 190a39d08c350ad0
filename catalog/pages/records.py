"""Lists of what was changed and of what is missing."""

from __future__ import annotations

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from catalog.history import differences, is_long
from catalog.models import Change, Instrument
from catalog.pages.lists import ListPage
from catalog.where_used import NO_SIZE, NO_WEIGHT, missing_something, missing_words

DATE = forms.DateInput(attrs={"type": "date"})


class ChangeFilter(django_filters.FilterSet):
    """By what was changed, by whom, and when."""

    q = django_filters.CharFilter(
        method="search", label="Find", widget=forms.TextInput(attrs={"type": "search",
        "placeholder": "number, name, batch or reason"}),
    )  # fmt: skip
    actor = django_filters.ChoiceFilter(
        label="Who", choices=lambda: _values("actor"), empty_label="anybody"
    )
    kind = django_filters.ChoiceFilter(
        label="Kind", choices=lambda: _values("kind"), empty_label="any"
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

    def search(self, rows: QuerySet[Change], _name: str, words: str) -> QuerySet[Change]:
        for word in words.split():
            rows = rows.filter(
                Q(object_key__icontains=word)
                | Q(object_name__icontains=word)
                | Q(batch__icontains=word)
                | Q(reason__icontains=word)
            )
        return rows


def _values(name: str) -> list[tuple[str, str]]:
    values = Change.objects.order_by(name).values_list(name, flat=True).distinct()
    return [(value, value) for value in values]


class ChangeTable(tables.Table):
    at = tables.DateTimeColumn(
        verbose_name="When", format="Y-m-d H:i", attrs={"td": {"class": "moment"}}
    )
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

    def render_details(self, record: Change) -> SafeString:
        found = differences(record)
        rows = format_html_join(
            "", "<dt>{}</dt><dd>{}{}{}</dd>",
            ((each.field, each.before, " → " if each.before and each.after else "", each.after)
             for each in found),
        )  # fmt: skip
        if not is_long(found):
            return format_html('<dl class="changes">{}</dl>', rows)
        words = f"{len(found)} field{'' if len(found) == 1 else 's'}"
        return format_html(
            '<details><summary>{}</summary><dl class="changes">{}</dl></details>', words, rows
        )

    def value_details(self, record: Change) -> str:
        return "; ".join(
            f"{each.field}: {each.before} → {each.after}" if each.before
            else f"{each.field}: {each.after}"
            for each in differences(record)
        )  # fmt: skip

    def render_reason(self, record: Change) -> str:
        return ", ".join(part for part in (record.reason, record.batch) if part)


class Records(ListPage):
    """Every change, newest first."""

    permission_required = "catalog.view_change"
    model = Change
    table_class = ChangeTable
    filterset_class = ChangeFilter
    title = "Records"
    lead = "Every change of the catalog: by a page, a command or a spreadsheet. None is altered."


class MissingFilter(django_filters.FilterSet):
    what = django_filters.ChoiceFilter(
        label="Missing",
        method="lacks",
        empty_label="anything",
        choices=[("size", "a size"), ("weight", "the weight"), ("cycle", "a cycle"),
                 ("review", "the IFU review")],
    )  # fmt: skip

    class Meta:
        model = Instrument
        fields = ["what"]

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        wanted = {
            "size": NO_SIZE,
            "weight": NO_WEIGHT,
            "cycle": Q(has_cycle=False),
            "review": Q(ifu_review_on__lte=timezone.localdate()),
        }
        return rows.filter(wanted[what])


class MissingTable(tables.Table):
    sets_blocked = tables.Column(
        verbose_name="Sets it blocks",
        attrs={"th": {"class": "number"}, "td": {"class": "number"}},
    )
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
        return format_html('<a href="{}">Enter it</a>', self._edit_url(record))

    def _edit_url(self, record: Instrument) -> str:
        return reverse("catalog:edit_instrument", args=[record.item_number])


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

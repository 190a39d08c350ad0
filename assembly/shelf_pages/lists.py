"""What lies where, as lists: every package at a place, oldest first, and every place."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import Count, Min, Q, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from assembly.models import Package, ShelfPlace, ShelfState
from assembly.packages import shelf
from assembly.packages.standing import standing_of, with_standing
from assembly.persons import KEEP_SHELF
from catalog.pages.filters import WordsFilter
from catalog.pages.lists import ListPage
from catalog.pages.tables import NUMBER

SPOILED = "spoiled"
FIND = forms.TextInput(attrs={"type": "search", "placeholder": "code, number or name"})


class PackageFilter(WordsFilter):
    """By words, by place, and by whether it may still be used."""

    columns = ("code", "number", "what")

    q = django_filters.CharFilter(method="search", label="Find", widget=FIND)
    place = django_filters.ModelChoiceFilter(
        field_name="shelved__place", queryset=ShelfPlace.objects.all(), to_field_name="code",
        label="Place", empty_label="any",
    )  # fmt: skip
    kind = django_filters.ChoiceFilter(choices=Package.Kind.choices, empty_label="any")
    stands = django_filters.ChoiceFilter(
        choices=[(SPOILED, "not to be used")], method="how", label="State", empty_label="any"
    )

    class Meta:
        model = Package
        fields = ["q", "place", "kind", "stands"]

    def how(self, rows: QuerySet[Package], _name: str, _value: str) -> QuerySet[Package]:
        return rows.filter(pk__in=shelf.not_to_be_used().values("pk"))


class PackageTable(tables.Table):
    code = tables.Column(linkify=("package", {"code": tables.A("code")}), verbose_name="Package")
    what = tables.Column(verbose_name="What")
    number = tables.Column(verbose_name="Number")
    place = tables.Column(accessor="shelved__place__code", verbose_name="Place")
    packed_at = tables.DateColumn(verbose_name="Packed")
    use_by = tables.DateColumn(verbose_name="Use by", default="")
    state = tables.TemplateColumn(
        "{% load requests %}{% package_state record %}", orderable=False, verbose_name="State"
    )

    class Meta:
        model = Package
        fields = ("code", "what", "number", "place", "packed_at", "use_by", "state")
        empty_text = "Nothing lies there."

    def value_state(self, record: Package) -> str:
        return standing_of(record).words


class ShelfList(ListPage):
    """A list under the words of the shelf; ``here`` is its own."""

    permission_required = KEEP_SHELF
    template_name = "assembly/shelf/list.html"
    under = ""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(under=self.under, **kwargs)


class PackageList(ShelfList):
    """Every package at a place, the oldest first."""

    model = Package
    table_class = PackageTable
    filterset_class = PackageFilter
    title = "Packages on the shelf"
    under = "packages"

    def get_queryset(self) -> QuerySet[Package]:
        found = with_standing(shelf.on_the_shelf()).order_by("packed_at", "pk")
        return found.defer("checks", "closed", "contents", "serves", "seal_findings")


class PlaceFilter(WordsFilter):
    columns = ("code", "name")
    q = django_filters.CharFilter(method="search", label="Find", widget=FIND)

    class Meta:
        model = ShelfPlace
        fields = ["q"]


class PlaceTable(tables.Table):
    code = tables.Column(verbose_name="Place")
    name = tables.Column()
    lying = tables.Column(verbose_name="Packages", attrs=NUMBER)
    oldest = tables.DateColumn(verbose_name="Oldest packed", default="")
    spoiled = tables.Column(verbose_name="Not to be used", attrs=NUMBER)
    label = tables.Column(
        empty_values=(), orderable=False, verbose_name="Label", exclude_from_export=True
    )

    class Meta:
        model = ShelfPlace
        fields = ("code", "lying", "spoiled", "oldest", "name", "label")
        empty_text = "No place is on record. Coordinators add them at the foot of the shelf's page."

    def render_code(self, record: ShelfPlace) -> SafeString:
        return _at(record, record.code)

    def render_spoiled(self, record: ShelfPlace, value: int) -> SafeString | str:
        return _at(record, str(value), stands=SPOILED) if value else "0"

    def render_label(self, record: ShelfPlace) -> SafeString:
        page = f"{reverse('place_labels_preview')}?{urlencode({'place': record.code})}"
        return format_html('<a href="{}" aria-label="Label of {}">Label</a>', page, record.code)


def _at(place: ShelfPlace, words: str, **more: str) -> SafeString:
    """A link to what lies at a place."""
    page = f"{reverse('shelf_packages')}?{urlencode({'place': place.code, **more})}"
    return format_html('<a href="{}">{}</a>', page, words)


class PlaceList(ShelfList):
    """Every place in use: how many packages lie there, the oldest, and what is not to be used."""

    model = ShelfPlace
    table_class = PlaceTable
    filterset_class = PlaceFilter
    title = "Places"
    under = "places"

    def get_queryset(self) -> QuerySet[ShelfPlace]:
        here = Q(packages__state=ShelfState.ON_SHELF, packages__package__void_at=None)
        bad = Q(packages__package__in=shelf.not_to_be_used().order_by().values("pk"))
        places = ShelfPlace.objects.filter(retired=False).order_by("code")
        return places.annotate(
            lying=Count("packages", filter=here),
            oldest=Min("packages__package__packed_at", filter=here),
            spoiled=Count("packages", filter=here & bad),
        )  # fmt: skip

"""Search and filters over the catalog's lists."""

from __future__ import annotations

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from catalog.models import Instrument, InstrumentSet
from catalog.search import find_instruments, find_sets

SEARCH_BOX = forms.TextInput(
    attrs={
        "type": "search",
        "autocomplete": "off",
        "autocapitalize": "off",
        "spellcheck": "false",
        "placeholder": "number, name or nickname",
    }
)
MISSING = [("size", "a size"), ("weight", "the weight"), ("cycle", "a cycle")]


class InstrumentFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(method="search", label="Find", widget=SEARCH_BOX)
    group = django_filters.ChoiceFilter(choices=lambda: _values("group"), empty_label="any")
    tip = django_filters.ChoiceFilter(choices=Instrument.Tip.choices[:-1], empty_label="any")
    missing = django_filters.ChoiceFilter(
        choices=MISSING, method="lacks", label="Missing", empty_label="anything or nothing"
    )

    class Meta:
        model = Instrument
        fields = ["q", "group", "tip", "missing"]

    def search(self, rows: QuerySet[Instrument], _name: str, words: str) -> QuerySet[Instrument]:
        return find_instruments(words, rows)

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        return rows.filter(
            {
                "size": Q(length_mm=None) | Q(width_mm=None) | Q(height_mm=None),
                "weight": Q(weight_g=None),
                "cycle": Q(cycles=None),
            }[what]
        )


class SetFilter(django_filters.FilterSet):
    q = django_filters.CharFilter(method="search", label="Find", widget=SEARCH_BOX)

    class Meta:
        model = InstrumentSet
        fields = ["q"]

    def search(
        self, rows: QuerySet[InstrumentSet], _name: str, words: str
    ) -> QuerySet[InstrumentSet]:
        return find_sets(words, rows)


def _values(name: str) -> list[tuple[str, str]]:
    values = Instrument.objects.exclude(**{name: ""}).values_list(name, flat=True)
    return [(value, value) for value in values.distinct().order_by(name)]

"""Search and filters over the catalog's lists."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from catalog.lookup.narrowing import narrowed
from catalog.lookup.offered import Kind
from catalog.models import Instrument, InstrumentSet

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


class SearchFilter(django_filters.FilterSet):
    """A list with the look-up's field. ``said`` is what to say above what was found."""

    kind: Kind
    said = ""
    q = django_filters.CharFilter(method="search", label="Find", widget=SEARCH_BOX, strip=False)

    def search(self, rows: QuerySet[Any], _name: str, words: str) -> QuerySet[Any]:
        found = narrowed(words, rows, self.kind)
        self.said = found.said
        self.form.data = self.form.data.copy()
        self.form.data["q"] = found.words  # without the reader's mark, and never a patient's code
        return found.rows


class InstrumentFilter(SearchFilter):
    kind = Kind.INSTRUMENTS
    group = django_filters.ChoiceFilter(choices=lambda: _values("group"), empty_label="any")
    tip = django_filters.ChoiceFilter(choices=Instrument.Tip.choices[:-1], empty_label="any")
    missing = django_filters.ChoiceFilter(
        choices=MISSING, method="lacks", label="Missing", empty_label="anything or nothing"
    )

    class Meta:
        model = Instrument
        fields = ["q", "group", "tip", "missing"]

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        return rows.filter(
            {
                "size": Q(length_mm=None) | Q(width_mm=None) | Q(height_mm=None),
                "weight": Q(weight_g=None),
                "cycle": Q(cycles=None),
            }[what]
        )


class SetFilter(SearchFilter):
    kind = Kind.SETS

    class Meta:
        model = InstrumentSet
        fields = ["q"]


def _values(name: str) -> list[tuple[str, str]]:
    values = Instrument.objects.exclude(**{name: ""}).values_list(name, flat=True)
    return [(value, value) for value in values.distinct().order_by(name)]

"""Search and filters over the catalog's lists."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import or_
from typing import Any, ClassVar

import django_filters
from django import forms
from django.db.models import Model, Q, QuerySet

from catalog.lookup.finding import CUT
from catalog.lookup.narrowing import narrowed
from catalog.lookup.offered import Kind
from catalog.lookup.values import values_in
from catalog.lookup.words.query import MOST_WORDS
from catalog.models import Instrument, InstrumentSet
from catalog.where_used import NO_SIZE, NO_WEIGHT

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
LACKING = {"size": NO_SIZE, "weight": NO_WEIGHT, "cycle": Q(cycles=None)}
"""What can be missing of an instrument -> the rows that lack it."""


def values_of(model: type[Model], name: str) -> list[tuple[str, str]]:
    """Every value that a column with an index has, as choices; the empty one is none."""
    return [(value, value) for value in values_in(model, name)]


class WordsFilter(django_filters.FilterSet):
    """A list with a field for words: the rows that have each word, of the first dozen, in one of
    the ``columns``. ``said`` is what to say above what was found."""

    columns: ClassVar[tuple[str, ...]] = ()
    said = ""

    def search(self, rows: QuerySet[Any], _name: str, words: str) -> QuerySet[Any]:
        return rows.filter(self.having(words.split()))

    def having(self, words: Sequence[str]) -> Q:
        self.said = CUT if len(words) > MOST_WORDS else ""
        found = Q()
        for word in words[:MOST_WORDS]:
            found &= reduce(or_, (Q(**{f"{name}__icontains": word}) for name in self.columns))
        return found


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
    group = django_filters.ChoiceFilter(
        choices=lambda: values_of(Instrument, "group"), empty_label="any"
    )
    tip = django_filters.ChoiceFilter(choices=Instrument.Tip.choices[:-1], empty_label="any")
    missing = django_filters.ChoiceFilter(
        choices=MISSING, method="lacks", label="Missing", empty_label="anything or nothing"
    )

    class Meta:
        model = Instrument
        fields = ["q", "group", "tip", "missing"]

    def lacks(self, rows: QuerySet[Instrument], _name: str, what: str) -> QuerySet[Instrument]:
        return rows.filter(LACKING[what])


class SetFilter(SearchFilter):
    kind = Kind.SETS

    class Meta:
        model = InstrumentSet
        fields = ["q"]

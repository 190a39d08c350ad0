"""Which sets have most water to dry, as a list."""

from __future__ import annotations

from typing import Any

import django_filters
import django_tables2 as tables
from django import forms
from django.db.models import QuerySet
from django.utils.functional import cached_property

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.planning.wet_risk import taken_words, with_figures
from assembly.rules.findings import metric
from catalog.models import InstrumentSet
from catalog.pages.filters import WordsFilter
from catalog.pages.lists import ListPage
from catalog.pages.tables import NUMBER, UNKNOWN

FIND = forms.TextInput(attrs={"type": "search", "placeholder": "code or name"})


class WetFilter(WordsFilter):
    """By words, and by whether something of it is not on record."""

    columns = ("code", "name")

    q = django_filters.CharFilter(method="search", label="Find", widget=FIND)
    open = django_filters.ChoiceFilter(
        choices=[("yes", "something"), ("no", "nothing")], method="lacks", label="Not on record",
        empty_label="something or nothing",
    )  # fmt: skip

    class Meta:
        model = InstrumentSet
        fields = ["q", "open"]

    def lacks(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        return rows.filter(not_known__gt=0) if value == "yes" else rows.filter(not_known=0)


class AmountColumn(tables.Column):
    """A weight of a set, in kg or g; in a spreadsheet the number of grams."""

    def __init__(self, name: str, *, of_all: bool = True) -> None:
        super().__init__(verbose_name=name, attrs=NUMBER, default=UNKNOWN)
        self.of_all = of_all

    def render(self, value: float, record: Any) -> str:
        least = "at least " if self.of_all and record.not_known else ""
        return f"{least}{metric(round(value), 'g')}"

    def value(self, value: float) -> float:
        return round(value, 1)


class WetTable(tables.Table):
    code = tables.Column(linkify=("wet_set", {"code": tables.A("code")}), verbose_name="Set")
    name = tables.Column(linkify=("wet_set", {"code": tables.A("code")}))
    water_g = AmountColumn("Water")
    mass_g = AmountColumn("Metal")
    per_cm2 = tables.Column(verbose_name="Metal a cm²", attrs=NUMBER, default=UNKNOWN)
    heaviest_g = AmountColumn("Heaviest piece", of_all=False)
    not_known = tables.Column(verbose_name="Not on record", attrs=NUMBER)
    wet = tables.Column(verbose_name="Named wet", attrs=NUMBER)

    class Meta:
        model = InstrumentSet
        fields = ("code", "name", "water_g", "mass_g", "per_cm2", "heaviest_g", "not_known", "wet")
        empty_text = "No set matches."

    def render_per_cm2(self, value: float) -> str:
        return f"{value:.1f} g"

    def value_per_cm2(self, value: float | None) -> float | None:
        return None if value is None else round(value, 2)


class WetList(ListPage):
    """Every set in use by the water that condenses on it, most first."""

    permission_required = "catalog.view_instrumentset"
    model = InstrumentSet
    table_class = WetTable
    filterset_class = WetFilter
    template_name = "assembly/planning/wet_list.html"
    title = "Wet-pack risk"

    @cached_property
    def lead(self) -> str:  # type: ignore[override]
        return f"Advice, never a limit. {taken_words(policy_in_force())}"

    def get_queryset(self) -> QuerySet[InstrumentSet]:
        return with_figures()

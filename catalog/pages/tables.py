"""The catalog's lists."""

from __future__ import annotations

from decimal import Decimal

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from catalog.models import Instrument, InstrumentSet
from catalog.units import show_length, show_weight

NUMBER = {"th": {"class": "number"}, "td": {"class": "number"}}
"""A column of figures."""
UNKNOWN = SafeString('<span class="unknown">not known</span>')


class LengthColumn(tables.Column):
    """A length in mm, or the words for unknown."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **{"default": UNKNOWN, "attrs": NUMBER, **kwargs})

    unit = "mm"

    def render(self, value: Decimal) -> str:
        return show_length(value, "mm")

    def value(self, value: Decimal) -> Decimal:
        """In a spreadsheet a number; the unit is in the heading."""
        return value


class WeightColumn(LengthColumn):
    """A weight in g, or the words for unknown."""

    unit = "g"

    def render(self, value: Decimal) -> str:
        return show_weight(value, "g")


class InstrumentTable(tables.Table):
    item_number = tables.Column(linkify=("instrument", {"item_number": tables.A("item_number")}))
    name = tables.Column(linkify=("instrument", {"item_number": tables.A("item_number")}))
    also_known_as = tables.Column(default="")
    length_mm = LengthColumn(verbose_name="Length")
    width_mm = LengthColumn(verbose_name="Width")
    weight_g = WeightColumn(verbose_name="Weight")
    protector = tables.Column(empty_values=(None,), default=UNKNOWN, verbose_name="Protector")

    class Meta:
        model = Instrument
        fields = (
            "item_number",
            "name",
            "also_known_as",
            "group",
            "length_mm",
            "width_mm",
            "weight_g",
            "protector",
        )
        empty_text = "No instrument matches. Try a nickname, or fewer words."

    def render_protector(self, value: str) -> str:
        return value or "none"


class SetTable(tables.Table):
    code = tables.Column(linkify=("set", {"code": tables.A("code")}))
    name = tables.Column(linkify=("set", {"code": tables.A("code")}))
    revision = tables.Column(empty_values=(), verbose_name="Count sheet", orderable=False)
    pieces = tables.Column(attrs=NUMBER)

    class Meta:
        model = InstrumentSet
        fields = ("code", "name", "service", "packed_in", "revision", "pieces")
        empty_text = "No set matches."

    def render_revision(self, record: InstrumentSet) -> str:
        revision = getattr(record, "current_revision", None)
        if revision is None:
            return format_html('<span class="unknown">{}</span>', "none approved")
        return f"revision {revision}"

    def value_revision(self, record: InstrumentSet) -> int | None:
        return getattr(record, "current_revision", None)

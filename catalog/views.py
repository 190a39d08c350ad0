"""The catalog's lists: found, filtered, paged."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.views.generic import TemplateView
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog.filters import InstrumentFilter, SetFilter
from catalog.models import (
    Basket,
    Container,
    CountSheet,
    Instrument,
    InstrumentSet,
    Pouch,
    Programme,
    Protector,
    Roll,
    Wrap,
)
from catalog.tables import InstrumentTable, SetTable


class ListPage(PermissionRequiredMixin, SingleTableMixin, FilterView):
    """A list that answers htmx with the table alone and everybody else with the page."""

    raise_exception = True
    template_name = "catalog/list.html"
    paginate_by = 25
    title = ""
    strict = False

    def get_template_names(self) -> list[str]:
        if self.request.htmx and not self.request.htmx.boosted:
            return ["catalog/_list.html"]
        return [self.template_name]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(title=self.title, **kwargs)


class InstrumentList(ListPage):
    permission_required = "catalog.view_instrument"
    model = Instrument
    table_class = InstrumentTable
    filterset_class = InstrumentFilter
    title = "Instruments"

    def get_queryset(self) -> QuerySet[Instrument]:
        return Instrument.objects.filter(retired=False)


class SetList(ListPage):
    permission_required = "catalog.view_instrumentset"
    model = InstrumentSet
    table_class = SetTable
    filterset_class = SetFilter
    title = "Sets"

    def get_queryset(self) -> QuerySet[InstrumentSet]:
        current = CountSheet.objects.filter(
            instrument_set=OuterRef("pk"), state=CountSheet.State.CURRENT
        )
        return InstrumentSet.objects.filter(retired=False).annotate(
            current_revision=Subquery(current.values("revision")[:1]),
            pieces=Subquery(current.annotate(n=Sum("lines__quantity")).values("n")[:1]),
        )


class SupplyList(PermissionRequiredMixin, TemplateView):
    """All supplies by kind, with the programmes the department runs."""

    permission_required = "catalog.view_pouch"
    raise_exception = True
    template_name = "catalog/supplies.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            pouches=Pouch.objects.prefetch_related("doubles_in"),
            rolls=Roll.objects.all(),
            wraps=Wrap.objects.all(),
            containers=Container.objects.prefetch_related("programmes"),
            baskets=Basket.objects.all(),
            protectors=Protector.objects.all(),
            programmes=Programme.objects.all(),
            **kwargs,
        )

"""The catalog's lists: found, filtered, paged."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import PermissionRequiredMixin
from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django_filters.views import FilterView
from django_tables2 import SingleTableMixin

from catalog.models import CountSheet, Instrument, InstrumentSet
from catalog.pages.exports import FORMATS, download, from_table
from catalog.pages.filters import InstrumentFilter, SetFilter
from catalog.pages.tables import InstrumentTable, SetTable


class ListPage(PermissionRequiredMixin, SingleTableMixin, FilterView):
    """A list that answers htmx with the table alone and everybody else with the page."""

    raise_exception = True
    template_name = "catalog/list.html"
    paginate_by = 25
    title = ""
    lead = ""
    strict = False

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """The page, or with ``?as=xlsx`` or ``?as=csv`` the same list as a spreadsheet."""
        if (wanted := request.GET.get("as", "")) in FORMATS:
            found = self.get_filterset(self.get_filterset_class())
            self.object_list = found.qs
            sheet = from_table(self.get_table(), self.title)
            return download(request, wanted, [sheet], self.title, self.permission_required)
        return super().get(request, *args, **kwargs)

    def paginate_queryset(self, queryset: Any, page_size: int) -> tuple[None, None, Any, bool]:
        """Not here: the table is parted into pages, and counts its rows once."""
        return None, None, queryset, False

    def get_template_names(self) -> list[str]:
        if self.request.htmx and not self.request.htmx.boosted:
            return ["catalog/_list.html"]
        return [self.template_name]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        others = self.request.GET.copy()
        others.pop("page", None)
        if "q" in others and "q" in self.filterset.form.fields:
            others["q"] = self.filterset.form["q"].value()
            kwargs["here"] = f"{self.request.path}?{others.urlencode()}"
            self.request.GET = others
        return super().get_context_data(
            title=self.title, lead=self.lead, others=others.urlencode(), **kwargs
        )


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

"""Papers as PDF downloads."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from catalog.models import Instrument, InstrumentSet
from reports.documents import PrintError
from reports.drawing.count_sheets import Paper, draw_count_sheet
from reports.drawing.labels import draw_label
from reports.drawing.stocks import stock
from reports.from_catalog import NothingToPrint, count_sheet_document, label_document

LABEL_STOCK = "label-100x50"


def person(request: HttpRequest) -> str:
    """The signed-in person as papers name them."""
    return request.user.get_full_name() or request.user.get_username()  # type: ignore[union-attr]


@permission_required("catalog.print_label", raise_exception=True)
def label(request: HttpRequest, item_number: str) -> HttpResponse:
    """The label of one instrument; without a recommendation back to its page, with the reason."""
    instrument = get_object_or_404(
        Instrument.objects.prefetch_related("cycles"), item_number__iexact=item_number
    )
    try:
        pdf = draw_label(label_document(instrument, person(request)), stock(LABEL_STOCK))
    except (NothingToPrint, PrintError) as problem:
        messages.error(request, str(problem))
        return redirect(reverse("instrument", args=[instrument.item_number]))
    return _pdf(pdf, f"label-{instrument.item_number}.pdf")


@permission_required("catalog.print_count_sheet", raise_exception=True)
def count_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The count sheet of one set, on A4 or ``?paper=letter``."""
    instrument_set = get_object_or_404(
        InstrumentSet.objects.select_related("container", "basket", "wrap"), code__iexact=code
    )
    paper: Paper = "letter" if request.GET.get("paper") == "letter" else "A4"
    try:
        pdf = draw_count_sheet(count_sheet_document(instrument_set, person(request)), paper)
    except (NothingToPrint, PrintError) as problem:
        messages.error(request, str(problem))
        return redirect(reverse("set", args=[instrument_set.code]))
    return _pdf(pdf, f"count-sheet-{instrument_set.code}.pdf")


def _pdf(data: bytes, name: str) -> HttpResponse:
    safe = "".join(mark if mark.isalnum() or mark in "-._" else "-" for mark in name)
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{safe}"', "Cache-Control": "no-store"},
    )

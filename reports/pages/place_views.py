"""Labels of shelf places: of one, or of all that are in use, on the workstation's stock."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from assembly.models import ShelfPlace
from assembly.presses import refusals
from catalog.reading import read_page
from reports.documents.papers import PrintError
from reports.drawing.labels.labels import draw_labels
from reports.gathering.labels.shelves import place_labels as gathered_labels
from reports.pages.answers import (
    Choice,
    paper_file,
    pdf_response,
    preview,
    unread,
)
from reports.pages.workstation import first_free, moved_on, stock_for, stock_shown


def _chosen(request: HttpRequest) -> list[ShelfPlace]:
    """The place that ``?place=`` names, else all in use."""
    found = ShelfPlace.objects.filter(retired=False)
    code = request.GET.get("place", "")
    return list(found.filter(code__folded=code) if code else found)


@paper_file("catalog.print_label")
@refusals(unread)
def place_labels(request: HttpRequest) -> HttpResponse:
    """The labels, from the first free position on."""
    on, places = stock_for(request), _chosen(request)
    if not places:
        return unread(request, "No such place is on record.")
    start = first_free(request, on)
    try:
        pdf = draw_labels(gathered_labels(places), on, start_at=start, title=_title(places))
    except PrintError as problem:
        return unread(request, problem)
    return moved_on(request, pdf_response(pdf, "places.pdf"), on, start, len(places))


@read_page("catalog.print_label")
@refusals("place_labels_preview")
def place_labels_preview(request: HttpRequest) -> HttpResponse:
    """What the labels say, and the stock they are printed on."""
    places, on = _chosen(request), stock_shown(request)
    every = ShelfPlace.objects.filter(retired=False)
    which = [("", "all"), *((one.code, str(one)) for one in every)]
    choices = [Choice("place", "Place", which, request.GET.get("place", ""))]
    return preview(
        request, "Labels", _title(places), reverse("place_labels"), reverse("shelf_places"),
        choices, lambda: [str(one) for one in places], on=on,
    )  # fmt: skip


def _title(places: Iterable[ShelfPlace]) -> str:
    found = list(places)
    return f"place {found[0]}" if len(found) == 1 else f"{len(found)} places"

"""The papers of a recorded package: its label, and a set's count sheet as built.

They are shown inside the package's page, so they may be framed by our own pages.
"""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.clickjacking import xframe_options_sameorigin

from assembly.models import Package
from reports.documents import PrintError
from reports.drawing.count_sheets import Paper, draw_count_sheet
from reports.drawing.stocks import stock
from reports.from_builds import built_sheet_document, draw_package_label
from reports.photos import Photos

LABEL_STOCK = "label-100x50"


@xframe_options_sameorigin
@permission_required("catalog.print_label", raise_exception=True)
def package_label(request: HttpRequest, code: str) -> HttpResponse:
    """The label of a package, void or in force."""
    package = get_object_or_404(Package, code__iexact=code)
    try:
        pdf = draw_package_label(package, stock(LABEL_STOCK))
    except PrintError as problem:
        return HttpResponse(str(problem), status=422, content_type="text/plain")
    return _pdf(pdf, f"label-{package.code}.pdf")


@xframe_options_sameorigin
@permission_required("catalog.print_count_sheet", raise_exception=True)
def package_count_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The count sheet of a signed set, on A4 or ``?paper=letter``, and ``?photos=yes``."""
    package = get_object_or_404(
        Package.objects.select_related("build__count_sheet", "build__instrument_set"),
        code__iexact=code,
        kind=Package.Kind.SET,
    )
    paper: Paper = "letter" if request.GET.get("paper") == "letter" else "A4"
    photos = Photos() if request.GET.get("photos") == "yes" else None
    try:
        pdf = draw_count_sheet(built_sheet_document(package, photos=photos), paper)
    except PrintError as problem:
        return HttpResponse(str(problem), status=422, content_type="text/plain")
    return _pdf(pdf, f"count-sheet-{package.code}.pdf")


def _pdf(data: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"},
    )

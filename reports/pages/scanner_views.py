"""The scanner test: scan two known codes, read what the scanner does with them."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe

from assembly.rules.findings import Status
from reports.drawing.barcodes import data_matrix, gs1_data_matrix, svg
from reports.pages.scanner_test import GS1_ELEMENTS, PLAIN, judge

MODULE_MM = 0.5


@permission_required("catalog.view_instrument", raise_exception=True)
def scanner(request: HttpRequest) -> HttpResponse:
    """The codes and a field; after a scan, by POST so that no code stands in an address,
    the verdict."""
    codes = {
        "gs1_code": svg(gs1_data_matrix(GS1_ELEMENTS), MODULE_MM, "GS1 DataMatrix for the test"),
        "plain_code": svg(data_matrix(PLAIN), MODULE_MM, "Plain Data Matrix for the test"),
    }
    context: dict[str, Any] = {name: mark_safe(drawn) for name, drawn in codes.items()}
    context["stand_in"] = settings.SCANNER_SEPARATOR
    if request.method == "POST":
        context |= _verdict(request.POST.get("scan", ""), request.POST.get("ended", ""))
    return render(request, "reports/scanner.html", context)


def _verdict(raw: str, ended: str) -> dict[str, Any]:
    points = judge(raw, ended, settings.SCANNER_SEPARATOR)
    return {
        "scanned": True,
        "points": points,
        "all_met": bool(points)
        and all(point.status in (Status.MET, Status.DOES_NOT_APPLY) for point in points),
        "gs1": any(point.title == "Separator" and point.status is not Status.DOES_NOT_APPLY
                   for point in points),
    }  # fmt: skip

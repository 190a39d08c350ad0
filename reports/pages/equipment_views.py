"""The paper of a sterilizer or sealer: its month."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from assembly.equipment.months import VIEW, month_named, thing_at
from reports.documents.papers import PrintError
from reports.drawing.lists import draw_list
from reports.gathering.equipment_months import month_document
from reports.pages.answers import paper_file, pdf_response, person, unread
from reports.pages.workstation import sheet_paper


@paper_file(VIEW)
def equipment_month(request: HttpRequest, what: str, code: str) -> HttpResponse:
    """Every day of the month of ``?month=2026-11``, else of this one."""
    month = month_named(request.GET.get("month", ""))
    document = month_document(thing_at(what, code), month, person(request))
    try:
        pdf = draw_list(document, sheet_paper(request))
    except PrintError as problem:
        return unread(request, problem)
    return pdf_response(pdf, f"{document.kind.key}.pdf")

"""The paper of the shift: its board."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from assembly.persons import ASSEMBLE
from reports.documents.papers import PrintError
from reports.drawing.boards import draw_board
from reports.gathering.shift_board import board_document
from reports.pages.answers import paper_file, pdf_response, person, unread
from reports.pages.workstation import sheet_paper


@paper_file(ASSEMBLE)
def shift_board(request: HttpRequest) -> HttpResponse:
    """What must begin by when, as it is now, on one page for the wall."""
    try:
        pdf = draw_board(board_document(person(request)), sheet_paper(request))
    except PrintError as problem:
        return unread(request, problem)
    return pdf_response(pdf, "work-ahead.pdf")

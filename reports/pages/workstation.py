"""What a workstation keeps: the stock its label printer holds, and the paper of its sheets.

Kept in the browser, because the printer stands beside it: whoever signs in there prints on it.
"""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse

from assembly.presses import Sent, back_from, remember, verb_page
from reports.drawing.sheets.count_sheets import Paper
from reports.drawing.stocks import Stock, shipped

LABEL_STOCK = "label-100x50"
SHEET_PAPERS: tuple[Paper, ...] = ("A4", "letter")


def stock_for(request: HttpRequest) -> Stock:
    """The stock that ``?stock=`` names, else the workstation's; the common one where neither."""
    known = shipped().by_key
    asked = (request.GET.get("stock", ""), request.COOKIES.get("stock", ""))
    return next((known[key] for key in asked if key in known), known[LABEL_STOCK])


def sheet_paper(request: HttpRequest) -> Paper:
    """The paper of count sheets: ``?paper=``, else the workstation's, else A4."""
    asked = (request.GET.get("paper", ""), request.COOKIES.get("paper", ""))
    return next((paper for key in asked for paper in SHEET_PAPERS if paper == key), "A4")


class Kept(Sent):
    """What the workstation prints on from now on; what is not sent stays as it is."""

    stock = forms.ChoiceField(
        required=False,
        choices=lambda: [(one.key, one.name) for one in shipped().by_key.values()],
        error_messages={"invalid_choice": "“%(value)s” is no stock here. Choose one of the list."},
    )
    paper = forms.ChoiceField(
        required=False,
        choices=[(paper, paper) for paper in SHEET_PAPERS],
        error_messages={"invalid_choice": "“%(value)s” is no paper here. Choose one of the list."},
    )


@verb_page("catalog.print_label", "papers")
def keep(request: HttpRequest) -> HttpResponse:
    """From now on this workstation prints labels on this stock, or sheets on this paper."""
    answer = back_from(request)
    for name, value in Kept.read(request.POST).items():
        remember(request, answer, name, value)
    return answer

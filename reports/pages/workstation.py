"""What a workstation keeps: the stock in its label printer, the first free position on a sheet of
it, and the paper of its other printer.

Kept in the browser, because the printers stand beside it: whoever signs in there prints on them.
"""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse

from assembly.ledger import Refused
from assembly.persons import STOCK
from assembly.presses import Sent, back_from, remember, verb_page
from catalog.forms.fields import WholeField
from reports.drawing.sheets.count_sheets import Paper
from reports.drawing.stocks import Stock
from reports.gathering.stocks import label_stocks

LABEL_STOCK = "label-100x50"
"""What is printed on where nobody said anything."""
SHEET_PAPERS: tuple[Paper, ...] = ("A4", "letter")
OUT_OF_USE = (
    "“{key}” is no label stock in use here. Choose this workstation's stock on the page Papers."
)
PRINTING = "X-Printing"
"""The header by which a file is asked for that goes to the printer now (``print.js``)."""


def stock_for(request: HttpRequest) -> Stock:
    """The stock that ``?stock=`` names, else the workstation's; the common one where neither.

    Refused where the one named is out of use: its labels would be printed on another.
    """
    asked = request.GET.get("stock") or request.COOKIES.get(STOCK)
    found = stock_shown(request)
    if asked and asked != found.key:
        raise Refused(OUT_OF_USE.format(key=asked))
    return found


def stock_shown(request: HttpRequest) -> Stock:
    """As :func:`stock_for`, for a page that shows on which: the common one for one out of use."""
    return stock_named(request.GET.get("stock", ""), request.COOKIES.get(STOCK, ""))


def stock_named(*keys: str) -> Stock:
    """The first of these that is in use, else the common one."""
    known = label_stocks()
    return next(known[key] for key in (*keys, LABEL_STOCK, *known) if key in known)


def sheet_paper(request: HttpRequest) -> Paper:
    """The paper of all but labels: ``?paper=``, else the workstation's, else A4."""
    asked = (request.GET.get("paper", ""), request.COOKIES.get("paper", ""))
    return next((paper for key in asked for paper in SHEET_PAPERS if paper == key), "A4")


# --- the first free position on a sheet of labels -------------------------------------------


class Position(Sent):
    """The first free position on a sheet, where it is said."""

    start = WholeField("position on a sheet", least=1, required=False)


def first_free(request: HttpRequest, on: Stock) -> int:
    """The first free position: ``?start=``, else the next one; 1 on a roll. Refused where the
    sheet has no such position."""
    said = Position.read(request.GET)["start"]
    return next_free(request, on) if said is None or on.grid is None else _on_sheet(said, on)


def next_free(request: HttpRequest, on: Stock) -> int:
    """The position after the last one that was printed at this workstation; 1 on a roll."""
    places = range(1, (on.grid.labels if on.grid else 1) + 1)
    kept = request.COOKIES.get(_free(on), "")
    return next((place for place in places if str(place) == kept), 1)


def _on_sheet(position: int, on: Stock) -> int:
    most = on.grid.labels if on.grid else 1
    if not 1 <= position <= most:
        raise Refused(f"“{position}” is no position on {on.name}: it has 1 to {most}.")
    return position


def _free(on: Stock) -> str:
    return f"free-{on.key}"


def corrected(request: HttpRequest, answer: HttpResponse, on: Stock, start: int) -> HttpResponse:
    """The answer, with the position that was said for ``start`` kept from now on."""
    return remember(request, answer, _free(on), str(start) if request.GET.get("start") else "")


def moved_on(
    request: HttpRequest, answer: HttpResponse, on: Stock, start: int, count: int
) -> HttpResponse:
    """The answer with ``count`` labels from ``start`` on: going to the printer, they move the
    workstation's first free position on, and say where they begin."""
    if on.grid and answer.status_code == 200 and PRINTING in request.headers:
        answer["X-Prints-At"] = f"{start} of {on.grid.labels}"
        remember(request, answer, _free(on), str((start - 1 + count) % on.grid.labels + 1))
    return answer


# --- what is kept -----------------------------------------------------------------------------


class Kept(Position):
    """What the workstation prints on from now on; what is not sent stays as it is."""

    stock = forms.ChoiceField(
        required=False,
        choices=lambda: [(one.key, one.name) for one in label_stocks().values()],
        error_messages={"invalid_choice": "“%(value)s” is no stock here. Choose one of the list."},
    )
    paper = forms.ChoiceField(
        required=False,
        choices=[(paper, paper) for paper in SHEET_PAPERS],
        error_messages={"invalid_choice": "“%(value)s” is no paper here. Choose one of the list."},
    )


@verb_page("catalog.view_instrumentset", "papers")
def keep(request: HttpRequest) -> HttpResponse:
    """From now on this workstation prints labels on this stock, from this position on, and all
    else on this paper. A position is one of the stock sent with it."""
    answer, sent = back_from(request), Kept.read(request.POST)
    start = sent.pop("start")
    if start is not None and (on := label_stocks().get(sent["stock"])):
        remember(request, answer, _free(on), str(_on_sheet(start, on)))
    for name, value in sent.items():
        remember(request, answer, name, value)
    return answer

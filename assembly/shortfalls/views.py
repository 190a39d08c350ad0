"""Why things go missing: the plot, the tables, the export, and putting things back."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import SafeString

from assembly.bench.settings import with_keys
from assembly.ledger import Refused
from assembly.models import PiecesBack, Shortfall
from assembly.packages.levels import spares_wrong
from assembly.persons import WORK, person_at
from assembly.presses import Press, refusals
from assembly.shortfalls import causes, export, plot
from assembly.shortfalls.replenishing import replenish
from catalog.forms.fields import WholeField, WordsField
from catalog.models import Instrument
from catalog.pages.exports import download
from catalog.reading import read_page

MOST_ROWS, MOST_OFTEN = 25, 20
TABLES = (
    ("instrument", causes.BY_INSTRUMENT),
    ("set", causes.BY_SET),
    ("department or service", causes.BY_DEPARTMENT),
)
FIELD = "back:"
"""Begins the name of each set's field on the replenishing page; the shortfall's key follows."""
UNREAD = "“{text}” was read: write a whole number, 0 for none. Nothing was saved."
Back = Press.plus(because=WordsField(), from_spares=forms.BooleanField(required=False))


@read_page("assembly.view_request")
def causes_page(request: HttpRequest) -> HttpResponse:
    """What waits to be put back, page by page, and what went short again and again."""
    today = timezone.localdate()
    weeks, recent = causes.weekly(today), causes.recent(today)
    some = [one for one in weeks if one.packed_short or one.missed]
    still = causes.shortfalls().filter(closed_at=None)
    context = {
        # The plot is made of numbers and of words that it escapes itself.
        "plot": SafeString(plot.bars(weeks)),
        "words": plot.in_words(weeks),
        "weeks": some,
        "tables": [
            (title, rows[:MOST_OFTEN], len(rows) > MOST_OFTEN)
            for title, rows in (
                (title, causes.repeated(recent, by, MOST_OFTEN + 1) if some else [])
                for title, by in TABLES
            )
        ],
        "most": MOST_OFTEN,
        "waiting": Paginator(still, MOST_ROWS).get_page(request.GET.get("page")),
        "any": bool(some),
    }
    return render(request, "assembly/shortfalls/causes.html", context)


@read_page(WORK)
def causes_export(request: HttpRequest) -> HttpResponseBase:
    """Every shortfall on record as CSV."""
    return download(request, "csv", [export.sheet(causes.shortfalls())], "Shortfalls", WORK)


def _replenish_page(request: HttpRequest, problem: object, item_number: str) -> HttpResponse:
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    waiting = causes.waiting_for(instrument)
    context = with_keys(
        instrument=instrument,
        waiting=[(one, request.POST.get(FIELD + one.key, one.waits_for)) for one in waiting],
        field=FIELD,
        because=request.POST.get("because", ""),
        from_spares=bool(request.POST.get("from_spares")),
        problem=str(problem),
    )
    status = 422 if problem else 200
    return render(request, "assembly/shortfalls/replenish.html", context, status=status)


@permission_required(WORK, raise_exception=True)
@refusals(_replenish_page)
def replenish_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """Every set that waits for the instrument, oldest first; posted, how many each has back."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    if request.method != "POST":
        return _replenish_page(request, "", item_number)
    back = pieces_read(causes.of_instrument(instrument), request.POST)
    done = replenish(person_at(request), instrument, back, **Back.read(request.POST))
    words = back_words(instrument, done.rows)
    messages.success(request, f"{instrument.name} is back: {words}.")
    if done.spares and done.spares.not_on_record:
        had, put = done.spares.before or 0, -done.spares.pieces
        messages.warning(request, spares_wrong(had, put, "put back"))
    return redirect("replenish", item_number=instrument.item_number)


def pieces_read(found: Iterable[Shortfall], data: QueryDict) -> dict[str, int]:
    """How many came back for each shortfall, as written on the page; empty is none.

    Refused for what is no whole number, with the set and what was read.
    """
    known, pieces = {one.key: one for one in found}, {}
    for key in (name.removeprefix(FIELD) for name in data if name.startswith(FIELD)):
        problem = f"{_waiting_words(known.get(key))}{UNREAD}"
        try:
            pieces[key] = WholeField(required=False, problem=problem).clean(data[FIELD + key]) or 0
        except ValidationError as error:
            raise Refused(error.message) from error
    return pieces


def _waiting_words(one: Shortfall | None) -> str:
    return f"{one.instrument_set} {one.waiting}; " if one else ""


def back_words(instrument: Instrument, done: list[PiecesBack]) -> str:
    """What came back where, and what each set still waits for."""
    now = {one.pk: one for one in causes.of_instrument(instrument)}
    words = []
    for row in done:
        one = now[row.shortfall_id]
        still = f", which still {one.waiting}" if one.waits_for else ""
        words.append(f"{row.pieces} in {one.instrument_set.code}{still}")
    return "; ".join(words)

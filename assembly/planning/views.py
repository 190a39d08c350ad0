"""Pages of what is worked out: one set's wet-pack risk, and the shift's board."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from assembly.judging.reading_units import show_for
from assembly.persons import ASSEMBLE
from assembly.planning.wet_risk import risk_of, taken_words
from assembly.planning.words import NOT_KNOWN, said_of
from assembly.planning.work import board
from catalog.models import InstrumentSet
from catalog.reading import read_page


@read_page("catalog.view_instrumentset")
def wet_set(request: HttpRequest, code: str) -> HttpResponse:
    """The water that condenses on one set, and what helps it to dry."""
    sets = InstrumentSet.objects.select_related("container", "basket", "wrap")
    risk = risk_of(get_object_or_404(sets, code=code), show_for(request))
    if risk is None:
        raise Http404(f"No count sheet of {code} is in force.")
    taken = taken_words(risk.policy)
    return render(request, "assembly/planning/wet_set.html", {"risk": risk, "taken": taken})


@read_page(ASSEMBLE)
def work_ahead(request: HttpRequest) -> HttpResponse:
    """The shift's board: what must begin by when, and which loads that takes."""
    context = {"board": said_of(board()), "not_known": NOT_KNOWN}
    return render(request, "assembly/planning/work.html", context)

"""What is away for repair: one list, and the press that sends a piece there from any page."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.models import Repair
from assembly.persons import ASSEMBLE, person_at
from assembly.presses import Act, back_from, perform, told_there, verb_page
from assembly.rules.days import day_words
from assembly.shortfalls.causes import waiting_for
from assembly.upkeep import repairs, sharpening
from assembly.upkeep_pages.forms import Damaged, Ended, Out, Sharpened
from catalog.reading import read_page

MOST_SHOPS = 20


@read_page(ASSEMBLE)
def away_page(request: HttpRequest) -> HttpResponse:
    """Every piece that is away, longest first: why, who has it since when, when it is back."""
    shops = Repair.objects.exclude(gone_to="").order_by("gone_to").values_list("gone_to", flat=True)
    context = with_keys(
        away=repairs.away().select_related("instrument", "instrument_set"),
        shops=shops.distinct()[:MOST_SHOPS],
        today=timezone.localdate(),
    )
    return render(request, "assembly/upkeep/away.html", context)


@verb_page(ASSEMBLE, told_there)
def send_to_repair(request: HttpRequest) -> HttpResponse:
    """A damaged piece, from the page in ``next``."""
    made = repairs.to_repair(person_at(request), **Damaged.read(request.POST))
    messages.success(request, f"{made.name}: laid aside for repair, because: {made.reason}.")
    return back_from(request)


@verb_page(ASSEMBLE, told_there)
def sharpened(request: HttpRequest) -> HttpResponse:
    """It was sharpened; back to the page in ``next``."""
    done = sharpening.sharpened(person_at(request), **Sharpened.read(request.POST))
    messages.success(request, f"{done.instrument.name}: sharpened on {day_words(done.done_on)}.")
    return back_from(request)


def _still_away(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    messages.error(request, str(problem))
    return redirect("away")


@verb_page(ASSEMBLE, _still_away)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on a piece that is away; back, it leads to the sets that wait for it."""
    get_object_or_404(Repair, pk=pk)
    done = perform(request, pk, ACTS)
    if done.outcome == Repair.Outcome.BACK and waiting_for(done.instrument).exists():
        return redirect("replenish", item_number=done.item_number)
    return redirect("away")


ACTS = {
    "out": Act(repairs.send_out, Out),
    "back": Act(partial(repairs.come_back, outcome=Repair.Outcome.BACK), Ended),
    "written off": Act(partial(repairs.come_back, outcome=Repair.Outcome.WRITTEN_OFF), Ended),
}
"""Every press on a piece that is away."""

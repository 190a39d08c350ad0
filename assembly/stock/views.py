"""What the bench says of boxes, by one press each; what is on hand, counted by a coordinator."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.judging.emptied import empty_now
from assembly.packages.forms import Box
from assembly.packages.lots import every_supply
from assembly.persons import ASSEMBLE, SET_LEVELS, person_at
from assembly.presses import Press, back_from, told_there, verb_page
from assembly.stock import counting, emptying
from assembly.stock.standing import standings
from catalog.forms.fields import WholeField, WordsField
from catalog.reading import read_page


class OfSupply(Press):
    """A press about one supply, by its key."""

    supply = WordsField(60)


@verb_page(ASSEMBLE, told_there)
def box_empty(request: HttpRequest) -> HttpResponse:
    """No more of it is there, until the shift ends."""
    said = emptying.say_empty(person_at(request), **OfSupply.read(request.POST))
    until = f"{timezone.localtime(said.until):%H:%M}"
    messages.success(request, f"Out until {until}: {said.name}.")
    return back_from(request)


@verb_page(ASSEMBLE, told_there)
def box_there(request: HttpRequest) -> HttpResponse:
    """There is a box of it again."""
    emptying.say_there(person_at(request), **OfSupply.read(request.POST))
    return back_from(request)


class Counted(Box):
    """So many, and what the box says."""

    kind = WordsField(10)
    quantity = WholeField("number of pieces")
    lead_days = WholeField("number of days", required=False, most=180)


@read_page(SET_LEVELS)
def stock_page(request: HttpRequest) -> HttpResponse:
    """What is left of all that is counted, what is to be ordered first; boxes that are empty."""
    every = standings()
    context = with_keys(
        every=every,
        low=sum(one.is_low for one in every),
        empty=empty_now(),
        supplies=every_supply().items(),
    )
    return render(request, "assembly/stock/stock.html", context)


@verb_page(SET_LEVELS, "stock")
def stock_count(request: HttpRequest) -> HttpResponse:
    """So many came in, or so many is all there is."""
    made = counting.count(person_at(request), **Counted.read(request.POST))
    messages.success(request, f"{made}.")
    return redirect("stock")


@verb_page(SET_LEVELS, "stock")
def stock_no_longer(request: HttpRequest) -> HttpResponse:
    """Nobody counts it any more."""
    counting.count_no_longer(person_at(request), **OfSupply.read(request.POST))
    return redirect("stock")

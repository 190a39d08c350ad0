"""What tomorrow's list needs: said by who knows the cases, seen by all."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date

from assembly.ledger import Refused
from assembly.models import SetNeed
from assembly.packages import levels
from assembly.persons import ASK, person_at
from assembly.presses import KnownField, Sent, verb_page
from assembly.requests import asking
from assembly.requests.forms import UNKNOWN, moment_from, remembered, tapped
from assembly.requests.needs import list_of
from catalog.forms.fields import WholeField, WordsField
from catalog.lookup.finding import Want, find
from catalog.models import Instrument, InstrumentSet
from catalog.reading import read_page

WANT = Want(limit=8)
FIRST_CASE = "07:30"
"""The time that stands in the field at first. Our own choice."""
NO_TIME = "“{text}” is no time. Write it as 07:30."


class NeedSent(Sent):
    """A set or an instrument, the day, the time, and where; how many pieces."""

    item = KnownField(Instrument.objects.all(), "item_number", UNKNOWN, required=False)
    whole = KnownField(InstrumentSet.objects.all(), "code", UNKNOWN, required=False)
    quantity = WholeField("number of pieces", least=1, absent=1)
    day = WordsField()
    time = WordsField()
    place = WordsField()
    where = WordsField()

    def clean(self) -> dict[str, Any]:
        if self.errors:
            return self.cleaned_data
        sent = dict(self.cleaned_data)
        thing = sent.pop("item") or sent.pop("whole")
        if thing is None:
            raise Refused("Say what is needed: look up a set or an instrument.")
        day, at = sent["day"], sent["time"]
        if (moment := moment_from(f"{day}T{at}")) is None:
            raise forms.ValidationError(NO_TIME.format(text=at or day))
        where = tapped(sent["place"]).get("where", sent["where"])
        return {"thing": thing, "needed_at": moment, "where": where,
                "quantity": sent["quantity"]}  # fmt: skip


@read_page(ASK)
def day_page(request: HttpRequest) -> HttpResponse:
    """What one day needs, and what of it is ready; tomorrow where none is named."""
    return render(request, "assembly/asking/day.html", _day(request))


def _day(request: HttpRequest) -> dict[str, Any]:
    today = timezone.localdate()
    day = _day_of(request.GET.get("day", "")) or today + timedelta(days=1)
    needed = list_of(day)
    found = find(request.GET.get("q", ""), WANT)
    one = found.one
    person = person_at(request)
    return {
        "day": day,
        "days": [("Today", today), ("Tomorrow", today + timedelta(days=1))],
        "needed": needed,
        "ready": sum(one.is_ready for one in needed),
        "found": found,
        "here": request.path if found.not_to_be_shown else "",
        "instruments": [one] if isinstance(one, Instrument) else found.instruments,
        "sets": [one] if isinstance(one, InstrumentSet) else found.sets,
        "time": request.GET.get("time", FIRST_CASE),
        "places": asking.places_to_tap(person),
        "where": request.GET.get("where", remembered(request, person)["where"]),
        "place": request.GET.get("place", ""),
    }


def _day_of(text: str) -> date | None:
    try:
        return parse_date(text)
    except ValueError:
        return None


@verb_page(ASK, "day")
def add_need(request: HttpRequest) -> HttpResponse:
    """One thing more on the list."""
    need = levels.say_when_needed(person_at(request), **NeedSent.read(request.POST))
    messages.success(request, f"On the list: {need.thing} at {_clock(need.needed_at)}.")
    return redirect(f"{reverse('day')}?{_kept(request, need)}")


def _clock(moment: datetime) -> str:
    return f"{timezone.localtime(moment):%H:%M}"


def _kept(request: HttpRequest, need: SetNeed) -> str:
    local = timezone.localtime(need.needed_at)
    return urlencode({"day": f"{local:%Y-%m-%d}", "time": f"{local:%H:%M}", "where": need.where})


@verb_page(ASK, "day")
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """It is not needed after all."""
    need = levels.not_needed(person_at(request), get_object_or_404(SetNeed, pk=pk))
    messages.success(request, f"Not needed: {need.thing} at {_clock(need.needed_at)}.")
    return redirect(f"{reverse('day')}?day={timezone.localtime(need.needed_at):%Y-%m-%d}")

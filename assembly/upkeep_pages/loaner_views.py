"""What is lent to the department: what is still to go back, and the page of each."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.reading_units import show_for
from assembly.models import Loaner
from assembly.persons import ASSEMBLE, person_at
from assembly.presses import Act, KnownField, Press, Reasoned, perform, told_there, verb_page
from assembly.rules.limits.weights import gross_finding, scale_reading
from assembly.upkeep import loaners
from assembly.upkeep.loaners import Lent
from catalog.forms.fields import DayField, WeightField, WholeField, WordsField
from catalog.models import Instrument, InstrumentSet
from catalog.reading import read_page

MOST_RETURNED = 40
NO_SET = "“{text}” is no set of the catalog. Write its code, or leave it empty."
NO_INSTRUMENT = "“{text}” is no item number of the catalog. Write it, or leave it empty."


class Came(Press):
    """What is lent, as far as it is known when it comes."""

    what = WordsField(200)
    vendor = WordsField(120)
    instrument_set = KnownField(InstrumentSet.objects.all(), "code", NO_SET, required=False)
    instrument = KnownField(Instrument.objects.all(), "item_number", NO_INSTRUMENT, required=False)
    needed_for = WordsField(90)
    pieces = WholeField("number of pieces", required=False)
    weight_g = WeightField()
    ifu_reference = WordsField(120)
    return_by = DayField(required=False)

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        return {"key": data.pop("key", ""), "lent": Lent(**data)}


@read_page(ASSEMBLE)
def loaners_page(request: HttpRequest) -> HttpResponse:
    """What is still to be returned, what goes back first; below it, what went back."""
    context = with_keys(
        on_loan=list(loaners.here().select_related("instrument_set", "instrument")),
        returned=Loaner.objects.filter(state=Loaner.State.RETURNED).order_by("-ended_at")[
            :MOST_RETURNED
        ],
        today=timezone.localdate(),
    )
    return render(request, "assembly/upkeep/loaners.html", context)


@read_page(ASSEMBLE)
def loaner_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One thing that is lent: what is known of it, where it is, and what is done with it."""
    one = get_object_or_404(Loaner.objects.select_related("instrument_set", "instrument"), pk=pk)
    context = with_keys(
        one=one,
        today=timezone.localdate(),
        weight=_weight(request, one.weight_g),
        where=loaners.where_it_is(one),
        away=loaners.away_of(one),
        steps=one.steps.all(),
    )
    return render(request, "assembly/upkeep/loaner.html", context)


def _weight(request: HttpRequest, grams: Decimal | None) -> dict[str, str]:
    """What the policy says to its weight as it came, packaging included; empty where unknown."""
    if grams is None:
        return {}
    policy = policy_in_force()
    finding = gross_finding(scale_reading(float(grams), policy.number("scale_error_g")), policy)
    return {"status": str(finding.status), "sentence": finding.sentence(show_for(request))}


@verb_page(ASSEMBLE, told_there)
def take_in(request: HttpRequest) -> HttpResponse:
    """Something lent is here."""
    one = loaners.take_in(person_at(request), **Came.read(request.POST))
    return redirect("loaner", pk=one.pk)


@verb_page(ASSEMBLE, told_there)
def act_on_loaner(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on the page of what is lent."""
    get_object_or_404(Loaner, pk=pk)
    perform(request, pk, ACTS)
    return redirect("loaner", pk=pk)


ACTS = {
    "ifu": Act(loaners.ifu_came, Press.plus(reference=WordsField(120))),
    "weight": Act(loaners.weigh, Press.plus(weight_g=WeightField(required=True))),
    "back": Act(loaners.give_back, Reasoned),
}
"""Every press on the page of what is lent."""

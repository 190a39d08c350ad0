"""The page of what a set weighs: its detection limit first, then its baselines by number."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from assembly.bench.settings import with_keys
from assembly.bench.weighing.baselines import newest_of, readings_of, take_baseline, void_baseline
from assembly.bench.weighing.checks import sure_of, surest
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import Build
from assembly.persons import ASSEMBLE
from assembly.presses import Act, Press, Reasoned, perform, verb_page
from assembly.rules.computing.weigh_words import blind_words
from catalog.forms.fields import WholeField
from catalog.models import InstrumentSet
from catalog.reading import read_page


@read_page("catalog.view_instrumentset")
def weighing_page(request: HttpRequest, code: str) -> HttpResponse:
    """What the scale surely notices of this set, what it does not, and what it is held against."""
    one = get_object_or_404(InstrumentSet, code__folded=code)
    policy = policy_in_force()
    standing = newest_of(one)
    rows = [(each, sure_of(policy, each)) for each in standing]
    sheet = one.current
    lines = [each.instrument for each in sheet.lines.select_related("instrument")] if sheet else []
    sure = surest(policy, [each for each in standing if not each.void])
    unweighed = [each.name for each in lines if each.weight_g is None]
    return render(
        request,
        "assembly/sets/weighing.html",
        with_keys(
            set=one,
            sure=sure,
            rows=rows,
            light=[each for each in lines if each.weight_g and each.weight_g < sure],
            blind=blind_words(sure, list(dict.fromkeys(unweighed))),
            readings=readings_of(one, standing),
            running=Build.objects.filter(instrument_set=one, state=Build.State.OPEN),
        ),
    )


@verb_page(ASSEMBLE, "set_weighing")
def act_on_weighing(request: HttpRequest, code: str) -> HttpResponse:
    """One press on the page: a reading becomes a baseline, or a baseline is void."""
    one = get_object_or_404(InstrumentSet, code__folded=code)
    perform(request, one.pk, ACTS)
    return redirect("set_weighing", code=one.code)


ROW = WholeField(problem="“{text}” is not on record. Load the page again.")
ACTS = {
    "take": Act(take_baseline, Press.plus(reading=ROW)),
    "void": Act(void_baseline, Reasoned.plus(baseline=ROW)),
}
"""Every press on the page."""

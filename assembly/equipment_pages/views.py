"""Equipment today, a thing's month, and what is pressed there."""

from __future__ import annotations

from datetime import date
from functools import partial
from itertools import groupby
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.equipment import recording
from assembly.equipment.months import VIEW, month_named, tests_of, thing_at
from assembly.equipment.standing import Standing, in_use, standing_of
from assembly.equipment_pages.forms import Recorded
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import EquipmentTest
from assembly.persons import TEST, person_at
from assembly.presses import Act, Press, Reasoned, back_from, perform, told, verb_page
from catalog.reading import read_page


@read_page(VIEW)
def today_page(request: HttpRequest) -> HttpResponse:
    """What stops, what is due and what passed: every sterilizer and sealer in use."""
    policy = policy_in_force()
    every = standing_of(in_use(), policy)
    things = [(thing, list(each)) for thing, each in groupby(every, key=lambda one: one.thing)]
    things.sort(key=lambda pair: min(map(_urgency, pair[1]), default=2))
    context = with_keys(
        things=things,
        stopped=[one for one in every if one.stops],
        due=[one for one in every if one.is_due and not one.stops],
        passed=sum(_urgency(one) == 2 for one in every),
        of=len(every),
        asked_again=policy.flag("asked_again"),
    )
    return render(request, "assembly/equipment/today.html", context)


def _urgency(one: Standing) -> int:
    return 0 if one.stops else 1 if one.is_due else 2


@read_page(VIEW)
def month_page(request: HttpRequest, what: str, code: str) -> HttpResponse:
    """All tests of one thing in the month of ``?month=2026-11``, else in this one."""
    thing = thing_at(what, code)
    month = month_named(request.GET.get("month", ""))
    context = with_keys(
        thing=thing,
        what=what,
        month=month,
        this_month=month == timezone.localdate().replace(day=1),
        before=_month_from(month, -1),
        after=_month_from(month, 1),
        tests=tests_of(thing, month),
    )
    return render(request, "assembly/equipment/month.html", context)


def _month_from(month: date, step: int) -> date:
    number = month.year * 12 + month.month - 1 + step
    return date(number // 12, number % 12 + 1, 1)


def _said(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    return told(request, problem, back_from(request).url)  # type: ignore[attr-defined]


@verb_page(TEST, _said)
def record(request: HttpRequest, what: str, code: str) -> HttpResponse:
    """A test that was done today."""
    thing = thing_at(what, code)
    recording.put_on_record(person_at(request), thing, **Recorded.read(request.POST))
    return back_from(request)


@verb_page(TEST, _said)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on a test."""
    get_object_or_404(EquipmentTest, pk=pk)
    perform(request, pk, ACTS)
    return back_from(request)


ACTS = {
    "no growth": Act(partial(recording.read, passed=True), Press),
    "growth": Act(partial(recording.read, passed=False), Reasoned),
    "sign off": Act(recording.sign_off, Reasoned),
    "take back": Act(recording.take_back, Reasoned),
}
"""Every press on a test."""

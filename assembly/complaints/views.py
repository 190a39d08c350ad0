"""The pages of complaints: which package it was, what was wrong, and what was found."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import F, Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from assembly.bench.settings import with_keys
from assembly.complaints import saying
from assembly.models import Complaint, Package
from assembly.models.complaints import HURTS
from assembly.packages.standing import with_standing
from assembly.persons import ASK, person_at
from assembly.presses import Act, Press, Reasoned, back_from, perform, told, verb_page
from catalog.forms.fields import WordsField
from catalog.lookup.finding import find
from catalog.models import Instrument, InstrumentSet
from catalog.reading import read_page

MOST_PACKAGES, MOST_SAID = 12, 20


class Said(Press):
    """What was wrong with a package."""

    kind = WordsField(12)
    words = WordsField(300)
    item = WordsField(40)
    apart = forms.BooleanField(required=False)


@read_page(saying.SEE)
def wrong_page(request: HttpRequest) -> HttpResponse:
    """Which package was it? By its label, or from the last ones of an instrument or a set."""
    found = find(request.GET.get("q", ""))
    if isinstance(found.one, Package):
        return redirect(_at(found.one))
    context = with_keys(
        found=found,
        here=request.path if found.not_to_be_shown else "",
        packages=_packages(found.one),
        said_before=saying.latest()[:MOST_SAID],
    )
    return render(request, "assembly/complaints/wrong.html", context)


def _packages(thing: Model | None) -> list[Package]:
    """Packages of an instrument or a set, which may have lost their label: what moved last is
    first."""
    moved_last = F("shelved__since").desc(nulls_last=True)
    if isinstance(thing, Instrument):
        found = Package.objects.filter(instrument=thing)
    elif isinstance(thing, InstrumentSet):
        found = Package.objects.filter(build__instrument_set=thing)
    else:
        return []
    found = found.order_by(moved_last, "-packed_at", "-pk")
    return list(with_standing(found)[:MOST_PACKAGES])


def _at(package: Package) -> str:
    return f"{reverse('package', args=[package.code])}?wrong=1#wrong"


def _not_said(request: HttpRequest, problem: Exception, code: str) -> HttpResponse:
    return told(request, problem, f"{reverse('package', args=[code])}?wrong=1#wrong")


@verb_page(saying.SEE, _not_said)
def say(request: HttpRequest, code: str) -> HttpResponse:
    """Something was wrong with this package."""
    package = get_object_or_404(Package, code=code.upper())
    made = saying.say(person_at(request), package.pk, **Said.read(request.POST))
    not_used = " Nobody uses this package." if made.kind in HURTS else ""
    messages.success(request, f"On record: {made.said}.{not_used} The coordinators see it.")
    return redirect("package", code=package.code)


def _not_done(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    return told(request, problem, reverse("wrong"))


@verb_page(saying.LOOK_INTO, _not_done)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """What was found, or that it was said by mistake."""
    get_object_or_404(Complaint, pk=pk)
    perform(request, pk, ACTS)
    return back_from(request)


ACTS = {
    "looked into": Act(saying.look_into, Reasoned),
    "mistake": Act(saying.mistaken, Reasoned),
}


@verb_page(ASK, _not_done)
def read(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody of the department has read the notice."""
    found = saying.read_notice(person_at(request), pk, **Press.read(request.POST))
    messages.success(request, f"{found.department}: read by {found.read_by}.")
    return back_from(request)

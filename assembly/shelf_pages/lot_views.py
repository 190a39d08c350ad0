"""Which lot of each supply is in use at which workstation: said once a box."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from assembly.bench.settings import with_keys
from assembly.judging.emptied import empty_now
from assembly.models import SupplyLot
from assembly.packages import lots
from assembly.packages.forms import Box
from assembly.persons import (
    ASSEMBLE,
    LONGEST_WORKSTATION,
    WORKSTATION,
    person_at,
    workstation_at,
)
from assembly.presses import Press, Sent, told, verb_page
from catalog.forms.fields import WordsField
from catalog.reading import read_page

KEPT_S = 400 * 24 * 60 * 60
"""As long as browsers keep anything (RFC 6265bis: 400 days)."""
MOST_USED_UP = 40


class Named(Sent):
    """How a workstation is called."""

    name = WordsField(LONGEST_WORKSTATION)


@read_page(ASSEMBLE)
def lots_page(request: HttpRequest) -> HttpResponse:
    """What is in use, what was used up last, and how this workstation is called."""
    context = with_keys(
        workstation=workstation_at(request),
        supplies=lots.every_supply().items(),
        empty=empty_now(),
        in_use=lots.in_use(),
        used_up=SupplyLot.objects.exclude(ended_at=None).order_by("-ended_at")[:MOST_USED_UP],
    )
    return render(request, "assembly/shelf/lots.html", context)


@verb_page(ASSEMBLE, "lots")
def open_lot(request: HttpRequest) -> HttpResponse:
    """A box is opened: its lot is the one in use here."""
    lots.open_lot(person_at(request), **Box.read(request.POST))
    return redirect("lots")


def _not_ended(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return told(request, problem, reverse("lots"))


@verb_page(ASSEMBLE, _not_ended)
def end_lot(request: HttpRequest, pk: int) -> HttpResponse:
    """The box is used up."""
    get_object_or_404(SupplyLot, pk=pk)
    lots.end_lot(person_at(request), pk, **Press.read(request.POST))
    return redirect("lots")


@verb_page(ASSEMBLE, "lots")
def name_workstation(request: HttpRequest) -> HttpResponse:
    """From now on this browser is the workstation of this name; without one it has none."""
    answer = redirect("lots")
    name = Named.read(request.POST)["name"].strip()
    answer.set_cookie(WORKSTATION, quote(name), max_age=KEPT_S, samesite="Lax", httponly=True,
                      secure=request.is_secure())  # fmt: skip
    return answer

"""Which lot of packaging and indicators is in use at which workstation: said once a box."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.ledger import Refused
from assembly.models import SupplyLot
from assembly.packages import lots
from assembly.persons import (
    ASSEMBLE,
    LONGEST_WORKSTATION,
    WORKSTATION,
    person_at,
    workstation_at,
)
from assembly.presses import Press, Sent, told, verb_page
from catalog.forms.fields import DayField, WordsField
from catalog.reading import read_page
from catalog.scans.scanning import Kind, read_scan

KEPT_S = 400 * 24 * 60 * 60
"""As long as browsers keep anything (RFC 6265bis: 400 days)."""
LOT, EXPIRY = ("10", "lot"), ("17", "expiry")
"""How GS1 and HIBC call them."""
MOST_USED_UP = 40


class Opened(Press):
    """The box that is opened: its supply, and its lot with its date, typed or scanned.

    A scan of the box says both; what was typed beside it counts before the scan's.
    """

    supply = WordsField(60)
    lot = WordsField(400, strip=False)
    expires = DayField(required=False)

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        scan = read_scan(data.get("lot", ""), today=timezone.localdate())
        if scan.kind not in (Kind.GS1, Kind.HIBC):
            return data
        if scan.problem:
            raise Refused(scan.problem)
        said = {one.key: one for one in scan.elements}
        lot = next((said[key].value for key in LOT if key in said), "")
        if not lot:
            raise Refused("This code names no lot: type the lot as the box says it.")
        day = next((said[key].day for key in EXPIRY if key in said), None)
        return data | {"lot": lot, "expires": data.get("expires") or day}


class Named(Sent):
    """How a workstation is called."""

    name = WordsField(LONGEST_WORKSTATION)


@read_page(ASSEMBLE)
def lots_page(request: HttpRequest) -> HttpResponse:
    """What is in use, what was used up last, and how this workstation is called."""
    context = with_keys(
        workstation=workstation_at(request),
        supplies=lots.supplies_with_lots().items(),
        in_use=lots.in_use(),
        used_up=SupplyLot.objects.exclude(ended_at=None).order_by("-ended_at")[:MOST_USED_UP],
    )
    return render(request, "assembly/shelf/lots.html", context)


@verb_page(ASSEMBLE, "lots")
def open_lot(request: HttpRequest) -> HttpResponse:
    """A box is opened: its lot is the one in use here."""
    lots.open_lot(person_at(request), **Opened.read(request.POST))
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

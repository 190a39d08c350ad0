"""The shelf: one field for scans, what lies where, what to pack next."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django_tables2.paginators import LazyPaginator

from assembly.bench.settings import with_keys
from assembly.models import Package, SetNeed, ShelfPlace
from assembly.packages import levels, shelf
from assembly.packages.search import place_at
from assembly.persons import KEEP_SHELF, SET_LEVELS, person_at
from assembly.presses import verb_page
from assembly.shelf_pages import scanning
from assembly.shelf_pages.forms import (
    Counted,
    Level,
    Needed,
    OutOfUse,
    Place,
    Scanned,
    TakenOff,
)

MOST_SHOWN = 20
"""Packages of one part of the page; the others are counted."""
MOST_PLACES = 24
"""Places to tap; where there are more, they are scanned."""
MOST_ROWS = 25


@permission_required(KEEP_SHELF, raise_exception=True)
def shelf_page(request: HttpRequest) -> HttpResponse:
    """Scan a place and packages, in either order; or who gets them and then packages."""
    mode = scanning.HAND if request.GET.get("do") == scanning.HAND else scanning.AWAY
    if request.method != "POST":
        held = _packages(request.GET.get("package", ""))
        return _page(request, mode, place=place_at(request.GET.get("place", "")), packages=held)
    sent = Scanned.read(request.POST)
    place, held = place_at(sent["place"]), _packages(sent["package"])
    person = person_at(request)
    said = scanning.scan(person, sent["words"], mode, sent["key"], place, held, sent["to"])
    return _page(request, mode, said=said, place=said.place, packages=said.packages, to=sent["to"])


def _packages(codes: str) -> list[Package]:
    """The packages that were scanned before, in the order of their scans."""
    found = {one.code: one for one in Package.objects.filter(code__in=codes.split())}
    return [found[code] for code in codes.split() if code in found]


def _page(request: HttpRequest, mode: str, **more: Any) -> HttpResponse:
    stocked = LazyPaginator(shelf.stocked(), MOST_ROWS).get_page(request.GET.get("page"))
    low = [*(row for row in shelf.sets_to_lie_ready() if row.short_by), *shelf.short_singles()]
    waiting, spoiled = shelf.waiting_to_be_put_away(), shelf.not_to_be_used()
    context = with_keys(
        mode=mode,
        held=" ".join(one.code for one in more["packages"]),
        stocked=stocked,
        stock=shelf.stock(pk for pk, *_ in stocked),
        next=low[:MOST_SHOWN],
        next_more=len(low) - MOST_SHOWN,
        waiting=waiting[:MOST_SHOWN],
        waiting_more=waiting.count() - MOST_SHOWN,
        spoiled=spoiled[:MOST_SHOWN],
        spoiled_more=spoiled.count() - MOST_SHOWN,
        places=ShelfPlace.objects.filter(retired=False)[:MOST_PLACES],
        needs=SetNeed.still()
        .filter(needed_at__gt=timezone.now())
        .select_related("instrument_set", "instrument"),
        **more,
    )
    scanned = request.method == "POST" and request.htmx  # type: ignore[attr-defined]
    page = "_parts.html" if scanned else "shelf.html"
    return render(request, f"assembly/shelf/{page}", context)


@verb_page(KEEP_SHELF, "package")
def take_off(request: HttpRequest, code: str) -> HttpResponse:
    """A package was opened, is damaged, or is recalled."""
    package = get_object_or_404(Package, code=code.upper())
    shelf.take_off(person_at(request), package, **TakenOff.read(request.POST))
    return redirect("package", code=package.code)


@verb_page(KEEP_SHELF, "shelf#needs")
def set_needed(request: HttpRequest) -> HttpResponse:
    """When a set is needed next."""
    levels.say_when_needed(person_at(request), **Needed.read(request.POST))
    return redirect(f"{reverse('shelf')}#needs")


@verb_page(SET_LEVELS, "shelf#levels")
def set_level(request: HttpRequest) -> HttpResponse:
    """The low level of one instrument or set, and where an instrument's loose spares lie."""
    levels.set_level(person_at(request), **Level.read(request.POST))
    return redirect(f"{reverse('shelf')}#levels")


@verb_page(SET_LEVELS, "shelf#levels")
def count_spares(request: HttpRequest) -> HttpResponse:
    """How many loose spares of one instrument were counted; empty leaves the record as it is."""
    sent = Counted.read(request.POST)
    if sent["counted"] is not None:
        levels.count_spares(person_at(request), **sent)
        words = f"{sent['instrument']}: loose spares on record now: {sent['counted']}."
        messages.success(request, words)
    return redirect(f"{reverse('shelf')}#levels")


@verb_page(SET_LEVELS, "shelf#levels")
def add_place(request: HttpRequest) -> HttpResponse:
    """A new shelf place."""
    levels.add_place(person_at(request), **Place.read(request.POST))
    return redirect(f"{reverse('shelf')}#levels")


@verb_page(SET_LEVELS, "shelf#levels")
def retire_place(request: HttpRequest) -> HttpResponse:
    """A shelf place that is used no longer."""
    place = levels.retire_place(person_at(request), **OutOfUse.read(request.POST))
    messages.success(request, f"{place} is out of use.")
    return redirect(f"{reverse('shelf')}#levels")

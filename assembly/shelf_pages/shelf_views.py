"""The shelf: one field for scans, what lies where, what to pack next."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.models import Package, SetNeed, ShelfPlace
from assembly.packages import levels, shelf
from assembly.packages.search import place_at
from assembly.persons import KEEP_SHELF, SET_LEVELS, person_at
from assembly.presses import verb_page
from assembly.shelf_pages import scanning
from assembly.shelf_pages.forms import Counted, Level, Needed, Place, Scanned, TakenOff

MOST_WAITING = 40


@permission_required(KEEP_SHELF, raise_exception=True)
def shelf_page(request: HttpRequest) -> HttpResponse:
    """Scan a place and then packages; or who gets them and then packages."""
    mode = scanning.HAND if request.GET.get("do") == scanning.HAND else scanning.AWAY
    if request.method != "POST":
        context = _shelf(request, mode) | {
            "place": place_at(request.GET.get("place", "")),
            "package": Package.objects.filter(code=request.GET.get("package", "")).first(),
        }
        return render(request, "assembly/shelf/shelf.html", context)
    sent = Scanned.read(request.POST)
    package = Package.objects.filter(code=sent["package"]).first()
    said = scanning.scan(person_at(request), sent["words"], mode, sent["key"],
                         place_at(sent["place"]), package, sent["to"])  # fmt: skip
    context = _shelf(request, mode) | {
        "said": said, "place": said.place, "package": said.package, "to": sent["to"],
    }  # fmt: skip
    return render(request, "assembly/shelf/shelf.html", context)


def _shelf(request: HttpRequest, mode: str) -> dict[str, Any]:
    stock = shelf.stock()
    sets = shelf.on_the_shelf().filter(kind=Package.Kind.SET).select_related("shelved__place")
    return with_keys(
        mode=mode,
        stock=stock,
        spoiled=shelf.not_to_be_used(),
        next=[row for row in (*shelf.sets_to_lie_ready(), *stock) if row.short_by],
        sets=sets.order_by("number", "packed_at"),
        waiting=shelf.waiting_to_be_put_away()[:MOST_WAITING],
        places=ShelfPlace.objects.filter(retired=False),
        needs=SetNeed.still()
        .filter(needed_at__gt=timezone.now())
        .select_related("instrument_set", "instrument"),
    )


@verb_page(KEEP_SHELF, "package")
def take_off(request: HttpRequest, code: str) -> HttpResponse:
    """A package was opened, is damaged, or is recalled."""
    package = get_object_or_404(Package, code__iexact=code)
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

"""The shelf: one field for scans, what lies where, what to pack next."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from assembly.bench.settings import settings_of, with_keys
from assembly.ledger import Refused
from assembly.models import Package, SetNeed, ShelfPlace
from assembly.packages import levels, shelf
from assembly.persons import person_at
from assembly.requests.forms import moment_from
from assembly.shelf_pages import scanning
from catalog.models import Instrument, InstrumentSet

KEEP, LEVELS = "assembly.keep_shelf", "assembly.set_stock_level"
MOST_WAITING = 40


@permission_required(KEEP, raise_exception=True)
def shelf_page(request: HttpRequest) -> HttpResponse:
    """Scan a place and then packages; or who gets them and then packages."""
    mode = scanning.HAND if request.GET.get("do") == scanning.HAND else scanning.AWAY
    if request.method != "POST":
        return render(request, "assembly/requests/shelf.html", _shelf(request, mode))
    place = shelf.place_at(request.POST.get("place", ""))
    to = request.POST.get("to", "")[:90]
    said = scanning.scan(person_at(request), request.POST.get("words", ""), mode,
                         request.POST.get("key", ""), place, to)  # fmt: skip
    context = _shelf(request, mode) | {"said": said, "place": said.place, "to": to}
    return render(request, "assembly/requests/shelf.html", context)


def _shelf(request: HttpRequest, mode: str) -> dict[str, Any]:
    stock = shelf.stock()
    sets = shelf.on_the_shelf().filter(kind=Package.Kind.SET).select_related("shelved__place")
    return with_keys(
        mode=mode,
        bench=settings_of(request),
        stock=stock,
        spoiled=shelf.not_to_be_used(),
        next=[row for row in stock if row.short_by],
        sets=sets.order_by("number", "packed_at"),
        waiting=shelf.waiting_to_be_put_away()[:MOST_WAITING],
        places=ShelfPlace.objects.filter(retired=False),
        needs=SetNeed.objects.filter(needed_at__gt=timezone.now()).select_related("instrument_set"),
    )


@require_POST
@permission_required(KEEP, raise_exception=True)
def take_off(request: HttpRequest, code: str) -> HttpResponse:
    """A package was opened, is damaged, or is recalled."""
    package = get_object_or_404(Package, code__iexact=code)
    try:
        shelf.take_off(person_at(request), package, request.POST.get("state", ""),
                       request.POST.get("reason", "")[:300])  # fmt: skip
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect("package", code=package.code)


@require_POST
@permission_required(KEEP, raise_exception=True)
def set_needed(request: HttpRequest) -> HttpResponse:
    """When a set is needed next."""
    moment = moment_from(request.POST.get("time", ""))
    one = InstrumentSet.objects.filter(code__iexact=request.POST.get("code", "").strip()).first()
    if moment is None or one is None:
        messages.error(request, "Write the code of a set, and the day and time it is needed.")
        return redirect(f"{reverse('shelf')}#needs")
    try:
        levels.say_when_needed(person_at(request), one, moment, request.POST.get("where", ""))
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect(f"{reverse('shelf')}#needs")


@require_POST
@permission_required(LEVELS, raise_exception=True)
def set_level(request: HttpRequest) -> HttpResponse:
    """The low level of one instrument, and where its loose spares lie."""
    try:
        instrument, low = _instrument_in(request), _whole_in(request, "low")
        levels.set_level(person_at(request), instrument, low, request.POST.get("spares_place", ""))
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect(f"{reverse('shelf')}#levels")


@require_POST
@permission_required(LEVELS, raise_exception=True)
def count_spares(request: HttpRequest) -> HttpResponse:
    """How many loose spares of one instrument were counted; empty leaves the record as it is."""
    try:
        instrument, counted = _instrument_in(request), _whole_in(request, "counted")
        if counted is not None:
            levels.count_spares(person_at(request), instrument, counted)
            messages.success(request, f"{instrument}: loose spares on record now: {counted}.")
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect(f"{reverse('shelf')}#levels")


def _instrument_in(request: HttpRequest) -> Instrument:
    number = request.POST.get("item", "").strip()
    found = Instrument.objects.filter(item_number__iexact=number, retired=False).first()
    if found is None:
        raise Refused(f"“{number}” is no item number of the catalog. Nothing was changed.")
    return found


def _whole_in(request: HttpRequest, name: str) -> int | None:
    """The whole number in a field; None where it is empty."""
    text = request.POST.get(name, "").strip()
    if text and not (text.isascii() and text.isdigit() and len(text) < 6):
        raise Refused(f"“{text}” was read: write a whole number. Nothing was changed.")
    return int(text) if text else None


@require_POST
@permission_required(LEVELS, raise_exception=True)
def add_place(request: HttpRequest) -> HttpResponse:
    """A new shelf place."""
    try:
        levels.add_place(person_at(request), request.POST.get("code", ""),
                         request.POST.get("name", ""))  # fmt: skip
    except Refused as problem:
        messages.error(request, str(problem))
    return redirect(f"{reverse('shelf')}#levels")

"""Instruments by hand: add, change, retire, photograph."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.files.storage import default_storage
from django.db import transaction
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from catalog import actions, photos
from catalog.forms.instruments import FIELDSETS, CycleFormSet, InstrumentForm, cycles_of
from catalog.models import Instrument
from catalog.pages.by_hand import change_page, form_page, retire_page, saved
from catalog.reading import read_page
from catalog.where_used import where_used

KEPT_FOR_THE_NEXT = ("group", "maker", "ifu_reference", "ifu_revision", "ifu_review_on")
"""Fields that the next new instrument starts with."""
FORM_PAGE = "catalog/instruments/instrument_form.html"


@permission_required("catalog.add_instrument", raise_exception=True)
def add(request: HttpRequest) -> HttpResponse:
    """A new instrument; "save and add another" keeps group, maker and instructions."""
    if request.method == "POST":
        form, cycles = InstrumentForm(request.POST), CycleFormSet(request.POST, prefix="cycles")
        if form.is_valid() and cycles.is_valid():
            actor, rows = actions.actor_for(request.user), cycles.values()
            made = saved(
                form, "item_number", lambda: actions.add_instrument(actor, form.values(), rows)
            )
            if made:
                return _after(request, made)
    else:
        initial = {name: request.GET.get(name, "") for name in KEPT_FOR_THE_NEXT}
        form, cycles = InstrumentForm(initial=initial), CycleFormSet(prefix="cycles")
    home = reverse("catalog:instruments")
    return form_page(request, form, None, FIELDSETS, home, cycles, FORM_PAGE)


def _after(request: HttpRequest, made: Instrument) -> HttpResponse:
    messages.success(request, f"{made} is saved.")
    if "again" in request.POST:
        kept = {name: request.POST.get(name, "") for name in KEPT_FOR_THE_NEXT}
        return redirect(reverse("catalog:add_instrument", query=kept))
    return redirect("instrument", item_number=made.item_number)


@permission_required("catalog.change_instrument", raise_exception=True)
def edit(request: HttpRequest, item_number: str) -> HttpResponse:
    """New values for an instrument and its cycles."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    form = InstrumentForm(request.POST or None, instance=instrument)
    cycles = CycleFormSet(request.POST or None, prefix="cycles", initial=cycles_of(instrument))
    return change_page(
        request, form, instrument, FIELDSETS, reverse("instrument", args=[instrument.item_number]),
        actions.change_instrument, cycles, template=FORM_PAGE,
    )  # fmt: skip


@permission_required("catalog.change_instrument", raise_exception=True)
def retire(request: HttpRequest, item_number: str) -> HttpResponse:
    """Retire with a reason, or bring back; nothing is ever deleted."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    back = reverse("instrument", args=[instrument.item_number])
    return retire_page(request, instrument, back, where_used(instrument))


@read_page("catalog.view_instrument")
def photo(request: HttpRequest, item_number: str) -> HttpResponse | FileResponse:
    """The picture itself, for signed-in people only."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    if not instrument.photo or not default_storage.exists(instrument.photo):
        raise Http404("No photograph is on record.")
    return FileResponse(
        default_storage.open(instrument.photo),
        content_type="image/jpeg",
        headers={"Cache-Control": "private, max-age=3600", "X-Content-Type-Options": "nosniff"},
    )


@permission_required("catalog.change_instrument", raise_exception=True)
def change_photo(request: HttpRequest, item_number: str) -> HttpResponse:
    """Take in a photograph, or remove the one there is."""
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    problem = ""
    if request.method == "POST":
        try:
            name = "" if "remove" in request.POST else _kept_photo(request)
        except photos.PhotoError as error:
            problem = str(error)
        else:
            _replace_photo(request, instrument, name)
            return redirect("instrument", item_number=instrument.item_number)
    context = {"instrument": instrument, "problem": problem, "limit": photos.MAX_BYTES // 10**6}
    return render(request, "catalog/instruments/photo.html", context)


def _kept_photo(request: HttpRequest) -> str:
    sent = request.FILES.get("photo")
    if sent is None:
        raise photos.PhotoError("No file was chosen. Choose one, then send it.")
    if (sent.size or 0) > photos.MAX_BYTES:
        limit = photos.MAX_BYTES // 10**6
        raise photos.PhotoError(f"The file is larger than {limit} MB. Take a smaller one.")
    return photos.keep(photos.made_anew(sent.read()))


def _replace_photo(request: HttpRequest, instrument: Instrument, name: str) -> None:
    """The old file goes only when the new name is safely on record."""
    old = instrument.photo
    with transaction.atomic():
        actions.change_instrument(actions.actor_for(request.user), instrument, {"photo": name})
        transaction.on_commit(lambda: photos.forget(old))
    messages.success(request, "The photograph is saved." if name else "It is removed.")

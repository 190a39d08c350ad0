"""Sets by hand: add, change, retire."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from catalog import actions
from catalog.forms.sets import SetForm
from catalog.models import InstrumentSet
from catalog.pages.by_hand import change_page, form_page, retire_page, saved

FIELDSETS = (
    ("What it is", ("code", "name", "service")),
    (
        "Packed in",
        ("packed_in", "container", "basket", "wrap", "pouches_inside", "pouches_validated"),
    ),
    ("Size of the closed pack, measured", ("pack_length_mm", "pack_width_mm", "pack_height_mm")),
    (
        "On its count sheet",
        (
            "sheet_other_names",
            "sheet_notes",
            "sheet_substitutes",
            "sheet_weights",
            "sheet_maker_numbers",
        ),
    ),
)


@permission_required("catalog.add_instrumentset", raise_exception=True)
def add(request: HttpRequest) -> HttpResponse:
    """A new set; its count sheet comes next."""
    form = SetForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actor = actions.actor_for(request.user)
        if made := saved(form, "code", lambda: actions.add_set(actor, form.values())):
            messages.success(request, f"{made} is saved. Now its count sheet.")
            return redirect("catalog:start_draft", code=made.code)
    home = reverse("catalog:sets")
    return form_page(request, form, None, FIELDSETS, home, title="New set")


@permission_required("catalog.change_instrumentset", raise_exception=True)
def edit(request: HttpRequest, code: str) -> HttpResponse:
    """New values for a set; its count sheets are edited as drafts."""
    instrument_set = get_object_or_404(InstrumentSet, code__folded=code)
    form = SetForm(request.POST or None, instance=instrument_set)
    return change_page(
        request, form, instrument_set, FIELDSETS, reverse("set", args=[instrument_set.code]),
        actions.change_set, title=f"Change {instrument_set}",
    )  # fmt: skip


@permission_required("catalog.change_instrumentset", raise_exception=True)
def retire(request: HttpRequest, code: str) -> HttpResponse:
    """Retire with a reason, or bring back; nothing is ever deleted."""
    instrument_set = get_object_or_404(InstrumentSet, code__folded=code)
    return retire_page(request, instrument_set, reverse("set", args=[instrument_set.code]))

"""Supplies, programmes and sterilizers by hand: one page, one form for each kind."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db import models
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from catalog import actions
from catalog.forms.base import label_of
from catalog.forms.claims import ClaimFormSet, claims_of
from catalog.forms.supplies import KINDS, form_for, name_of
from catalog.history import changes_of, in_words
from catalog.models import Programme
from catalog.models.fields import METHODS
from catalog.models.supplies import AnySupply
from catalog.pages.by_hand import change_page, form_page, saved
from catalog.pages.tables import UNKNOWN
from catalog.reading import read_page
from catalog.units import show_length, show_weight


def _model(kind: str) -> type[AnySupply]:
    if kind not in KINDS:
        raise Http404("There is no such kind of supply.")
    return KINDS[kind]


@read_page("catalog.view_pouch")
def supply_page(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """All that is on record of one supply, programme or sterilizer, with its history."""
    model = _model(kind)
    supply = get_object_or_404(model, code__folded=code)
    context = {
        "supply": supply,
        "kind": kind,
        "kind_name": name_of(kind),
        "facts": facts_of(supply),
        "history": changes_of(supply) if request.user.has_perm("catalog.view_change") else None,
    }
    return render(request, "catalog/supply.html", context)


def facts_of(supply: Any) -> list[tuple[str, Any]]:
    """Label and value of every column, the lists of other rows last."""
    facts: list[tuple[str, Any]] = [
        (label_of(column), _shown(supply, column))
        for column in supply._meta.fields
        if column.name not in ("id", "code", "name")
    ]
    for column in supply._meta.many_to_many:
        rows = getattr(supply, column.name).all()
        facts.append((label_of(column), ", ".join(map(str, rows)) or "none"))
    if isinstance(supply, Programme):
        facts.extend((f"Claim {n} for lumens", str(row)) for n, row in
                     enumerate(supply.claims.all(), start=1))  # fmt: skip
    return facts


def _shown(supply: Any, column: models.Field) -> Any:
    value = getattr(supply, column.name)
    if value is None or (value == "" and column.choices):
        return UNKNOWN
    if column.name == "labelled_methods":
        words = dict(METHODS)
        return ", ".join(str(words.get(name, name)) for name in value)
    if column.choices:
        return getattr(supply, f"get_{column.name}_display")()
    if column.name == "gusset_mm":
        return f"{value.normalize():f} mm" if value else "flat"
    if column.name.endswith("_mm"):
        return show_length(value)
    if column.name.endswith("_g"):
        return show_weight(value)
    if column.name.endswith("_months"):
        return f"{value} month{'' if value == 1 else 's'}"
    if isinstance(column, models.DecimalField):
        unit = "°C" if column.name.endswith("_c") else ""
        unit = "min" if column.name.endswith("_min") else unit
        return f"{value.normalize():f} {unit}".strip()
    return "" if value == "" else in_words(value)


@permission_required("catalog.add_pouch", raise_exception=True)
def add(request: HttpRequest, kind: str) -> HttpResponse:
    """A new supply of one kind."""
    model = _model(kind)
    form, claims = form_for(kind)(request.POST or None), _claims(request, model, None)
    if request.method == "POST" and form.is_valid() and (claims is None or claims.is_valid()):
        actor, rows = actions.actor_for(request.user), () if claims is None else claims.values()
        made = saved(form, "code", lambda: actions.add_supply(actor, model, form.values(), rows))
        if made:
            messages.success(request, f"{made} is saved.")
            return redirect("catalog:supply", kind=kind, code=made.code)
    home, title = reverse("catalog:supplies"), f"New {name_of(kind)}"
    return form_page(request, form, None, (), home, claims, title=title)


def _claims(request: HttpRequest, model: type[AnySupply], supply: Any) -> Any:
    """The rows of claims under a programme's form; None for all that has no claims.

    What is sent without such rows leaves the claims as they are.
    """
    if model is not Programme or (request.POST and "claims-TOTAL_FORMS" not in request.POST):
        return None
    return ClaimFormSet(request.POST or None, prefix="claims", initial=claims_of(supply))


@permission_required("catalog.change_pouch", raise_exception=True)
def edit(request: HttpRequest, kind: str, code: str) -> HttpResponse:
    """New values for a supply; "in stock" unticked takes it out of every decision."""
    model = _model(kind)
    supply: Any = get_object_or_404(model, code__folded=code)
    form = form_for(kind)(request.POST or None, instance=supply)
    claims = _claims(request, model, supply)
    back, title = reverse("catalog:supply", args=[kind, supply.code]), f"Change {name_of(kind)}"
    return change_page(
        request, form, supply, (), back, actions.change_supply, claims, title=f"{title} {supply}"
    )

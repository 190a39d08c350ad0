"""The page that retires a thing with a reason, or brings it back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from catalog import actions
from catalog.forms.sets import ReasonForm
from catalog.models import Instrument, InstrumentSet


def retire_page(
    request: HttpRequest, thing: Instrument | InstrumentSet, back: str, uses: Sequence[Any] = ()
) -> HttpResponse:
    """Asks for the reason; ``back`` is the thing's own page, ``uses`` where it is used."""
    form = ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actor = actions.actor_for(request.user, form.cleaned_data["reason"])
        actions.set_retired(actor, thing, not thing.retired)
        done = "is retired" if thing.retired else "is back in the lists"
        messages.success(request, f"{thing} {done}.")
        return redirect(back)
    context = {
        "thing": thing,
        "uses": uses,
        "form": form,
        "back": back,
    }
    return render(request, "catalog/retire.html", context)

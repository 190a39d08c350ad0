"""What the pages share on which a thing is changed by hand: its form, and its retirement."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from catalog import actions
from catalog.forms.sets import ReasonForm
from catalog.history import changes_of
from catalog.models import Instrument, InstrumentSet

T = TypeVar("T")
Fieldsets = Iterable[tuple[str, Iterable[str]]]
"""Headings with the names of the fields under each; none: all fields under no heading."""


def form_page(
    request: HttpRequest, form: Any, thing: Any, fieldsets: Fieldsets, back: str,
    rows: Any = None, template: str = "catalog/form.html", **more: Any,
) -> HttpResponse:  # fmt: skip
    """The form of a thing, None for a new one; ``back`` leaves it without saving.

    ``rows`` is the form set under it, None where it has none.
    """
    context = {
        "form": form,
        "fieldsets": [(heading, [form[name] for name in names]) for heading, names in fieldsets]
        or [("", form.visible_fields())],
        "thing": thing,
        "back": back,
        "rows": rows,
        "history": changes_of(thing) if thing else [],
        **more,
    }
    return render(request, template, context)


def saved(form: Any, number: str, save: Callable[[], T]) -> T | None:
    """What ``save`` does; None where somebody saved the same number or code at that moment, which
    the field ``number`` then says: the form looked before the other one was there."""
    try:
        with transaction.atomic():
            return save()
    except (IntegrityError, ValidationError):
        form.add_error(number, "Somebody else saved the same one at this moment. Nothing of yours "
                       "was saved: look at theirs, or give another.")  # fmt: skip
        return None


def change_page(
    request: HttpRequest, form: Any, thing: Any, fieldsets: Fieldsets, back: str,
    change: Callable[..., Any], rows: Any = None, **more: Any,
) -> HttpResponse:  # fmt: skip
    """The form of a thing on record.

    Sent, the verb ``change`` gets the actor, the thing as it was, and what the forms say;
    ``back`` is the thing's own page.
    """
    if request.method == "POST":
        if form.is_valid() and (rows is None or rows.is_valid()):
            as_it_was = type(thing)._default_manager.get(pk=thing.pk)
            under = () if rows is None else (rows.values(),)
            change(actions.actor_for(request.user), as_it_was, form.values(), *under)
            messages.success(request, f"{as_it_was} is saved.")
            return redirect(back)
        thing.refresh_from_db()
    return form_page(request, form, thing, fieldsets, back, rows, **more)


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
    context = {"thing": thing, "uses": uses, "form": form, "back": back}
    return render(request, "catalog/retire.html", context)

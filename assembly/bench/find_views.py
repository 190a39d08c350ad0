"""The one address that finds: what the field in the head of every page asks."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from assembly.bench.counting import Said
from assembly.models import Load, OwnContainer, Package, ShelfPlace
from assembly.persons import ASSEMBLE, KEEP_SHELF
from catalog.lookup.finding import Found, Want, find
from catalog.lookup.offered import Kind
from catalog.models import Instrument, InstrumentSet
from catalog.reading import read_page

EVERYTHING = Want(kinds=frozenset(Kind))


@read_page("catalog.view_instrument")
def find_page(request: HttpRequest) -> HttpResponse:
    """The page of the one thing meant, at once; else all that fits, or what is wrong."""
    found = find(request.GET.get("q", ""), EVERYTHING)
    if isinstance(found.one, ShelfPlace) and not request.user.has_perm(KEEP_SHELF):
        found = Found(found.words, problem=f"{found.one} is a shelf place.", refused=True)
    if isinstance(found.one, OwnContainer) and not request.user.has_perm(ASSEMBLE):
        found = Found(found.words, problem=f"{found.one} is a container.", refused=True)
    if found.one:
        if found.hint:
            messages.info(request, found.hint)
        return redirect(page_of(found.one))
    here = request.path if found.not_to_be_shown else ""
    return render(request, "assembly/bench/find.html", {
        "found": found, "said": _said_of(found), "here": here,
    })  # fmt: skip


def _said_of(found: Found) -> Said | None:
    if found.nothing and found.problem:
        return Said("wrong", found.problem)
    return Said("note", found.guess_words) if found.guess_words else None


def page_of(thing: Model) -> str:
    """Where the obvious next step with a thing stands."""
    if isinstance(thing, Instrument):
        return reverse("instrument", kwargs={"item_number": thing.item_number})
    if isinstance(thing, Package):
        return reverse("package", kwargs={"code": thing.code})
    if isinstance(thing, Load):
        return reverse("load", kwargs={"pk": thing.pk})
    if isinstance(thing, OwnContainer):
        return reverse("container", kwargs={"number": thing.number})
    if isinstance(thing, ShelfPlace):
        return f"{reverse('shelf')}?place={thing.code}"
    assert isinstance(thing, InstrumentSet)
    return reverse("set", kwargs={"code": thing.code})

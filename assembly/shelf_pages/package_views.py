"""The page of a package that left the bench, and the requests it left behind."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from assembly.bench.settings import switch, with_keys
from assembly.judging.taking import supplies_in
from assembly.models import Package, Repair, Shortfall
from assembly.packages import recording as packages
from assembly.packages.standing import load_of, with_standing
from assembly.persons import ASSEMBLE, RUN_LOAD, person_at
from assembly.presses import back_from, told, verb_page
from assembly.rules.telling.labelling import placement
from assembly.shelf_pages.forms import Closed, Voided
from assembly.shortfalls import replenishing
from assembly.sterilizing.lists import gathering_for
from catalog.reading import read_page


@read_page("assembly.view_package")
def package_page(request: HttpRequest, code: str) -> HttpResponse:
    """Contents, the decision as it was, and in large words whether its label is void."""
    package = get_object_or_404(
        with_standing(Package.objects.select_related("build", "instrument")), code__iexact=code
    )
    kind, _ = supplies_in(package.decision["taken"])
    context = with_keys(
        package=package,
        printing=bool(request.GET.get("print")),
        placement=placement(kind),
        load=load_of(package),
        loads=gathering_for(package) if request.user.has_perm(RUN_LOAD) else [],
    )
    return render(request, "assembly/packages/package.html", context)


@verb_page(ASSEMBLE, "package")
def void_package(request: HttpRequest, code: str) -> HttpResponse:
    """Void a single package, with the reason."""
    package = get_object_or_404(Package, code__iexact=code)
    packages.void_package(person_at(request), package.pk, **Voided.read(request.POST))
    return redirect("package", code=package.code)


def _still_open(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    return told(request, problem, reverse("bench"))


@verb_page(ASSEMBLE, _still_open)
def close_request(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """All that a set went short of is back, or an instrument is back from repair."""
    sent = Closed.read(request.POST)
    if kind == "repair":
        get_object_or_404(Repair, pk=pk)
        packages.close_repair(person_at(request), pk, **sent)
    elif kind == "shortage":
        replenishing.all_back(person_at(request), get_object_or_404(Shortfall, pk=pk), **sent)
    else:
        raise Http404(f"A {kind} is nothing that can be closed.")
    return redirect("bench")


@require_POST
def switch_setting(request: HttpRequest) -> HttpResponse:
    """Sound, flash or single-key shortcuts, on or off for this session."""
    switch(request, request.POST.get("name", ""))
    return back_from(request)

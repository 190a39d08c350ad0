"""The first page of each person, and the part of the Bench that renews itself."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from assembly.bench.lists import lists_for
from assembly.bench.settings import with_keys
from assembly.equipment.standing import open_today
from assembly.first_pages import waiting
from assembly.first_pages.coordinating import waits_for_coordinators
from assembly.first_pages.how import pages
from assembly.models import Proposal
from assembly.persons import ASK, ASSEMBLE, OVERRIDE, Person, person_at
from assembly.questions.asking import answers_for
from assembly.request_pages.asking_views import ask_page
from assembly.requests.lists import seen
from catalog.models import Change, Sealer
from catalog.reading import read_page

NEWS = timedelta(days=1)
"""How long a value that was turned down is told to who proposed it."""


@require_safe
def home(request: HttpRequest) -> HttpResponseBase:
    """The first page of whoever is signed in: the Bench, Ask, or What waits for you."""
    if request.user.has_perm(OVERRIDE):
        return waits_page(request)
    if not request.user.has_perm(ASSEMBLE) and request.user.has_perm(ASK):
        return ask_page(request)
    return bench(request)


@read_page("catalog.view_instrument")
def bench(request: HttpRequest) -> HttpResponse:
    """What goes on, what waits, and below it, folded, what else is going on."""
    person = person_at(request)
    may = request.user.has_perm("assembly.view_build")
    packs = request.user.has_perm(ASSEMBLE)
    context = with_keys(
        lists=lists_for(person) if may else None,
        equipment=open_today(Sealer.objects.filter(active=True)) if packs else [],
        **_waits(request, person),
    )
    return render(request, "assembly/bench/bench.html", context)


@require_safe
@permission_required(ASSEMBLE, raise_exception=True)
def bench_now(request: HttpRequest) -> HttpResponse:
    """What waits, or 204 where nothing was written down since ``?seen=``."""
    marker = seen(Change)
    if request.GET.get("seen") == marker:
        return HttpResponse(status=204)
    context = with_keys(**_waits(request, person_at(request), marker))
    return render(request, "assembly/first_pages/_waits.html", context)


def _waits(request: HttpRequest, person: Person, marker: str = "") -> dict[str, Any]:
    if not request.user.has_perm(ASSEMBLE):
        return {}
    marker = marker or seen(Change)  # before all is read: what comes meanwhile is asked for again
    since = timezone.now() - NEWS
    down = Proposal.objects.filter(asker_id=person.pk, state=Proposal.State.TURNED_DOWN,
                                   ended_at__gte=since)  # fmt: skip
    turned_down = list(down.select_related("instrument").prefetch_related("steps"))
    return {"waits": waiting.waits(), "answers": answers_for(person), "turned_down": turned_down,
            "seen": marker}  # fmt: skip


@read_page("catalog.view_instrument")
def how_page(request: HttpRequest, role: str) -> HttpResponse:
    """How one role works, in five steps; it prints on one sheet."""
    how = pages().get(role)
    if how is None:
        raise Http404(f"There is no page for a {role}.")
    return render(request, "assembly/first_pages/how.html", {"how": how})


@read_page(OVERRIDE)
def waits_page(request: HttpRequest) -> HttpResponse:
    """What waits for a coordinator; a part that is empty does not show."""
    context = with_keys(waits=waits_for_coordinators(request.user))
    return render(request, "assembly/first_pages/waits.html", context)

"""The requests' pages: a department's list, one request, what is done with it, the queue."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from assembly.bench.pack_views import packing_page
from assembly.bench.settings import with_keys
from assembly.judging.decisions import Answer
from assembly.judging.taking import Plan
from assembly.ledger import Refused
from assembly.models import Package, Request, RequestState
from assembly.packages.shelf import package_at
from assembly.packages.standing import with_standing
from assembly.persons import Person, person_at
from assembly.requests import asking, lists, working
from assembly.requests.forms import remember, remembered
from assembly.requests.sources import can_serve, sources_for

VIEW, ASK, WORK = "assembly.view_request", "assembly.ask_request", "assembly.work_request"
ALL = "all"


@permission_required(VIEW, raise_exception=True)
def list_page(request: HttpRequest) -> HttpResponse:
    """Open and past requests of the department; opening it notes that the person looked."""
    since = lists.look(person_at(request))
    return render(request, "assembly/requests/list.html", _list(request, since))


@permission_required(VIEW, raise_exception=True)
def list_now(request: HttpRequest) -> HttpResponse:
    """The lists alone, or 204 where neither a step nor a minute passed since ``?seen=``."""
    since = request.GET.get("since", "")
    number = since.isascii() and since.isdigit() and len(since) < 18
    context = _list(request, int(since) if number else 0)
    if request.GET.get("seen") == context["seen"]:
        return HttpResponse(status=204)
    return render(request, "assembly/requests/_list.html", context | {"polled": True})


def _list(request: HttpRequest, since: int) -> dict[str, Any]:
    person = person_at(request)
    department = remembered(request, person)["department"]
    running, past = lists.of_department(department, person, since)
    changed = [one for one in (*running, *past) if one.changed]
    told = request.user.has_perm("assembly.set_stock_level")
    return with_keys(
        department=department,
        departments=asking.departments(),
        running=running,
        past=past,
        changed=changed,
        since=since,
        seen=f"{lists.newest_step()}-{timezone.now():%H%M}",
        nothing=lists.nothing_can_serve() if told else [],
    )


@require_POST
@permission_required(VIEW, raise_exception=True)
def choose_department(request: HttpRequest) -> HttpResponse:
    """Whose requests are shown, for this session; empty means all."""
    remember(request, request.POST.get("department", ""))
    return redirect("requests")


@permission_required(WORK, raise_exception=True)
def queue_part(request: HttpRequest) -> HttpResponse:
    """The queue as the Bench shows it."""
    return render(request, "assembly/requests/_queue.html", with_keys(rows=lists.queue()))


# --- one request ----------------------------------------------------------------------


@permission_required(VIEW, raise_exception=True)
def request_page(request: HttpRequest, pk: int) -> HttpResponse:
    """How it stands, where it could come from, what can be done, and every step."""
    return render(request, "assembly/requests/request.html", _one(request, pk))


@permission_required(VIEW, raise_exception=True)
def request_now(request: HttpRequest, pk: int) -> HttpResponse:
    """How it stands, or 204 where nothing happened since ``?seen=``."""
    context = _one(request, pk)
    if request.GET.get("seen") == context["seen"]:
        return HttpResponse(status=204)
    return render(request, "assembly/requests/_request.html", context)


def _one(request: HttpRequest, pk: int) -> dict[str, Any]:
    found = get_object_or_404(
        Request.objects.select_related("instrument", "wanted_set", "missing_from",
                                       "missing_in_package").prefetch_related("steps"), pk=pk
    )  # fmt: skip
    person, row = person_at(request), lists.rows([found])[0]
    works = request.user.has_perm(WORK)
    sources = sources_for(found.instrument, found.wanted_set, found.needed_by,
                          found.missing_from, found.missing_in_package)  # fmt: skip
    return with_keys(
        one=found,
        row=row,
        ties=found.ties.filter(let_go_at=None).prefetch_related(
            Prefetch("package", with_standing(Package.objects.all()))
        ),
        sources=sources if found.running else [],
        serves=can_serve(sources),
        told=found.told if found.state == RequestState.OPEN else [],
        seen=f"{found.last_step}-{timezone.now():%H%M}",
        mine=works and found.holder_id == person.pk,
        works=works,
        theirs=found.asker_id == person.pk,
        retired=bool(found.instrument and found.instrument.retired),
    )


@require_POST
@permission_required(VIEW, raise_exception=True)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    get_object_or_404(Request, pk=pk)
    permission, verb = ACTS.get(request.POST.get("act", ""), (VIEW, None))
    if not request.user.has_perm(permission):
        raise PermissionDenied
    if verb is None:
        messages.error(request, "That is nothing this page does.")
        return redirect("request", pk=pk)
    try:
        packs = verb(person_at(request), pk, request)
    except Refused as problem:
        messages.error(request, str(problem))
        return redirect("request", pk=pk)
    return redirect(_pack_address(packs)) if packs else redirect("request", pk=pk)


def _pack_address(one: Request) -> str:
    pieces = f"?pieces={one.quantity}" if one.quantity > 1 else ""
    return reverse("request_pack", args=[one.pk]) + pieces


def _key(request: HttpRequest) -> str:
    return request.POST.get("key", "")


def _reason(request: HttpRequest) -> str:
    return request.POST.get("reason", "")[:300]


def _take(person: Person, pk: int, request: HttpRequest) -> None:
    working.take(person, pk, _key(request))


def _take_and_pack(person: Person, pk: int, request: HttpRequest) -> Request:
    return working.take_and_pack(person, pk, _key(request))


def _pack(person: Person, pk: int, request: HttpRequest) -> Request:
    return working.start_packing(person, pk, _key(request))


def _send(person: Person, pk: int, request: HttpRequest) -> None:
    words = request.POST.get("words", "").strip()
    package = package_at(words) if words else None
    working.send(person, pk, _key(request), package, _reason(request))


def _tie(person: Person, pk: int, request: HttpRequest) -> None:
    working.tie(person, pk, package_at(request.POST.get("words", "")))


def _untie(person: Person, pk: int, request: HttpRequest) -> None:
    working.untie(person, pk, package_at(request.POST.get("words", "")))


def _hand_over(person: Person, pk: int, request: HttpRequest) -> None:
    working.hand_over(person, pk, _key(request))


def _give_back(person: Person, pk: int, request: HttpRequest) -> None:
    working.give_back(person, pk, _key(request), _reason(request))


def _not_met(person: Person, pk: int, request: HttpRequest) -> None:
    working.could_not_be_met(person, pk, _key(request), _reason(request))


def _withdraw(person: Person, pk: int, request: HttpRequest) -> None:
    asking.withdraw(person, pk, _key(request), _reason(request))


ACTS: dict[str, tuple[str, Callable[[Person, int, HttpRequest], Request | None]]] = {
    "take": (WORK, _take),
    "take and pack": (WORK, _take_and_pack),
    "pack": (WORK, _pack),
    "add": (WORK, _tie),
    "take off": (WORK, _untie),
    "send": (WORK, _send),
    "hand over": (WORK, _hand_over),
    "give back": (WORK, _give_back),
    "not met": (WORK, _not_met),
    "withdraw": (ASK, _withdraw),
}
"""Every press on the page of a request, with the permission it needs."""


@permission_required((WORK, "assembly.assemble"), raise_exception=True)
def pack_for(request: HttpRequest, pk: int) -> HttpResponse:
    """The single-package flow with the right instrument; its package serves the request.

    Nothing is packed for a request that this person no longer holds: the page says why.
    """
    one = get_object_or_404(Request.objects.select_related("instrument"), pk=pk)
    if one.instrument is None:
        messages.error(request, "Nothing was packed. Only an instrument can be packed.")
        return redirect("request", pk=pk)

    def pack(person: Person, answer: Answer, plan: Plan, key: str) -> Package:
        package = working.pack_for_request(person, pk, answer, plan, key)
        messages.success(request, f"For {one.destination}. Next: send it, on request {pk}.")
        return package

    due = lists.clock(one.needed_by, timezone.now())
    return packing_page(request, one.instrument, pack, wanted=True, for_request=one, due=due)

"""The requests' pages: a department's list, one request, what is done with it, the queue."""

from __future__ import annotations

from collections.abc import Sized
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db import DatabaseError
from django.db.models import Count, Prefetch, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from assembly.bench.settings import with_keys
from assembly.complaints.saying import notices_for as complaint_notices_for
from assembly.judging.decisions import Answer
from assembly.judging.taking import Plan
from assembly.models import Build, Package, Request, RequestState
from assembly.packages.forms import OfPackage
from assembly.packages.recalls import notices_for
from assembly.packages.shelf import oldest
from assembly.packages.standing import Word, every_with_standing, load_in, standing_of
from assembly.persons import ASSEMBLE, SET_LEVELS, WORK, Person, person_at
from assembly.presses import Act, Reasoned, perform, refusals, verb_page
from assembly.requests import asking, lists, together, working
from assembly.requests.clocks import clock
from assembly.requests.coming import coming
from assembly.requests.debrief import why_short
from assembly.requests.forms import Away, Instead, Later, remember, remembered
from assembly.requests.needs import BEING_MADE
from assembly.requests.next_steps import next_of
from assembly.requests.sources import Offered, offered_together, sources_for
from assembly.requests.timing import Timing
from assembly.requests.together import lines_of
from assembly.singles.packing import packing_page
from catalog.forms.fields import row_number
from catalog.reading import read_page

VIEW = "assembly.view_request"
ALL = "all"


@read_page(VIEW)
def list_page(request: HttpRequest) -> HttpResponse:
    """Open and past requests of the department; opening it notes that the person looked."""
    try:
        since = lists.look(person_at(request))
    except DatabaseError:  # it can be read though nothing can be saved
        since = lists.newest_step()
    return render(request, "assembly/requests/list.html", _list(request, since, lists.seen()))


@read_page(VIEW)
def list_now(request: HttpRequest) -> HttpResponse:
    """The lists alone, or 204 where neither a step nor a minute passed since ``?seen=``."""
    seen = lists.seen()
    if request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    context = _list(request, row_number(request.GET.get("since")), seen)
    return render(request, "assembly/requests/_list.html", context | {"polled": True})


def _list(request: HttpRequest, since: int, seen: str) -> dict[str, Any]:
    person = person_at(request)
    department = remembered(request, person)["department"]
    running, past = lists.of_department(department, person, since)
    changed = [one for one in (*running, *past) if one.changed]
    told = request.user.has_perm(SET_LEVELS)
    return with_keys(
        department=department,
        departments=asking.departments(),
        running=lists.together(running),
        past=lists.together(past),
        past_more=lists.MOST_PAST if len(past) == lists.MOST_PAST else 0,
        changed=changed,
        since=since,
        seen=seen,
        recall_notices=notices_for(department),
        complaint_notices=complaint_notices_for(department),
        nothing=lists.nothing_can_serve() if told else [],
    )


@require_POST
@permission_required(VIEW, raise_exception=True)
def choose_department(request: HttpRequest) -> HttpResponse:
    """Whose requests are shown, for this session; empty means all."""
    remember(request, request.POST.get("department", ""))
    return redirect("requests")


# --- one request ----------------------------------------------------------------------


@read_page(VIEW)
def request_page(request: HttpRequest, pk: int) -> HttpResponse:
    """How it stands, where it could come from, what can be done, and every step."""
    return render(request, "assembly/requests/request.html", _one(request, pk, _seen(pk)))


@read_page(VIEW)
def request_now(request: HttpRequest, pk: int) -> HttpResponse:
    """How it stands, or 204 where nothing happened since ``?seen=``."""
    seen = _seen(pk)
    if request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    return render(request, "assembly/requests/_request.html", _one(request, pk, seen))


def _seen(pk: int) -> str:
    """Another text with every step of it, of its packages and of their loads, and with every
    minute: how it stands and what is reckoned hang on all of them. One query."""
    kept = Q(ties__let_go_at=None)
    steps = Request.objects.filter(pk=pk).annotate(
        sealed=Count("ties__package__sealed_at", filter=kept),
        moves=Sum("ties__package__last_step", filter=kept),
        loads=Sum("ties__package__loaded__load__last_step", filter=kept),
    )
    names = ("last_step", "sealed", "moves", "loads")
    said = "-".join(str(one or 0) for one in get_object_or_404(steps.values_list(*names)))
    return f"{said}-{timezone.now():%H%M}"


def _one(request: HttpRequest, pk: int, seen: str) -> dict[str, Any]:
    found = get_object_or_404(
        Request.objects.select_related(*lists.WITH, "wanted_set", "missing_in_package")
        .prefetch_related("steps"), pk=pk
    )  # fmt: skip
    timing = Timing()
    person, lines = person_at(request), _lines_with(found)
    every = lists.rows(lines, timing=timing)
    row = next(one for one in every if one.request.pk == pk)
    works = request.user.has_perm(WORK)
    return with_keys(
        one=found,
        row=row,
        **_its_packages(found, row, person, works),
        **offered_together([_offered(found, timing)]),
        together=lists.Together(tuple(every)) if len(every) > 1 else None,
        acts=_for_all(every, person) if works else (),
        told=found.told if found.running else [],
        later=_minute(row.ready.shown) if row.behind and row.ready else "",
        why_short=why_short(found),
        seen=seen,
        mine=works and found.holder_id == person.pk,
        works=works,
        theirs=found.asker_id == person.pk,
        retired=bool(found.packed_as and found.packed_as.retired),
    )


def _minute(moment: datetime | None) -> str:
    """A moment as a field for a day and a time has it."""
    return f"{timezone.localtime(moment):%Y-%m-%dT%H:%M}" if moment else ""


def _its_packages(
    one: Request, row: lists.Row, person: Person, works: bool
) -> dict[str, Any]:  # fmt: skip
    """The packages that serve it, what hinders them, and which is to be fetched."""
    packages = list(row.held) if one.running else _served(one)
    not_yet = [
        (package, standing_of(package), next_of(package, person))
        for package in (packages if one.state in working.WORKING else ())
        if not standing_of(package).may_go
    ]
    short = bool(packages) and _goes_short(one, packages)
    fetched = works and row.on_shelf and not one.instead_set and (short or not packages)
    return {
        "ties": [(package, load_in(package)) for package in packages],
        "not_yet": not_yet,
        "ready": packages and not not_yet,
        "short": short,
        "oldest": oldest(one.served_by) if fetched else None,
        **_of_a_set(one, packages),
    }


def _served(one: Request) -> list[Package]:
    """The packages that a request got that has ended."""
    held = Prefetch("package", every_with_standing())
    return [tied.package for tied in one.ties.filter(let_go_at=None).prefetch_related(held)]


def _of_a_set(one: Request, packages: list[Package]) -> dict[str, Any]:
    """What brings a set in hand that no package on the shelf serves: one that is on its way to be
    sterile, an assembly that goes on, or another."""
    wanted = one.wanted_set
    lacks = working.pieces_for(one, packages) < one.quantity
    if not wanted or not lacks or wanted.retired or one.state not in working.WORKING:
        return {}
    found = coming(Package.objects.filter(kind=Package.Kind.SET, number=wanted.code))
    if nearest := next((each for held in found.values() for each in held), None):
        return {"nearest": nearest, "nearest_why": standing_of(nearest).why}
    going_on = Build.objects.filter(instrument_set=wanted, state__in=BEING_MADE)
    return {"assembly": going_on.order_by("started_at").first(), "assembles": True}


def _offered(one: Request, timing: Timing) -> Offered:
    """Where it could come from, while it runs."""
    sources = sources_for(one.instrument, one.wanted_set, one.needed_by, one.missing_from,
                          one.missing_in_package, timing) if one.running else []  # fmt: skip
    return Offered(one.what, one.number, sources, one.needed_by, one.quantity,
                   one.served_by if one.chosen else "")  # fmt: skip


def _lines_with(one: Request) -> list[Request]:
    """The lines of its request in order, this very row among them."""
    if one.lines == 1:
        return [one]
    others = lines_of(one.pk).exclude(pk=one.pk).select_related(*lists.WITH)
    return sorted([one, *others.prefetch_related("steps")], key=lambda each: each.line)


def _for_all(every: list[lists.Row], person: Person) -> list[str]:
    """What one press can do for all lines of a request, by the names of the presses."""
    mine = [one for one in every if one.request.holder_id == person.pk
            and one.request.state in working.WORKING]  # fmt: skip
    states: dict[str, Sized] = {
        "take all": [one for one in every if one.request.state == RequestState.OPEN],
        "send all": mine if all(one.far == lists.FAR[Word.RELEASED] for one in mine) else [],
        "hand over all": [one for one in every if one.request.state == RequestState.ON_THE_WAY],
    }
    return [name for name, found in states.items() if len(found) > 1]


def _goes_short(one: Request, packages: list[Package]) -> bool:
    """Whether sending these needs a reason: fewer pieces than asked for, or shortages."""
    fewer = working.pieces_for(one, packages) < one.quantity
    return fewer or any(package.shortages for package in packages)


@verb_page(VIEW, "request")
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    get_object_or_404(Request, pk=pk)
    done = perform(request, pk, ACTS)
    packs = request.POST["act"] in PACKS
    return redirect(_pack_address(done) if packs else reverse("request", args=[pk]))


def _pack_address(one: Request) -> str:
    pieces = f"?pieces={one.quantity}" if one.quantity > 1 else ""
    return reverse("request_pack", args=[one.pk]) + pieces


ACTS = {
    "take": Act(working.take),
    "take and pack": Act(working.take_and_pack),
    "pack": Act(working.start_packing),
    "add": Act(working.tie, OfPackage),
    "take off": Act(working.untie, OfPackage),
    "send": Act(working.send, Away),
    "hand over": Act(working.hand_over),
    "give back": Act(working.give_back, Reasoned),
    "not met": Act(working.could_not_be_met, Reasoned),
    "withdraw": Act(asking.withdraw, Reasoned),
    "tell": Act(asking.tell),
    "other source": Act(asking.choose_source, Instead),
    "other time": Act(together.put_off, Later),
    "take all": Act(together.take_all),
    "send all": Act(together.send_all),
    "hand over all": Act(together.hand_over_all),
    "withdraw all": Act(together.withdraw_all, Reasoned),
}
"""Every press on the page of a request."""
PACKS = ("take and pack", "pack")
"""After these the instrument is packed."""


@permission_required((WORK, ASSEMBLE), raise_exception=True)
@refusals("request")
def pack_for(request: HttpRequest, pk: int) -> HttpResponse:
    """The single-package flow with the right instrument; its package serves the request.

    Nothing is packed for a request that this person no longer holds: the page says why.
    """
    one = get_object_or_404(Request.objects.select_related("instrument", "instead"), pk=pk)
    if one.packed_as is None:
        messages.error(request, "Nothing was packed. Only an instrument can be packed.")
        return redirect("request", pk=pk)

    def pack(person: Person, answer: Answer, plan: Plan, key: str) -> Package:
        package = working.pack_for_request(person, pk, answer, plan, key)
        messages.success(request, f"For {one.destination}, request {pk}.")
        return package

    due = clock(one.needed_by, timezone.now())
    return packing_page(request, one.packed_as, pack, wanted=True, for_request=one, due=due)

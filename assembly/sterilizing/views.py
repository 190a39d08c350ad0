"""The loads' pages: what waits, a load filled by scan, started, released or held back."""

from __future__ import annotations

from dataclasses import replace

from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.forms import BooleanField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from assembly.bench.closing import checks_shown
from assembly.bench.counting import Said
from assembly.bench.forms import answers_from
from assembly.bench.settings import with_keys
from assembly.complaints.saying import of_load
from assembly.equipment import standing
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import Biological, Load, LoadState, WetCause
from assembly.packages.forms import PackagePress
from assembly.packages.implants import implants_in
from assembly.packages.promises import requests_of
from assembly.persons import RUN_LOAD, person_at
from assembly.presses import Act, Press, Reasoned, perform, refusals, verb_page
from assembly.rules.telling.release import IMPLANT, IMPLANT_QUESTION, release_checks
from assembly.sterilizing import gathering, lists, recalling, releasing, serving
from assembly.sterilizing.forms import Begun, HeldBack, Numbered, Released
from assembly.sterilizing.racking import loading_of
from assembly.sterilizing.wet import name_wet, wet_in
from catalog.forms.fields import WordsField
from catalog.reading import read_page
from catalog.vocabulary import Method

VIEW = "assembly.view_load"


@read_page(VIEW)
def list_page(request: HttpRequest) -> HttpResponse:
    """What waits for a load, the loads of now, and earlier ones."""
    waiting = lists.waiting()
    offers = lists.offers(waiting) if request.user.has_perm(RUN_LOAD) else []
    now = list(lists.now())
    context = with_keys(
        offers=offers,
        waiting=waiting,
        now=now,
        proposed=lists.proposed(waiting, now, offers) if offers else [],
        equipment=standing.open_today(one.sterilizer for one in offers) if offers else [],
        earlier=lists.earlier(),
        most=lists.MOST_EARLIER,
    )
    return render(request, "assembly/loads/list.html", context)


@verb_page(RUN_LOAD, "loads")
def begin_load(request: HttpRequest) -> HttpResponse:
    """A new load: which sterilizer, programme and cycle."""
    load = gathering.begin_load(person_at(request), **Begun.read(request.POST))
    return redirect("load", pk=load.pk)


def _not_added(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return _page(request, pk, said=Said("wrong", str(problem)))


@permission_required(VIEW, raise_exception=True)
@refusals(_not_added)
def load_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One load: filled by scan while it is gathered, then its checks, then where all of it is."""
    get_object_or_404(Load, pk=pk)
    if request.method != "POST":
        return _page(request, pk)
    if not request.user.has_perm(RUN_LOAD):
        raise PermissionDenied
    sent = PackagePress.read(request.POST)
    load, package = gathering.add(person_at(request), pk, **sent), sent["package"]
    words = f"{package.code} {package.what} is in. {serving.care_words(package, load)}"
    return _page(request, pk, said=Said("right", words.strip()))


def _page(
    request: HttpRequest, pk: int, *, said: Said | None = None, problem: str = ""
) -> HttpResponse:
    load = get_object_or_404(Load.objects.select_related("sterilizer"), pk=pk)
    running, gathered = load.state == LoadState.RUNNING, load.state == LoadState.GATHERING
    answers = answers_from(request.POST) if request.method == "POST" else {}
    earliest = releasing.earliest_of(load) if running else None
    wet, inside = wet_in(load), releasing.whereabouts(load)
    served = requests_of(one.package for one in inside)
    promised = {one.pk: one for one in served.values() if one.running}
    named = {one.package_id for one in wet}
    context = with_keys(
        load=load,
        steps=load.steps.all(),
        inside=[replace(one, request=served.get(one.package.pk)) for one in inside],
        promised=list(promised.values()),
        to_put_away=load.state == LoadState.RELEASED
        and any(not one.last and one.package.pk not in served for one in inside),
        wet=wet,
        complaints=[] if gathered else of_load(load),
        may_be_wet=[
            (one.package.code, str(one.package)) for one in inside if one.package.pk not in named
        ],
        wet_causes=WetCause.choices,
        loading=loading_of(load) if gathered else None,
        checks=checks_shown(request, release_checks(Method(load.method), len(wet)))
        if running
        else [],
        tests=standing.for_a_load(load, policy_in_force()) if gathered else [],
        indicator=standing.biological_in(load, policy_in_force())
        if running or load.biological == Biological.NOT_READ
        else None,
        implant=(IMPLANT, IMPLANT_QUESTION, answers.get(IMPLANT, "")),
        implants=implants_in(load) if running else [],
        biological=Biological.choices,
        earliest=f"Not before {timezone.localtime(earliest):%H:%M}." if earliest else "",
        typed=request.POST,
        biological_said=request.POST.get("biological", ""),
        said=said,
        problem=problem,
        asked_again=running and policy_in_force().flag("asked_again"),
    )
    scanned = said and gathered and request.htmx  # type: ignore[attr-defined]
    page = "_parts.html" if scanned else "load.html"
    return render(request, f"assembly/loads/{page}", context, status=422 if problem else 200)


def _refused(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return _page(request, pk, problem=str(problem))


@verb_page(VIEW, _refused)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    get_object_or_404(Load, pk=pk)
    perform(request, pk, ACTS)
    return redirect("load", pk=pk)


ACTS = {
    "add": Act(gathering.add, PackagePress),
    "take out": Act(gathering.take_out, PackagePress),
    "start": Act(gathering.start, Numbered),
    "give up": Act(gathering.give_up, Reasoned),
    "wet": Act(name_wet, PackagePress.plus(cause=WordsField())),
    "release": Act(releasing.release, Released),
    "hold back": Act(releasing.hold_back, HeldBack),
    "read": Act(releasing.read_later, Press.plus(biological=WordsField())),
    "recall": Act(recalling.recall_load, Reasoned.plus(grew=BooleanField(required=False))),
}
"""Every press on the page of a load."""

"""The loads' pages: what waits, a load filled by scan, started, released or held back."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from assembly.bench.closing_forms import answers_from
from assembly.bench.pack_views import checks_shown
from assembly.bench.settings import settings_of, with_keys
from assembly.ledger import Refused
from assembly.models import Biological, Load, LoadState
from assembly.packages.shelf import package_at
from assembly.persons import Person, person_at
from assembly.rules.telling.release import IMPLANT, IMPLANT_QUESTION, release_checks
from assembly.sterilizing import gathering, lists, releasing
from catalog.models import Programme, Sterilizer
from catalog.vocabulary import Method

VIEW, RUN, RELEASE = "assembly.view_load", "assembly.run_load", "assembly.release_load"


@permission_required(VIEW, raise_exception=True)
def list_page(request: HttpRequest) -> HttpResponse:
    """What waits for a load, the loads of now, and earlier ones."""
    context = with_keys(
        offers=lists.offers() if request.user.has_perm(RUN) else [],
        waiting=lists.waiting(),
        now=lists.now(),
        earlier=lists.earlier(),
    )
    return render(request, "assembly/loads/list.html", context)


@require_POST
@permission_required(RUN, raise_exception=True)
def begin(request: HttpRequest) -> HttpResponse:
    """A new load: which sterilizer, programme and cycle."""
    sterilizer = get_object_or_404(Sterilizer, code=request.POST.get("sterilizer", ""))
    programme = get_object_or_404(Programme, code=request.POST.get("programme", ""))
    try:
        cycle = _whole(request.POST.get("cycle", ""))
        load = gathering.begin_load(person_at(request), sterilizer, programme, cycle, _key(request))
    except Refused as problem:
        messages.error(request, str(problem))
        return redirect("loads")
    return redirect("load", pk=load.pk)


def _whole(words: str) -> int:
    words = words.strip()
    if not (words.isascii() and words.isdigit() and len(words) < 8):
        raise Refused(f"“{words}” is no cycle number. Write it as the sterilizer shows it.")
    return int(words)


def _key(request: HttpRequest) -> str:
    return request.POST.get("key", "")


def _reason(request: HttpRequest) -> str:
    return request.POST.get("reason", "")[:300]


@permission_required(VIEW, raise_exception=True)
def load_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One load: filled by scan while it is gathered, then its checks, then where all of it is."""
    get_object_or_404(Load, pk=pk)
    if request.method != "POST":
        return _page(request, pk)
    if not request.user.has_perm(RUN):
        raise PermissionDenied
    words = request.POST.get("words", "")
    try:
        package = package_at(words)
        gathering.add(person_at(request), pk, package, _key(request))
    except Refused as problem:
        return _page(request, pk, wrong=str(problem))
    return _page(request, pk, right=f"{package.code} {package.what} is in.")


def _page(
    request: HttpRequest, pk: int, *, right: str = "", wrong: str = "", problem: str = ""
) -> HttpResponse:
    load = get_object_or_404(Load.objects.select_related("sterilizer"), pk=pk)
    running = load.state == LoadState.RUNNING
    answers = answers_from(request) if request.method == "POST" else {}
    context = with_keys(
        load=load,
        bench=settings_of(request),
        steps=load.steps.all(),
        inside=releasing.whereabouts(load),
        loading=lists.loading_words(load) if load.state == LoadState.GATHERING else [],
        checks=checks_shown(request, release_checks(Method(load.method))) if running else [],
        implant=(IMPLANT, IMPLANT_QUESTION, answers.get(IMPLANT, "")),
        biological=Biological.choices,
        said=request.POST.get("biological", ""),
        right=right,
        wrong=wrong,
        problem=problem,
    )
    return render(request, "assembly/loads/load.html", context, status=422 if problem else 200)


@require_POST
@permission_required(VIEW, raise_exception=True)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    get_object_or_404(Load, pk=pk)
    permission, verb = ACTS.get(request.POST.get("act", ""), (VIEW, None))
    if not request.user.has_perm(permission):
        raise PermissionDenied
    if verb is None:
        return _page(request, pk, problem="That is nothing this page does.")
    try:
        verb(person_at(request), pk, request)
    except Refused as problem:
        return _page(request, pk, problem=str(problem))
    return redirect("load", pk=pk)


def _add(person: Person, pk: int, request: HttpRequest) -> None:
    gathering.add(person, pk, package_at(request.POST.get("words", "")), _key(request))


def _take_out(person: Person, pk: int, request: HttpRequest) -> None:
    gathering.take_out(person, pk, package_at(request.POST.get("words", "")), _key(request))


def _start(person: Person, pk: int, request: HttpRequest) -> None:
    gathering.start(person, pk, _key(request))


def _give_up(person: Person, pk: int, request: HttpRequest) -> None:
    gathering.give_up(person, pk, _key(request), _reason(request))


def _release(person: Person, pk: int, request: HttpRequest) -> None:
    if _reason(request).strip():
        raise Refused("Not released: a reason against it is written. Press Not released, or clear "
                      "the reason.")  # fmt: skip
    releasing.release(person, pk, answers_from(request), _biological(request), _key(request))


def _hold_back(person: Person, pk: int, request: HttpRequest) -> None:
    releasing.hold_back(person, pk, answers_from(request), _biological(request), _key(request),
                        _reason(request))  # fmt: skip


def _read_later(person: Person, pk: int, request: HttpRequest) -> None:
    releasing.read_later(person, pk, _biological(request), _key(request))


def _recall(person: Person, pk: int, request: HttpRequest) -> None:
    grew = request.POST.get("grew") == "yes"
    releasing.recall(person, pk, _key(request), _reason(request), grew=grew)


def _biological(request: HttpRequest) -> str:
    return request.POST.get("biological", "")


ACTS: dict[str, tuple[str, Callable[[Person, int, HttpRequest], None]]] = {
    "add": (RUN, _add),
    "take out": (RUN, _take_out),
    "start": (RUN, _start),
    "give up": (RUN, _give_up),
    "release": (RELEASE, _release),
    "hold back": (RELEASE, _hold_back),
    "read": (RELEASE, _read_later),
    "recall": (RELEASE, _recall),
}
"""Every press on the page of a load, with the permission it needs."""

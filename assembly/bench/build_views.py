"""The page of a build, and all that is counted on it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from assembly.bench import builds, counting
from assembly.bench.builds import Done
from assembly.bench.counting import Said, done_words
from assembly.bench.lists import RUNNING
from assembly.bench.settings import settings_of, with_keys
from assembly.bench.signing import answer_for
from assembly.bench.tally import tally_of
from assembly.judging.inspection import DAMAGES, prompts_for
from assembly.judging.reading_units import show_for
from assembly.ledger import Refused
from assembly.models import Build
from assembly.persons import Person, person_at
from catalog.models import InstrumentSet

ASSEMBLE = "assembly.assemble"


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def start_build(request: HttpRequest, code: str) -> HttpResponse:
    """Begin a build of a set's current count sheet."""
    instrument_set = get_object_or_404(InstrumentSet, code__iexact=code, retired=False)
    try:
        build = builds.start(person_at(request), instrument_set, request.POST.get("key", ""))
    except Refused as problem:
        messages.error(request, str(problem))
        return redirect("set", code=instrument_set.code)
    return redirect("build", pk=build.pk)


@permission_required("assembly.view_build", raise_exception=True)
def build_page(request: HttpRequest, pk: int) -> HttpResponse:
    """The set as it is being counted."""
    return render(request, "assembly/bench/build.html", region(request, pk))


@permission_required("assembly.view_build", raise_exception=True)
def build_now(request: HttpRequest, pk: int) -> HttpResponse:
    """The counted part of the page, or 204 where nothing happened since ``?seen=``."""
    context = region(request, pk)
    same = request.GET.get("seen") == str(context["tally"].seen)
    if same and request.GET.get("held") == str(context["build"].holder_id):
        return HttpResponse(status=204)
    return render(request, "assembly/bench/_build.html", context)


def region(request: HttpRequest, pk: int, said: Said | None = None) -> dict[str, Any]:
    """What the counted part of the page shows."""
    build = get_object_or_404(
        Build.objects.select_related(
            "count_sheet", "instrument_set__container", "instrument_set__wrap",
            "instrument_set__basket",
        ),
        pk=pk,
    )  # fmt: skip
    tally, person = tally_of(build), person_at(request)
    current = tally.current
    may = request.user.has_perm(ASSEMBLE)
    sections = groupby(tally.lines, key=lambda one: one.line.section)
    return with_keys(
        build=build,
        tally=tally,
        answer=answer_for(tally, show_for(request)),
        sections=[(title, list(lines)) for title, lines in sections],
        current=current,
        prompts=prompts_for(current.line.instrument) if current else (),
        damages=DAMAGES,
        said=said,
        may_assemble=may,
        mine=may and build.holder_id == person.pk,
        counting=may and build.holder_id == person.pk and build.state == Build.State.OPEN,
        also_built=Build.objects.filter(
            instrument_set=build.instrument_set, state__in=RUNNING
        ).exclude(pk=build.pk),
        package=build.packages.first(),
        bench=settings_of(request),
    )


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def scan(request: HttpRequest, pk: int) -> HttpResponse:
    """One scan: its line is counted, or a clear refusal."""
    get_object_or_404(Build, pk=pk)
    words = request.POST.get("words", "")  # as scanned: a separator is white space to Python
    if not words.strip():
        return answered(request, pk, Said("wrong", "Nothing was read. Scan it again."))
    return answered(
        request, pk, counting.scan(person_at(request), pk, words, request.POST.get("key", ""))
    )


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    build = get_object_or_404(Build, pk=pk)
    verb = ACTS.get(request.POST.get("act", ""))
    if verb is None:
        return answered(request, pk, Said("wrong", "That is nothing this page does."))
    try:
        done = verb(person_at(request), pk, request)
    except Refused as problem:
        return answered(request, pk, Said("wrong", str(problem)))
    return answered(request, pk, done_words(done, tally_of(build)))


def answered(request: HttpRequest, pk: int, said: Said) -> HttpResponse:
    """The counted part alone for a partial request; else the whole page with a message."""
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "assembly/bench/_build.html", region(request, pk, said))
    level = messages.error if said.tone == "wrong" else messages.success
    level(request, said.words)
    return redirect("build", pk=pk)


def _whole(request: HttpRequest, name: str, default: int = 0) -> int:
    text = request.POST.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else default


def _key(request: HttpRequest) -> str:
    return request.POST.get("key", "")


def _count(person: Person, pk: int, request: HttpRequest) -> Done:
    pieces = _whole(request, "quantity", 1)
    return builds.count(person, pk, _whole(request, "line"), pieces, _key(request))


def _all(person: Person, pk: int, request: HttpRequest) -> Done:
    line = _whole(request, "line")
    pieces = _whole(request, "remaining", 1)
    return builds.count(person, pk, line, pieces, _key(request))


def _short(person: Person, pk: int, request: HttpRequest) -> Done:
    pieces = _whole(request, "quantity", 1)
    reason = request.POST.get("reason", "")[:300]
    return builds.short(person, pk, _whole(request, "line"), pieces, reason, _key(request))


def _damaged(person: Person, pk: int, request: HttpRequest) -> Done:
    reason = request.POST.get("other", "").strip() or request.POST.get("reason", "")
    return builds.damaged(person, pk, _whole(request, "line"), reason[:300], _key(request))


def _substitute(person: Person, pk: int, request: HttpRequest) -> Done:
    line, other = _whole(request, "line"), _whole(request, "instrument")
    return builds.substitute(person, pk, line, other, 1, _key(request))


def _over(person: Person, pk: int, request: HttpRequest) -> Done:
    return builds.over(person, pk, _whole(request, "line"), _key(request))


def _undo(person: Person, pk: int, request: HttpRequest) -> Done:
    return builds.undo(person, pk, _key(request), _whole(request, "event") or None)


def _weigh(person: Person, pk: int, request: HttpRequest) -> Done:
    text = request.POST.get("grams", "").strip().replace(",", ".")
    try:
        grams = Decimal(text)
    except InvalidOperation:
        raise Refused(f"“{text}” is no weight. Write the scale's reading in grams.") from None
    return builds.weigh(person, pk, grams, _key(request))


ACTS: dict[str, Callable[[Person, int, HttpRequest], Done]] = {
    "count": _count,
    "all": _all,
    "short": _short,
    "damaged": _damaged,
    "substitute": _substitute,
    "over": _over,
    "undo": _undo,
    "weigh": _weigh,
    "ask": lambda person, pk, request: builds.ask_for(person, pk, _key(request)),
    "take": lambda person, pk, request: builds.take_over(person, pk, _key(request)),
    "hand": lambda person, pk, request: builds.hand_over(person, pk, _key(request)),
}
"""Every press on the page of a build."""

"""A single package: from the instrument's page to the printed label."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from assembly.bench.forms import (
    SPARE,
    USE,
    answers_from,
    plan_from,
    reasons_from,
)
from assembly.bench.settings import with_keys
from assembly.judging.asking import asked_for
from assembly.judging.decisions import Answer, decide_for_instrument, drawn
from assembly.judging.inspection import prompts_for
from assembly.judging.reading_units import show_for
from assembly.judging.taking import (
    Option,
    Plan,
    barred,
    chosen,
    cycles_barred,
    cycles_offered,
    open_findings,
    options,
)
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages import recording as packages
from assembly.packages.spare_words import spares_wrong
from assembly.persons import ASSEMBLE, Person, Unknown, person_at
from assembly.presses import Press, refusals
from assembly.rules.findings import Show, metric
from assembly.rules.telling.checks import Check
from catalog.models import Instrument, Pouch
from catalog.vocabulary import Kind

FOR_SHELF = "shelf"
"""``?for=shelf``: packed to fill a low level."""
OWN = ("take", "programme")
"""What an address says of this package alone; another one is asked for without it."""
ALTERNATIVES = 3
"""How many others that serve are offered beside the drawing; all are listed below."""


@permission_required(ASSEMBLE, raise_exception=True)
@refusals("instrument")
def pack_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """A single package of an instrument, for the shelf or for whoever wants it."""
    instrument = get_object_or_404(
        Instrument.objects.prefetch_related("cycles"), item_number__iexact=item_number
    )

    def pack(person: Person, answer: Answer, plan: Plan, key: str) -> Package:
        return packages.pack_single(person, instrument, answer, plan, key)

    return packing_page(request, instrument, pack, wanted=request.GET.get("for") == FOR_SHELF)


Packing = Callable[[Person, Answer, Plan, str], Package]
"""The verb that a packing page calls, with the key of the press; all it does is one transaction."""


def packing_page(
    request: HttpRequest, instrument: Instrument, pack: Packing, *, wanted: bool, **shown: Any
) -> HttpResponse:
    """The checks before closing, and what else could be taken; posted, the package.

    What is refused is said on the page, with all that was answered. ``wanted``: it is packed
    because it is missing somewhere, so probably from the loose spares; ``shown`` goes to the
    template.
    """
    shown["origin"] = origin_shown(request, instrument, wanted)
    asked = asked_for(request)
    answer = decide_for_instrument(instrument, show=show_for(request), **asked)
    if request.method != "POST":
        return _page(request, instrument, answer, **shown)
    try:
        key = Press.read(request.POST)["key"]
        package = pack(person_at(request), answer, plan_from(request), key)
    except (Refused, Unknown) as problem:
        said_no = getattr(problem, "said_no", ())
        return _page(request, instrument, answer, str(problem), said_no, **shown)
    if package.spares_not_on_record:
        words = spares_wrong(package.spares_on_record or 0, package.pieces, "packed")
        messages.warning(request, words)
    return redirect(f"{reverse('package', args=[package.code])}?print=1")


def origin_shown(request: HttpRequest, instrument: Instrument, wanted: bool) -> str:
    """Where it comes from, as chosen; else a loose spare where it is wanted and one is there."""
    chosen_before = request.POST.get("origin", "")
    if chosen_before in (SPARE, USE):
        return chosen_before
    return SPARE if wanted and instrument.spares_on_hand else USE


def _page(
    request: HttpRequest,
    instrument: Instrument,
    answer: Answer,
    problem: str = "",
    said_no: tuple[Check, ...] = (),
    **shown: Any,
) -> HttpResponse:
    take = request.POST.get("take", "") or request.GET.get("take", "")
    option = chosen(answer, take) or chosen(answer)
    every = options(answer)
    guidance = answer.guidance_in(option.candidate) if option else None
    scene = answer.scene_for(option.candidate) if option else None
    kept = {name: value for name, value in request.GET.items() if name not in OWN}
    context = with_keys(
        instrument=instrument,
        answer=answer,
        option=option,
        serving=[one for one in every if one != option and not one.needs_override][:ALTERNATIVES],
        others=[one for one in every if one.needs_override and one != option],
        guidance=guidance,
        checks=checks_shown(request, guidance.checks if guidance else (), answer.show),
        drawing=drawn(scene),
        scene=scene,
        prompts=prompts_for(instrument),
        seal=seal_words(option),
        asking=urlencode(kept),
        problem=problem,
        said_no=[check.then(answer.show) for check in said_no],
        **option_words(request, option, answer),
        **shown,
    )
    return render(request, "assembly/bench/pack.html", context, status=422 if problem else 200)


def option_words(request: HttpRequest, option: Option | None, answer: Any) -> dict[str, Any]:
    """Why the rules do not pass it, each finding with what was typed, and which programmes
    can be chosen for it, or why none can."""
    if option is None or not option.needs_override:
        return {}
    given = reasons_from(request.POST)
    kept = {name: value for name, value in request.GET.items() if name not in OWN}
    return {
        "open": [
            {
                "key": one.key,
                "status": str(one.finding.status),
                "sentence": one.sentence(answer.show),
                "source": one.finding.source,
                "ticked": one.key in given,
                "because": given.get(one.key, ""),
            }
            for one in open_findings(option)
        ],
        "barred": barred(answer, option) if option.method else "",
        "cycles": [
            (one, urlencode(kept | {"take": option.key, "programme": one.code}))
            for one in cycles_offered(answer, option)
        ],
        "others_barred": cycles_barred(answer, option),
        "must_choose": not option.method,
    }


def checks_shown(
    request: HttpRequest, checks: tuple[Check, ...], show: Show = metric
) -> list[dict[str, str]]:
    """Each check as the page shows it, with what was answered already."""
    given = answers_from(request.POST) if request.method == "POST" else {}
    return [
        {
            "key": check.key,
            "asked": check.asked(show),
            "then": check.then(show),
            "source": check.source,
            "given": given.get(check.key, ""),
        }
        for check in checks
    ]


def seal_words(option: Option | None) -> str:
    """The sealer's setting from the pouch's IFU; said where it is not on record."""
    if option is None or option.candidate.kind not in (Kind.POUCH, Kind.ROLL):
        return ""
    pouch = Pouch.objects.filter(code=option.candidate.code).first()
    if pouch and pouch.closure == Pouch.Closure.SELF_SEAL:
        return "Self-seal: no heat."
    if pouch and pouch.seal_temperature_c is not None:
        reference = f" ({pouch.ifu_reference})" if pouch.ifu_reference else ""
        return f"Seal at {pouch.seal_temperature_c.normalize():f} °C{reference}."
    return "The seal setting is not on record: read it in the packaging's IFU."

"""The page of a single package: what to take and why, the checks, and one press to its label."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from assembly.bench.closing import (
    checks_shown,
    groups_of,
    kept_from,
    option_words,
    supplies_shown,
)
from assembly.bench.forms import SPARE, USE, plan_from
from assembly.bench.settings import with_keys
from assembly.judging.asking import asked_for, most_pieces
from assembly.judging.decisions import Answer, decide_for_instrument, drawn
from assembly.judging.inspection import damages_of, works_prompts
from assembly.judging.reading_units import show_for
from assembly.judging.sharpening import due
from assembly.judging.taking import MOST_ALIKE, Option, Plan, boxes_shown, chosen, options
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages.levels import spares_wrong
from assembly.packages.printable import label_size
from assembly.persons import ASSEMBLE, Person, Unknown, person_at
from assembly.presses import Press
from assembly.questions.proposing import propose
from assembly.rules.findings import Outcome
from assembly.rules.telling.checks import Check
from assembly.singles.telling import seal_words, told_of
from assembly.upkeep.repairs import to_repair
from catalog.history import changes_of
from catalog.models import Instrument
from catalog.where_used import where_used

ALTERNATIVES = 3
"""How many others that serve are offered; all are listed below."""
HAS_NONE: dict[str, dict[str, Any]] = {
    "hinged": {"hinged": False},
    "ratchet": {"ratchet": False},
    "hollow": {"hollow": False},
    "parts": {"parts_apart": ""},
}
"""What is proposed for the record where somebody says that it has none of it."""

OWN_WORDS = "own"
"""What is wrong with a piece is written, not one of those offered."""

Packing = Callable[[Person, Answer, Plan, str], Package]
"""The verb that a packing page calls, with the key of the press; all it does is one transaction."""


def packing_page(
    request: HttpRequest, instrument: Instrument, pack: Packing, *, wanted: bool, **shown: Any
) -> HttpResponse:
    """The page; posted, the package. What is refused is said on the page, with all that was
    answered. ``wanted``: it is packed because it is missing somewhere, so probably from the
    loose spares; ``shown`` goes to the template.
    """
    shown["origin"] = _origin(request, instrument, wanted)
    answer = decide_for_instrument(
        instrument, show=show_for(request), label=label_size(request), **asked_for(request)
    )
    if request.method != "POST":
        return _page(request, instrument, answer, **shown)
    if not request.user.has_perm(ASSEMBLE):
        raise PermissionDenied
    try:
        return _pressed(request, instrument, answer, pack, shown)
    except (Refused, Unknown) as problem:
        said_no = getattr(problem, "said_no", ())
        return _page(request, instrument, answer, str(problem), said_no, **shown)


def _pressed(
    request: HttpRequest, instrument: Instrument, answer: Answer, pack: Packing,
    shown: dict[str, Any],
) -> HttpResponse:  # fmt: skip
    person, key = person_at(request), Press.read(request.POST)["key"]
    if reason := request.POST.get("repair", ""):
        reason = request.POST.get("damage", "") if reason == OWN_WORDS else reason
        spare = request.POST.get("origin") == SPARE
        to_repair(person, instrument, reason, key, from_spares=spare)
        messages.success(request, f"{instrument}: to repair, because: {reason}.")
        return redirect("bench")
    if values := HAS_NONE.get(request.POST.get("none", "")):
        propose(person, instrument.pk, values, key, how="seen at the bench")
        messages.success(request, "Proposed. It is asked until a coordinator confirms it.")
        return _page(request, instrument, answer, **shown)
    plan = plan_from(request, instrument)
    group = request.POST.get("group")
    if group == "none" or (group == "piece" and "no" not in plan.answers.values()):
        return _page(request, instrument, answer, **shown)
    package = pack(person, answer, plan, key)
    if package.spares_not_on_record:
        words = spares_wrong(package.spares_on_record or 0, package.pieces, "packed")
        messages.warning(request, words)
    page = "package" if plan.copies == 1 else "alike"
    return redirect(f"{reverse(page, args=[package.code])}?print=1")


def _origin(request: HttpRequest, instrument: Instrument, wanted: bool) -> str:
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
    option, every = _taken(request, answer), options(answer)
    guidance = answer.guidance_in(option.candidate) if option else None
    scene = answer.scene_for(option.candidate) if option else next(iter(answer.scenes), None)
    checks = checks_shown(request, guidance.checks if guidance else (), answer.show)
    context = with_keys(
        instrument=instrument,
        answer=answer,
        option=option,
        told=told_of(answer, option),
        missing=[one.missing for one in answer.question.instrument.not_on_record],
        measure=answer.decision.outcome is Outcome.UNDECIDED
        and not option
        and not answer.box_doubt
        and not answer.lent_doubt,
        **boxes_shown(answer, option.candidate if option else answer.shown),
        serving=[one for one in every if one != option and not one.needs_override][:ALTERNATIVES],
        others=[one for one in every if one.needs_override and one != option],
        guidance=guidance,
        protector_asked=any(one["key"] == "protector" for one in checks),
        groups=groups_of(checks),
        drawing=drawn(scene),
        scene=scene,
        prompts=works_prompts(instrument),
        damages=damages_of(instrument),
        seal=seal_words(option),
        blunt=due([instrument], None, answer.policy),
        asking=urlencode(kept_from(request)),
        problem=problem,
        asked_again=answer.policy.flag("asked_again"),
        said_no=[check.then(answer.show) for check in said_no],
        copies=request.POST.get("copies", "1"),
        most=MOST_ALIKE,
        **_asked(request),
        **_record(request, instrument),
        **supplies_shown(request, answer, option, guidance),
        **option_words(request, option, answer, instrument),
        **shown,
    )
    return render(
        request, "assembly/singles/single.html", context, status=422 if problem else 200
    )  # fmt: skip


def _taken(request: HttpRequest, answer: Answer) -> Option | None:
    """What a person chose to take; else what is recommended, if anything is."""
    take = request.POST.get("take", "") or request.GET.get("take", "")
    option = chosen(answer, take) if take else None
    if option is None and answer.decision.recommended:
        return chosen(answer)
    return option


def _asked(request: HttpRequest) -> dict[str, Any]:
    return {**asked_for(request), "counts": range(1, most_pieces() + 1)}


def _record(request: HttpRequest, instrument: Instrument) -> dict[str, Any]:
    """What the folds say of the instrument, its changes for those who may read them."""
    may = request.user.has_perm("catalog.view_change")
    return {"uses": where_used(instrument), "history": changes_of(instrument) if may else None}

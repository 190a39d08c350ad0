"""Packing and signing a built set, and opening it again."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from assembly.bench import signing
from assembly.bench.build_views import region
from assembly.bench.closing_forms import ASSEMBLE, plan_from
from assembly.bench.pack_views import checks_shown, option_words
from assembly.bench.settings import with_keys
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import NotClosed, chosen, options
from assembly.ledger import Refused
from assembly.models import Build, Package
from assembly.persons import Person, Unknown, person_at, second_person
from assembly.rules.telling.checks import Check


@permission_required(ASSEMBLE, raise_exception=True)
def pack_build(request: HttpRequest, pk: int) -> HttpResponse:
    """The decision for what is really in the set, the checks, then the signature."""
    get_object_or_404(Build, pk=pk)
    if request.method != "POST":
        return _page(request, pk)
    person, key = person_at(request), request.POST.get("key", "")
    try:
        match request.POST.get("act"):
            case "unpack":
                signing.unpack(person, pk, key)
                return redirect("build", pk=pk)
            case "sign":
                return _printed(signing.sign(person, pk, key, _checker(request)))
            case _:
                signing.pack(person, pk, plan_from(request), key)
                return redirect("build_pack", pk=pk)
    except NotClosed as problem:
        return _page(request, pk, str(problem), problem.said_no)
    except (Refused, Unknown) as problem:
        return _page(request, pk, str(problem))


def _checker(request: HttpRequest) -> Person | None:
    name = request.POST.get("checker_name", "")
    if not name:
        return None
    password = request.POST.get("checker_password", "")
    return second_person(request, name, password, ASSEMBLE)


def _printed(package: Package) -> HttpResponse:
    return redirect(f"{reverse('package', args=[package.code])}?print=1")


def _page(
    request: HttpRequest, pk: int, problem: str = "", said_no: tuple[Check, ...] = ()
) -> HttpResponse:
    context = region(request, pk)
    answer, tally = context["answer"], context["tally"]
    if answer is None:
        messages.error(request, "Nothing is in the set. Count it first.")
        return redirect("build", pk=pk)
    take = request.POST.get("take", "") or request.GET.get("take", "")
    option = chosen(answer, take) or chosen(answer)
    every = options(answer)
    guidance = answer.guidance_in(option.candidate) if option else None
    context |= with_keys(
        option=option,
        serving=[one for one in every if one != option and not one.needs_override],
        others=[one for one in every if one != option and one.needs_override],
        guidance=guidance,
        checks=checks_shown(request, guidance.checks if guidance else (), answer.show),
        problem=problem,
        said_no=[check.then(answer.show) for check in said_no],
        shortages=[signing.shortage_words(one) for one in tally.short],
        held_back=[one for one in tally.lines if one.refuses_to_go],
        second_check=policy_in_force().flag("second_check"),
        packing=tally.packing,
        **option_words(option, answer),
    )
    return render(
        request, "assembly/bench/build_pack.html", context, status=422 if problem else 200
    )


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def reopen_build(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a signed set again, with the reason: its label is void."""
    build = get_object_or_404(Build, pk=pk)
    try:
        signing.reopen(person_at(request), pk, _reason(request), request.POST.get("key", ""))
    except Refused as problem:
        messages.error(request, str(problem))
        package = build.packages.first()
        return redirect("package", code=package.code) if package else redirect("build", pk=pk)
    return redirect("build", pk=pk)


@require_POST
@permission_required(ASSEMBLE, raise_exception=True)
def give_up_build(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a build up, with the reason."""
    get_object_or_404(Build, pk=pk)
    try:
        signing.give_up(person_at(request), pk, _reason(request), request.POST.get("key", ""))
    except Refused as problem:
        messages.error(request, str(problem))
        return redirect("build", pk=pk)
    return redirect("bench")


def _reason(request: HttpRequest) -> str:
    return request.POST.get("reason", "").strip()[:300]

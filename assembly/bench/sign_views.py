"""Packing and signing a built set, and opening it again."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from assembly.bench import signing
from assembly.bench.build_views import region, standing
from assembly.bench.closing import (
    OF_A_SET,
    checks_shown,
    groups_of,
    option_words,
    supplies_shown,
)
from assembly.bench.forms import WeighedOpen, plan_from, signed
from assembly.bench.settings import with_keys
from assembly.bench.weighing.checks import field_for, weigh_open
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import boxes_shown, chosen, options
from assembly.models import Build, Package
from assembly.persons import ASSEMBLE, Person, person_at, person_signing
from assembly.presses import Press, Reasoned, refusals, told, verb_page
from assembly.rules.telling.accepted import accepted_marks
from assembly.rules.telling.checks import Check


def _refused(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return _page(request, pk, str(problem), getattr(problem, "said_no", ()))


@permission_required(ASSEMBLE, raise_exception=True)
@refusals(_refused)
def pack_build(request: HttpRequest, pk: int) -> HttpResponse:
    """The decision for what is really in the set, the checks, then the signature."""
    get_object_or_404(Build, pk=pk)
    if request.method != "POST":
        return _page(request, pk)
    person, key = person_signing(request, ASSEMBLE), Press.read(request.POST)["key"]
    match request.POST.get("act"):
        case "unpack":
            signing.unpack(person, pk, key)
            return redirect("build", pk=pk)
        case "sign":
            return _printed(signing.sign(person, pk, key))
        case "weigh":
            weigh_open(person, pk, **WeighedOpen.read(request.POST))
            return redirect(request.get_full_path())
        case _:
            return _packed(request, pk, person, key)


def _packed(request: HttpRequest, pk: int, person: Person, key: str) -> HttpResponse:
    """Packed and signed in one press; a press that answers another group shows the next. The end
    of a scan, or Enter in a field, answers and packs nothing."""
    plan, group = plan_from(request, Build.objects.get(pk=pk)), request.POST.get("group")
    if group == "none" or (group == "piece" and "no" not in plan.answers.values()):
        return _page(request, pk)
    signing.pack(person, pk, plan, key, signed(request, "checker", ASSEMBLE))
    return _printed(signing.sign(person, pk, f"{key} sign"))


def _printed(package: Package) -> HttpResponse:
    return redirect(f"{reverse('package', args=[package.code])}?print=1")


def _page(
    request: HttpRequest, pk: int, problem: str = "", said_no: tuple[Check, ...] = ()
) -> HttpResponse:
    context = region(request, standing(pk))
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
        groups=groups_of(
            checks_shown(request, guidance.checks if guidance else (), answer.show), OF_A_SET
        ),
        problem=problem,
        said_no=[check.then(answer.show) for check in said_no],
        shortages=[one.missing_words for one in tally.short],
        held_back=[one for one in tally.lines if one.refuses_to_go],
        second_check=(policy := policy_in_force()).flag("second_check"),
        asked_again=policy.flag("asked_again"),
        packing=tally.packing,
        accepted=accepted_marks(signing.accepted_on(tally.packing)),
        **supplies_shown(request, answer, option, guidance),
        tray=request.POST.get("tray", ""),
        weighing=field_for(tally, "weigh" in request.GET, policy),
        **option_words(request, option, answer, context["build"]),
        **boxes_shown(answer, option.candidate if option else answer.shown),
    )
    return render(request, "assembly/builds/pack.html", context, status=422 if problem else 200)


def _still_signed(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    package = Build.objects.get(pk=pk).packages.first()
    return told(request, problem, reverse("package", args=[package.code]) if package
                else reverse("build", args=[pk]))  # fmt: skip


@verb_page(ASSEMBLE, _still_signed)
def reopen_build(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a signed set again, with the reason: its label is void."""
    get_object_or_404(Build, pk=pk)
    signing.reopen(person_at(request), pk, **Reasoned.read(request.POST))
    return redirect("build", pk=pk)


@verb_page(ASSEMBLE, "build")
def give_up_build(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a build up, with the reason."""
    get_object_or_404(Build, pk=pk)
    signing.give_up(person_at(request), pk, **Reasoned.read(request.POST))
    return redirect("bench")

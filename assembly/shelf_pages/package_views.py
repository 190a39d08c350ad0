"""The page of a package that left the bench, and the requests it left behind."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from assembly.bench.closing import checks_shown
from assembly.bench.forms import answers_from
from assembly.bench.settings import switch, with_keys
from assembly.complaints import saying
from assembly.equipment.workstation import SEALER, sealer_from, sealers_shown
from assembly.judging.kept import passed_over
from assembly.judging.taking import supplies_in
from assembly.models import Package, Shortfall, Wrong
from assembly.packages import recording as packages
from assembly.packages import sealing
from assembly.packages.search import PACKAGES
from assembly.packages.standing import Word, load_of, standing_of, with_standing
from assembly.persons import ASSEMBLE, person_at
from assembly.presses import back_from, remember, told, verb_page
from assembly.requests.next_steps import next_of
from assembly.rules.telling.labelling import placement
from assembly.shelf_pages.forms import Closed, Voided
from assembly.shortfalls import replenishing
from catalog.lookup.finding import find
from catalog.reading import read_page


@read_page("assembly.view_package")
def package_page(request: HttpRequest, code: str) -> HttpResponse:
    """Contents, the decision as it was, and in large words whether its label is void; while it
    waits for its seal, what to look at."""
    return _page(request, code)


def _page(request: HttpRequest, code: str, problem: Exception | None = None) -> HttpResponse:
    package = get_object_or_404(
        with_standing(
            Package.objects.select_related(
                "decided", "build", "instrument", "sealer", "own_container"
            )
        ),
        code=code.upper(),
    )
    kind, _ = supplies_in(package.taken)
    waits = standing_of(package).word == Word.UNSEALED and request.user.has_perm(ASSEMBLE)
    complaints = list(saying.of_package(package))
    context = with_keys(
        package=package,
        complaints=complaints,
        again=saying.instead_of(package, complaints),
        wrongs=Wrong.choices,
        package_lines=saying.lines_of(package),
        printing=bool(request.GET.get("print")),
        placement=placement(kind),
        decided={"passed_over": passed_over(package.decision)},
        load=load_of(package),
        next=next_of(package, person_at(request)),
        waits=waits,
        seal=checks_shown(request, sealing.checks_of(package)),
        sealer=sealers_shown(request, package) if waits else {},
        problem=str(problem or ""),
        said_no=[one.then() for one in getattr(problem, "said_no", ())],
    )
    wrong = 422 if problem else 200
    return render(request, "assembly/packages/package.html", context, status=wrong)


def _not_sealed(request: HttpRequest, problem: Exception, code: str) -> HttpResponse:
    return _page(request, code, problem)


@verb_page(ASSEMBLE, _not_sealed)
def seal_package(request: HttpRequest, code: str) -> HttpResponse:
    """The package is sealed: by one press for all that is looked at, or by a scan of its label.

    Anything else that is scanned here is looked up. The workstation remembers the sealer.
    """
    package = get_object_or_404(Package, code=code.upper())
    answers = answers_from(request.POST)
    if "words" in request.POST:
        words = request.POST["words"]
        if find(words, PACKAGES).one != package:
            return redirect(f"{reverse('find')}?{urlencode({'q': words})}")
        answers = sealing.all_right(package)
    sealed = sealing.seal(person_at(request), package.pk, answers, sealer_from(request))
    answer = redirect("package", code=package.code)
    return remember(request, answer, SEALER, sealed.sealer.code if sealed.sealer else "")


@verb_page(ASSEMBLE, "package")
def void_package(request: HttpRequest, code: str) -> HttpResponse:
    """Void a single package, with the reason."""
    package = get_object_or_404(Package, code=code.upper())
    packages.void_package(person_at(request), package.pk, **Voided.read(request.POST))
    return redirect("package", code=package.code)


def _still_open(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    return told(request, problem, reverse("bench"))


@verb_page(ASSEMBLE, _still_open)
def close_request(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """All that a set went short of is back."""
    if kind != "shortage":
        raise Http404(f"A {kind} is nothing that can be closed.")
    short = get_object_or_404(Shortfall, pk=pk)
    replenishing.all_back(person_at(request), short, **Closed.read(request.POST))
    return redirect("bench")


@require_POST
def switch_setting(request: HttpRequest) -> HttpResponse:
    """Sound, flash or single-key shortcuts, on or off for this session."""
    switch(request, request.POST.get("name", ""))
    return back_from(request)

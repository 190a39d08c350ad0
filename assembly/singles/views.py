"""The page of one instrument as a single package, and that of several packed alike."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.equipment.workstation import SEALER, sealer_from, sealers_shown
from assembly.judging.asking import asked_for
from assembly.judging.decisions import Answer, decide_for_instrument
from assembly.judging.reading_units import show_for
from assembly.judging.taking import Plan
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages import recording, sealing
from assembly.packages.search import package_at
from assembly.packages.standing import Word, standing_of, with_standing
from assembly.persons import ASSEMBLE, Person, person_at
from assembly.presses import Scan, refusals, remember, verb_page
from assembly.singles.packing import packing_page
from catalog.models import Instrument
from catalog.reading import read_page

FOR_SHELF = "shelf"
"""``?for=shelf``: packed to fill a low level."""


@permission_required("catalog.view_instrument", raise_exception=True)
@refusals("instrument")
def single_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """Verdict, drawing, checks, one press; what else is known is folded.

    ``?double=1`` asks for a double pouch, ``?fold=envelope`` or ``square`` fixes a wrap's
    fold, ``?pieces=2`` packs several side by side, ``?take=`` another way to pack it.
    """
    instrument = get_object_or_404(
        Instrument.objects.prefetch_related("cycles"), item_number__folded=item_number
    )

    def pack(person: Person, answer: Answer, plan: Plan, key: str) -> Package:
        return recording.pack_single(person, instrument, answer, plan, key)

    review = instrument.ifu_review_on
    return packing_page(
        request, instrument, pack, wanted=request.GET.get("for") == FOR_SHELF,
        overdue=review is not None and review <= timezone.localdate(),
    )  # fmt: skip


@read_page("catalog.view_instrument")
@refusals("instrument")
def passed_over(request: HttpRequest, item_number: str) -> HttpResponse:
    """A part of its page: every supply that is not taken, with its reasons, when it is opened."""
    instrument = get_object_or_404(
        Instrument.objects.prefetch_related("cycles"), item_number__folded=item_number
    )
    answer = decide_for_instrument(instrument, show=show_for(request), **asked_for(request))
    return render(
        request, "assembly/decisions/_passed_over.html", {"passed_over": answer.passed_over}
    )


@read_page("catalog.view_instrument")
def pack_moved(request: HttpRequest, item_number: str) -> HttpResponse:
    """The address where packing had a page of its own."""
    page = reverse("instrument", args=[item_number])
    query = f"?{request.GET.urlencode()}" if request.GET else ""
    return redirect(f"{page}{query}", permanent=True)


# --- several alike -----------------------------------------------------------------------


@read_page("assembly.view_package")
def alike_page(request: HttpRequest, code: str) -> HttpResponse:
    """All that were packed alike in one press: which wait for their seal, sealed by scan."""
    return _alike(request, code)


def _alike(request: HttpRequest, code: str, right: str = "", wrong: str = "") -> HttpResponse:
    package = get_object_or_404(Package, code=code.upper())
    every = list(with_standing(sealing.alike(package)))
    context = with_keys(
        first=every[0],
        every=every,
        waiting=[one for one in every if standing_of(one).word == Word.UNSEALED],
        checks=sealing.checks_of(every[0]),
        sealer=sealers_shown(request, every[0]),
        printing=bool(request.GET.get("print")),
        tone="wrong" if wrong else "right" if right else "",
        words=right or wrong,
    )
    return render(request, "assembly/singles/alike.html", context)


def _not_one_of_them(request: HttpRequest, problem: Exception, code: str) -> HttpResponse:
    return _alike(request, code, wrong=str(problem))


@verb_page(ASSEMBLE, _not_one_of_them)
def seal_alike(request: HttpRequest, code: str) -> HttpResponse:
    """One scan: the label of a package of this strip that was looked at and is sealed."""
    first = get_object_or_404(Package, code=code.upper())
    words = Scan.read(request.POST)["words"]
    package = package_at(words)
    if package not in sealing.alike(first):
        raise Refused(f"{package.code} {package.what} is not of this strip. Nothing was sealed.")
    answers = sealing.all_right(package)
    sealed = sealing.seal(person_at(request), package.pk, answers, sealer_from(request))
    answer = _alike(request, code, right=f"{package.code} is sealed.")
    return remember(request, answer, SEALER, sealed.sealer.code if sealed.sealer else "")

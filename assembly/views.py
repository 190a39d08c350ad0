"""The Bench, and the pages of one instrument and one set, each with its decision."""

from __future__ import annotations

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from assembly.decisions import decide_for_instrument, decide_for_set
from assembly.facts_from_catalog import policy_in_force
from assembly.packing.facts import Fold
from assembly.reading_units import CHOICES, SESSION_KEY, show_for
from catalog.history import changes_of
from catalog.models import Change, CountSheet, Instrument, InstrumentSet
from catalog.search import find_instruments, find_sets
from catalog.where_used import where_used

MOST_FOUND = 12


@permission_required("catalog.view_instrument", raise_exception=True)
def bench(request: HttpRequest) -> HttpResponse:
    """One field for a scan or a few letters; one exact find opens at once."""
    words = request.GET.get("q", "").strip()
    instruments, sets = [], []
    if words:
        if page := _exact(words):
            return redirect(page)
        instruments = list(find_instruments(words)[: MOST_FOUND + 1])
        sets = list(find_sets(words)[:MOST_FOUND])
        if len(instruments) + len(sets) == 1:
            return redirect(_page(instruments[0] if instruments else sets[0]))
    more = len(instruments) > MOST_FOUND
    found = {"instruments": instruments[:MOST_FOUND], "sets": sets, "more": more}
    return render(request, "assembly/bench.html", {"words": words, **found})


def _exact(words: str) -> str | None:
    """The page of the one thing that bears this number, if there is one."""
    instrument = Instrument.objects.filter(item_number__iexact=words, retired=False).first()
    if instrument:
        return _page(instrument)
    found = InstrumentSet.objects.filter(code__iexact=words, retired=False).first()
    return _page(found) if found else None


def _page(thing: Instrument | InstrumentSet) -> str:
    if isinstance(thing, Instrument):
        return reverse("instrument", kwargs={"item_number": thing.item_number})
    return reverse("set", kwargs={"code": thing.code})


@permission_required("catalog.view_instrument", raise_exception=True)
def instrument_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """The drawing first, then what to take and why, then the facts.

    ``?double=1`` asks for a double pouch, ``?fold=envelope`` or ``square`` fixes a wrap's
    fold, ``?pieces=2`` packs several side by side.
    """
    instrument = get_object_or_404(
        Instrument.objects.prefetch_related("cycles"), item_number__iexact=item_number
    )
    double, fold = bool(request.GET.get("double")), request.GET.get("fold", "")
    most = int(policy_in_force().number("most_items_in_pouch"))
    typed = request.GET.get("pieces", "1")
    pieces = min(most, max(1, int(typed))) if typed.isascii() and typed.isdigit() else 1
    answer = decide_for_instrument(
        instrument,
        pieces=pieces,
        double=double,
        fold=Fold(fold) if fold in list(Fold) else None,
        show=show_for(request),
    )
    return render(
        request,
        "assembly/instrument.html",
        {
            "instrument": instrument,
            "answer": answer,
            "double": double,
            "fold": fold,
            "pieces": pieces,
            "counts": range(1, most + 1),
            "uses": where_used(instrument),
            "history": _history(request, instrument),
            "overdue": instrument.ifu_review_on is not None
            and instrument.ifu_review_on <= timezone.localdate(),
        },
    )


def _history(request: HttpRequest, thing: Instrument | InstrumentSet) -> list[Change] | None:
    """The changes of a thing for those who may read them."""
    return changes_of(thing) if request.user.has_perm("catalog.view_change") else None


@permission_required("catalog.view_instrumentset", raise_exception=True)
def set_page(request: HttpRequest, code: str) -> HttpResponse:
    """The weight against its limit, how the set is packed and why, then the count sheet."""
    instrument_set = get_object_or_404(
        InstrumentSet.objects.select_related("container", "basket", "wrap"), code__iexact=code
    )
    sheet = instrument_set.current
    lines = (
        list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))
        if sheet
        else []
    )
    return render(
        request,
        "assembly/set.html",
        {
            "instrument_set": instrument_set,
            "sheet": sheet,
            "lines": lines,
            "pieces": sum(line.quantity for line in lines),
            "answer": decide_for_set(instrument_set, lines, show_for(request)) if lines else None,
            "revisions": instrument_set.count_sheets.all(),
            "history": _history(request, instrument_set),
        },
    )


@require_POST
def choose_units(request: HttpRequest) -> HttpResponse:
    """Metric, or inches and pounds, for this person's session."""
    if (units := request.POST.get("units")) in CHOICES:
        request.session[SESSION_KEY] = units
    back = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()})
    return redirect(back if safe else reverse("bench"))


@permission_required("catalog.view_countsheet", raise_exception=True)
def draft_weight(request: HttpRequest, code: str, revision: int) -> HttpResponse:
    """Pieces and gross weight of one revision: a part of the editor's page."""
    sheets = CountSheet.objects.select_related(
        "instrument_set__container", "instrument_set__basket", "instrument_set__wrap"
    )
    sheet = get_object_or_404(sheets, instrument_set__code__iexact=code, revision=revision)
    lines = list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))
    context = {
        "lines": lines,
        "pieces": sum(line.quantity for line in lines),
        "answer": decide_for_set(sheet.instrument_set, lines, show_for(request)) if lines else None,
    }
    return render(request, "assembly/_draft_weight.html", context)

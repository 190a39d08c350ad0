"""The Bench, and the pages of one instrument and one set, each with its decision."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_POST

from assembly.bench.lists import running_builds
from assembly.bench.settings import with_keys
from assembly.bench.weighing.checks import sure_of
from assembly.judging.decisions import decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.reading_units import CHOICES, SESSION_KEY, show_for
from assembly.judging.taking import boxes_shown
from assembly.presses import back_from
from catalog.history import changes_of
from catalog.models import Change, CountSheet, Instrument, InstrumentSet, Line
from catalog.reading import read_page

LONG_SHEET = 12
"""Lines beyond which a count sheet is folded on the page of its set."""


def _history(request: HttpRequest, thing: Instrument | InstrumentSet) -> list[Change] | None:
    """The changes of a thing for those who may read them."""
    return changes_of(thing) if request.user.has_perm("catalog.view_change") else None


@read_page("catalog.view_instrumentset")
def set_passed_over(request: HttpRequest, code: str) -> HttpResponse:
    """A part of its page: every supply that is not taken, with its reasons, when it is opened."""
    instrument_set = get_object_or_404(
        InstrumentSet.objects.select_related("container", "basket", "wrap"), code__folded=code
    )
    sheet = instrument_set.current
    if sheet is None:
        raise Http404
    answer = decide_for_set(instrument_set, lines_of(sheet), show_for(request))
    return render(
        request, "assembly/decisions/_passed_over.html", {"passed_over": answer.passed_over}
    )


@read_page("catalog.view_instrumentset")
def set_page(request: HttpRequest, code: str) -> HttpResponse:
    """What stands in the way, the count sheet, then the press that begins; the rest folded."""
    instrument_set = get_object_or_404(
        InstrumentSet.objects.select_related("container", "basket", "wrap"), code__folded=code
    )
    revisions = list(instrument_set.count_sheets.all())
    sheet = next((each for each in revisions if each.state == CountSheet.State.CURRENT), None)
    lines = lines_of(sheet) if sheet else []
    answer = decide_for_set(instrument_set, lines, show_for(request)) if lines else None
    return render(
        request,
        "assembly/sets/set.html",
        with_keys(
            instrument_set=instrument_set,
            sheet=sheet,
            lines=lines,
            sections=sections_of(lines),
            long=len(lines) > LONG_SHEET,
            pieces=sum(line.quantity for line in lines),
            answer=answer,
            **boxes_shown(answer, answer.shown if answer else None),
            revisions=revisions,
            history=_history(request, instrument_set),
            noticed_g=sure_of(answer.policy) if answer else None,
            running=running_builds(instrument_set.pk),
        ),
    )


def sections_of(lines: Sequence[Line]) -> list[tuple[str, list[Line], int]]:
    """The sections of a count sheet: title, lines, pieces. Untitled ones stand open; a long
    sheet without a title is one fold."""
    each = [(title, list(one)) for title, one in groupby(lines, key=lambda line: line.section)]
    if len(lines) > LONG_SHEET:
        each = [(title or ("The others" if len(each) > 1 else "Count sheet"), one)
                for title, one in each]  # fmt: skip
    return [(title, one, sum(line.quantity for line in one)) for title, one in each]


@require_POST
def choose_units(request: HttpRequest) -> HttpResponse:
    """Metric, or inches and pounds, for this person's session."""
    if (units := request.POST.get("units")) in CHOICES:
        request.session[SESSION_KEY] = units
    return back_from(request)


@read_page("catalog.view_countsheet")
def draft_weight(request: HttpRequest, code: str, revision: int) -> HttpResponse:
    """Pieces and gross weight of one revision: a part of the editor's page."""
    sheets = CountSheet.objects.select_related(
        "instrument_set__container", "instrument_set__basket", "instrument_set__wrap"
    )
    sheet = get_object_or_404(sheets, instrument_set__code__folded=code, revision=revision)
    lines = lines_of(sheet)
    context = {
        "lines": lines,
        "pieces": sum(line.quantity for line in lines),
        "answer": decide_for_set(sheet.instrument_set, lines, show_for(request)) if lines else None,
    }
    return render(request, "assembly/bench/_draft_weight.html", context)

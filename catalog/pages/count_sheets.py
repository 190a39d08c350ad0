"""Count sheets: read any revision, compare a draft with the one in force, approve it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render

from catalog import actions
from catalog.comparison import LineChange, compare, details_of
from catalog.forms.sets import ReasonForm
from catalog.models import CountSheet, InstrumentSet, Line
from catalog.pages.exports import FORMATS, download, from_lines
from catalog.reading import read_page

APPROVE = "catalog.approve_count_sheet"
CHANGE = "catalog.change_countsheet"


def sheet_or_404(code: str, revision: int) -> CountSheet:
    """One revision with its set."""
    sheets = CountSheet.objects.select_related("instrument_set")
    return get_object_or_404(sheets, instrument_set__code__folded=code, revision=revision)


def lines_of(sheet: CountSheet | None) -> list[Line]:
    """The lines in their order with their instruments and substitutes; two queries."""
    if sheet is None:
        return []
    return list(sheet.lines.select_related("instrument").prefetch_related("substitutes"))


@read_page("catalog.view_countsheet")
def read(request: HttpRequest, code: str, revision: int) -> HttpResponseBase:
    """Any revision, also one that is retired or discarded."""
    sheet = sheet_or_404(code, revision)
    if (wanted := request.GET.get("as", "")) in FORMATS:
        name = f"{sheet.instrument_set.code} revision {sheet.revision}"
        return download(request, wanted, [from_lines(sheet.lines.all(), name)], name)
    lines = lines_of(sheet)
    context = {
        "sheet": sheet,
        "lines": lines,
        "pieces": sum(line.quantity for line in lines),
        "current": sheet.instrument_set.current,
    }
    return render(request, "catalog/sets/count_sheet.html", context)


@permission_required(CHANGE, raise_exception=True)
def start(request: HttpRequest, code: str) -> HttpResponse:
    """A new draft: a copy of the revision in force, or an empty one."""
    instrument_set = get_object_or_404(InstrumentSet, code__folded=code)
    current = instrument_set.current
    drafts = list(instrument_set.count_sheets.filter(state=CountSheet.State.DRAFT))
    if request.method == "POST":
        source = None if "empty" in request.POST else current
        draft = actions.start_draft(actions.actor_for(request.user), instrument_set, source)
        return redirect("catalog:edit_count_sheet", code=instrument_set.code,
                        revision=draft.revision)  # fmt: skip
    context = {"instrument_set": instrument_set, "current": current, "drafts": drafts}
    return render(request, "catalog/sets/start_draft.html", context)


@dataclass(frozen=True, slots=True)
class Comparison:
    """A revision against the one in force."""

    changes: list[LineChange]
    seen: str

    @property
    def differing(self) -> list[LineChange]:
        return [change for change in self.changes if change.words]

    @property
    def summary(self) -> list[tuple[str, int]]:
        """How many lines were added, removed, counted anew and moved."""
        return [
            ("added", sum(change.old is None for change in self.changes)),
            ("removed", sum(change.new is None for change in self.changes)),
            ("count changed", sum(change.count_changed for change in self.changes)),
            ("moved", sum(c.moved or c.section_changed for c in self.changes)),
        ]


def _digest(lines: list[Line]) -> str:
    words = "\n".join(
        f"{line.order}|{line.section}|{line.instrument_id}|{line.quantity}|{line.may_go_without}"
        f"|{line.note}|{sorted(each.pk for each in line.substitutes.all())}"
        for line in lines
    )
    return hashlib.sha256(words.encode()).hexdigest()[:16]


def _details(line: Any) -> dict[str, str]:
    """What the comparison looks at beyond count, section and place."""
    others = ", ".join(sorted(each.item_number for each in line.substitutes.all()))
    return {**details_of(line), "substitutes": others}


def _compared(sheet: CountSheet, current: CountSheet | None) -> Comparison:
    lines = lines_of(sheet)
    old = lines_of(current) if current and current.pk != sheet.pk else []
    return Comparison(compare(old, lines, _details), _digest(lines))


@permission_required("catalog.view_countsheet", raise_exception=True)
def compare_page(request: HttpRequest, code: str, revision: int) -> HttpResponse:
    """Line by line against the revision in force; here a draft is approved or discarded."""
    sheet = sheet_or_404(code, revision)
    form = ReasonForm(request.POST if "discard" in request.POST else None)
    if request.method == "POST":
        done = _discard(request, sheet, form) if "discard" in request.POST else _approve(
            request, sheet
        )  # fmt: skip
        if done:
            return done
    current = sheet.instrument_set.current
    context = {
        "sheet": sheet,
        "current": current if current != sheet else None,
        "comparison": _compared(sheet, current),
        "form": form,
        "everything": "all" in request.GET,
    }
    return render(request, "catalog/sets/compare.html", context)


def _approve(request: HttpRequest, sheet: CountSheet) -> HttpResponse | None:
    """Approve exactly what the page showed; None shows it again with why not."""
    if not request.user.has_perm(APPROVE):
        raise PermissionDenied
    if request.POST.get("seen") != _digest(lines_of(sheet)):
        messages.error(request, "The draft was changed since you opened this page. Look again.")
        return None
    actor, said = actions.actor_for(request.user), f"Revision {sheet.revision} is in force."
    return _done(request, actions.approve_count_sheet, actor, sheet, said)


def _discard(request: HttpRequest, sheet: CountSheet, form: ReasonForm) -> HttpResponse | None:
    if not request.user.has_perm(CHANGE):
        raise PermissionDenied
    if not form.is_valid():
        return None
    actor = actions.actor_for(request.user, form.cleaned_data["reason"])
    said = f"Draft {sheet.revision} is discarded. It stays readable."
    return _done(request, actions.discard_count_sheet, actor, sheet, said)


def _done(
    request: HttpRequest, verb: Callable[[actions.Actor, CountSheet], CountSheet],
    actor: actions.Actor, sheet: CountSheet, said: str,
) -> HttpResponse | None:  # fmt: skip
    """Do it and go to the set; None where it is refused, which is said."""
    try:
        verb(actor, sheet)
    except actions.NotADraftError as problem:
        messages.error(request, str(problem))
        return None
    messages.success(request, said)
    return redirect("set", code=sheet.instrument_set.code)

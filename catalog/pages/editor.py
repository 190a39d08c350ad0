"""The count sheet editor: every change of a draft is saved at once, by keyboard or touch.

With htmx the answer is the smallest part that changed, so that nothing typed elsewhere on
the page is lost; without it the page is loaded anew.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from catalog import actions
from catalog.forms.fields import row_number
from catalog.forms.sets import LineForm
from catalog.lookup.finding import INSTRUMENTS, Found, Want
from catalog.lookup.finding import find as look_up
from catalog.models import CountSheet, Instrument, Line
from catalog.pages.count_sheets import CHANGE, lines_of, sheet_or_404
from catalog.reading import read_page

WANT = Want(kinds=INSTRUMENTS, limit=8)


@dataclass(slots=True)
class Outcome:
    """What one act did. ``part`` is what has to be shown anew: list, line or substitutes."""

    said: str
    good: bool = True
    part: str = "list"
    line: Line | None = None
    added: bool = False
    offered: list[Instrument] = field(default_factory=list)


@permission_required(CHANGE, raise_exception=True)
def edit(request: HttpRequest, code: str, revision: int) -> HttpResponse:
    """The draft's lines; POST does one thing to one of them."""
    sheet = sheet_or_404(code, revision)
    if request.method == "POST":
        return _answer(request, sheet, _act(request, sheet))
    if sheet.state != CountSheet.State.DRAFT:
        messages.error(request, "This revision is no draft. It is read, not changed.")
        return redirect("catalog:count_sheet", code=code, revision=revision)
    return render(request, "catalog/sets/editor.html", _context(sheet))


@read_page(CHANGE)
def find(request: HttpRequest, code: str, revision: int) -> HttpResponse:
    """Instruments for a few letters, to be added with one key."""
    sheet = sheet_or_404(code, revision)
    found = look_up(request.GET.get("q", ""), WANT)
    context = {"sheet": sheet, "found": found, "offered": _offered(found)}
    return render(request, "catalog/sets/_found_for_line.html", context)


def _offered(found: Found) -> list[Instrument]:
    return [found.one] if isinstance(found.one, Instrument) else list(found.instruments)


def _context(sheet: CountSheet) -> dict[str, Any]:
    lines = lines_of(sheet)
    return {
        "sheet": sheet,
        "lines": lines,
        "sections": sorted({line.section for line in lines if line.section}),
        "pieces": sum(line.quantity for line in lines),
    }


def _act(request: HttpRequest, sheet: CountSheet) -> Outcome:
    """The one thing that was asked for; a reason in words when it cannot be done."""
    actor, do = actions.actor_for(request.user), request.POST.get("do", "change")
    try:
        if do == "add":
            return _add(request, sheet, actor)
        line = sheet.lines.select_related("instrument", "count_sheet").filter(
            pk=row_number(request.POST.get("line"))
        ).first()  # fmt: skip
        if line is None:
            return Outcome("That line is gone. The list shows the draft as it is now.", False)
        if do in ("stand_in", "no_stand_in"):
            return _substitutes(request, line, actor, add=do == "stand_in")
        if do == "remove":
            actions.remove_line(actor, line)
            return Outcome(f"Removed {line}.")
        return _change_and_move(request, line, actor, do)
    except actions.NotADraftError as problem:
        return Outcome(str(problem), False)


def _add(request: HttpRequest, sheet: CountSheet, actor: actions.Actor) -> Outcome:
    found = look_up(request.POST.get("number") or request.POST.get("q", ""), WANT)
    instrument = _meant(found)
    if instrument is None:
        return Outcome(_why_none(found), False, "nothing", offered=_offered(found))
    form = LineForm({"quantity": request.POST.get("how_many") or "1"})
    if "quantity" in form.errors:
        return Outcome(f"How many: {form.errors['quantity'][0]}", False, "nothing")
    line = actions.add_line(actor, sheet, instrument, form.cleaned_data["quantity"])
    return Outcome(f"Added {line}.", line=line, added=True)


def _meant(found: Found) -> Instrument | None:
    return found.one if isinstance(found.one, Instrument) else None


def _why_none(found: Found) -> str:
    if found.problem:
        return found.problem
    if found.nothing:
        return "Type an item number, a name or a nickname first."
    return found.guess_words or f"“{found.words}” may be several instruments. Choose one."


def _change_and_move(request: HttpRequest, line: Line, actor: actions.Actor, do: str) -> Outcome:
    """What is typed in the line is saved first, whatever key was pressed."""
    old_section = line.section
    if "quantity" in request.POST:
        form = LineForm(request.POST, instance=Line.objects.get(pk=line.pk))
        if not form.is_valid():
            why = " ".join(str(error) for errors in form.errors.values() for error in errors)
            return Outcome(why, False, "line", line)
        line = actions.change_line(actor, line, form.cleaned_data)
    if do in ("up", "down"):
        moved = actions.move_line(actor, line, "up" if do == "up" else "down")
        return Outcome(f"Moved {moved.instrument.name} {do}.", line=moved)
    part = "list" if line.section != old_section else "nothing"
    return Outcome(f"Saved {line}.", part=part, line=line)


def _substitutes(request: HttpRequest, line: Line, actor: actions.Actor, *, add: bool) -> Outcome:
    words = request.POST.get("number") or request.POST.get("q", "")
    now = list(line.substitutes.all())
    if not add:
        left = [each for each in now if each.item_number != words]
        actions.set_substitutes(actor, line, left)
        return Outcome(f"{words} no longer stands in.", part="substitutes", line=line)
    found = look_up(words, WANT)
    instrument = _meant(found)
    if instrument is None:
        return Outcome(_why_none(found), False, "substitutes", line, offered=_offered(found))
    if instrument.pk == line.instrument_id:
        return Outcome("That is the instrument itself.", False, "substitutes", line)
    actions.set_substitutes(actor, line, [*now, instrument])
    return Outcome(f"{instrument} may stand in.", part="substitutes", line=line)


def _answer(request: HttpRequest, sheet: CountSheet, outcome: Outcome) -> HttpResponse:
    if not getattr(request, "htmx", False):
        level = messages.SUCCESS if outcome.good else messages.ERROR
        messages.add_message(request, level, outcome.said)
        return redirect("catalog:edit_count_sheet", code=sheet.instrument_set.code,
                        revision=sheet.revision)  # fmt: skip
    if outcome.line and outcome.part == "substitutes":
        line = Line.objects.prefetch_related("substitutes").get(pk=outcome.line.pk)
        context = {"sheet": sheet, "line": line, "outcome": outcome}
        answer = render(request, "catalog/_substitutes.html", context)
        answer["HX-Retarget"] = f"#stand-ins-{line.pk}"
    elif outcome.part in ("line", "nothing"):
        answer = render(request, "catalog/sets/_said.html", {"outcome": outcome})
        pk = outcome.line.pk if outcome.line else 0
        answer["HX-Retarget"] = f"#problem-{pk}" if pk else "#found"
    else:
        context = {**_context(sheet), "outcome": outcome}
        answer = render(request, "catalog/sets/_lines.html", context)
    events: dict[str, Any] = {"lines-changed": {}} if outcome.good else {}
    if outcome.added:
        events["line-added"] = {}
    answer["HX-Trigger-After-Swap"] = json.dumps(events)
    return answer

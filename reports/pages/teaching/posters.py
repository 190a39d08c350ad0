"""The posters of the wall: each on its page with its sources, as PDF, and whose they are."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString

from assembly.equipment.sealers import temperatures
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.scene_svg import svg
from assembly.ledger import Refused
from assembly.persons import person_at
from assembly.presses import Sent, verb_page
from catalog.forms.fields import DayField
from catalog.reading import read_page
from reports.documents.posters import Control
from reports.drawing.cards.cards import draw_card
from reports.drawing.posters.pages import draw_poster
from reports.gathering.posters import (
    DESIGNS,
    TITLES,
    controls,
    set_controls,
    wall_poster,
    wall_temperatures,
)
from reports.pages.answers import answer_or_back, paper_file, person
from reports.pages.workstation import sheet_paper

MAY_SET = "assembly.override_policy"


@dataclass(frozen=True, slots=True)
class Standing:
    """What hangs on the wall, with what the department has set of it, and how that stands today.
    Of a poster the ``page`` shows its drawings."""

    key: str
    title: str
    page: str
    control: Control
    state: str
    overdue: bool


def posters_standing() -> list[Standing]:
    """All that hangs on the wall as it stands today. One query."""
    today, known = timezone.localdate(), controls()
    return [
        Standing(key, title, reverse("poster", args=[key]) if key in DESIGNS else "",
                 one, one.state(today), one.overdue(today))
        for key, title in TITLES.items()
        for one in (known.get(key, Control()),)
    ]  # fmt: skip


def _poster_key(key: str) -> str:
    if key not in DESIGNS:
        raise Http404(f"There is no poster {key}.")
    return key


@read_page("catalog.view_instrumentset")
def posters(request: HttpRequest) -> HttpResponse:
    """Every poster with its owner, number and last day; who may sets them here."""
    return _posters(request, None)


def _posters(request: HttpRequest, typed: QueryDict | None) -> HttpResponse:
    rows = [
        {
            "one": one,
            "seen": _as_sent(one.control) if typed is None else typed.get(f"seen-{key}", ""),
            **{
                name: value if typed is None else typed.get(f"{name}-{key}", "")
                for name, value in _fields(one.control).items()
            },
        }
        for key, one in zip(TITLES, posters_standing(), strict=True)
    ]
    may = request.user.has_perm(MAY_SET)
    return render(request, "reports/posters.html", {"rows": rows, "may_set": may},
                  status=200 if typed is None else 422)  # fmt: skip


def _fields(control: Control) -> dict[str, str]:
    until = control.valid_until.isoformat() if control.valid_until else ""
    return {"owner": control.owner, "number": control.number, "until": until}


def _as_sent(control: Control) -> str:
    """The values as the page saw them, to send back with what was typed."""
    return json.dumps(list(_fields(control).values()))


@read_page("catalog.view_instrumentset")
def poster(request: HttpRequest, key: str) -> HttpResponse:
    """One poster: its drawings, and what each rests on."""
    made = wall_poster(_poster_key(key), policy_in_force(), person(request))
    # The drawings are made of numbers and of words that are escaped where they are drawn.
    panels = [(panel, SafeString(svg(panel.scene))) for panel in made.panels]
    today = timezone.localdate()
    context = {
        "poster": made,
        "panels": panels,
        "paper": sheet_paper(request),
        "overdue": made.control.overdue(today),
    }
    return render(request, "reports/poster.html", context)


@paper_file("catalog.view_instrumentset")
def poster_file(request: HttpRequest, key: str) -> HttpResponse:
    """A poster from the policy in force today, on the workstation's paper or ``?paper=``."""
    made = wall_poster(_poster_key(key), policy_in_force(), person(request))
    return answer_or_back(request, f"{key}.pdf", "posters",
                          lambda: draw_poster(made, sheet_paper(request)))  # fmt: skip


@paper_file("catalog.view_instrumentset")
def temperatures_file(request: HttpRequest) -> HttpResponse:
    """The sheet beside the sealer."""
    card = wall_temperatures(policy_in_force(), person(request), temperatures())
    return answer_or_back(request, "temperatures.pdf", "posters",
                          lambda: draw_card(card, sheet_paper(request)))  # fmt: skip


def _short(what: str, longest: int) -> forms.CharField:
    problem = f"“%(value)s” is longer than the {longest} signs that {what} may have."
    return forms.CharField(
        required=False, max_length=longest, error_messages={"max_length": problem}
    )


class ControlSent(Sent):
    """What is typed for one poster."""

    owner, number = _short("an owner", 60), _short("a number", 30)
    until = DayField(required=False)


def _read(data: QueryDict, key: str) -> Control:
    sent = QueryDict(mutable=True)
    sent.update({name: data.get(f"{name}-{key}", "") for name in ("owner", "number", "until")})
    try:
        found = ControlSent.read(sent)
    except Refused as problem:
        raise Refused(f"{TITLES[key]}: {problem}") from problem
    return Control(found["owner"], found["number"], found["until"])


def _seen(data: QueryDict, key: str) -> Control:
    try:
        owner, number, until = json.loads(data.get(f"seen-{key}", ""))
        day = DayField(required=False).clean(str(until))
    except (ValueError, TypeError, forms.ValidationError):
        raise Refused(
            "The page was not sent as a whole. Load it again. Nothing was kept."
        ) from None
    return Control(str(owner), str(number), day)


def _refused(request: HttpRequest, problem: Exception, **_: Any) -> HttpResponse:
    messages.error(request, f"Not kept. {problem}")
    return _posters(request, request.POST)


@verb_page(MAY_SET, _refused)
def set_posters(request: HttpRequest) -> HttpResponse:
    """Owner, number and last day of all on the wall; what was not changed is left alone."""
    typed = {key: _read(request.POST, key) for key in TITLES}
    seen = {key: _seen(request.POST, key) for key in TITLES}
    changed = set_controls(person_at(request).actor(), typed, seen)
    said = "1 poster" if changed == 1 else f"{changed} posters"
    messages.success(request, f"Kept for {said}." if changed else "Nothing was changed.")
    return redirect("posters")

"""Skills checks: who is due, the sheet of each kind of work, and what is put on record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.persons import person_at
from assembly.presses import Sent, verb_page
from assembly.rules.days import day_words
from assembly.skills import Skill
from catalog.forms.fields import DayField, WholeField, WordsField
from catalog.reading import read_page
from reports.drawing.cards.cards import draw_card
from reports.gathering.lists_from_catalog import list_document
from reports.gathering.skills.recording import (
    MOST_WATCHED,
    SKILLS_DUE,
    Result,
    Said,
    SkillsError,
    names,
    record_skills_check,
)
from reports.gathering.skills.sheets import Step, skills_sheet, steps_of
from reports.pages.answers import answer_or_back, paper_file, person
from reports.pages.list_views import table_of
from reports.pages.workstation import sheet_paper

LONGEST = 50_000
KEYS = {str(slugify(skill)): skill for skill in Skill}
"""The kinds of work by their key in an address."""


def _skill(key: str) -> Skill:
    if key not in KEYS:
        raise Http404(f"There is no skills check {key}.")
    return KEYS[key]


@read_page("reports.view_skillscheck")
def skills(request: HttpRequest) -> HttpResponse:
    """Who is due, and the kinds of work."""
    document = list_document(SKILLS_DUE, person(request))
    table = table_of(request, SKILLS_DUE, document.rows)
    context = {"table": table, "kind": SKILLS_DUE, "kinds": KEYS}
    return render(request, "reports/skills.html", context)


@paper_file("reports.view_skillscheck")
def skills_sheet_file(request: HttpRequest, key: str) -> HttpResponse:
    """The sheet of one kind of work, on the workstation's paper or ``?paper=``."""
    card = skills_sheet(_skill(key), policy_in_force(), person(request))
    return answer_or_back(request, f"skills-{key}.pdf", reverse("skills"),
                          lambda: draw_card(card, sheet_paper(request)))  # fmt: skip


@read_page("reports.add_skillscheck")
def skills_form(request: HttpRequest, key: str) -> HttpResponse:
    """The form of one kind of work, step by step with its source."""
    return _form(request, key, {})


def _named(steps: Sequence[Step]) -> list[tuple[str, Step]]:
    """Each step with the name of its field."""
    return [(f"step-{number}", step) for number, step in enumerate(steps)]


def _form(request: HttpRequest, key: str, typed: Mapping[str, Any]) -> HttpResponse:
    policy, skill = policy_in_force(), _skill(key)
    steps = [(name, step, typed.get(name, "")) for name, step in _named(steps_of(skill, policy))]
    context = {
        "skill": skill,
        "key": key,
        "steps": steps,
        "answers": Said.values,
        "results": Result.values,
        "typed": typed,
        "names": names(),
        "today": timezone.localdate(),
        "months": f"{policy.number('skills_check_months'):g}",
    }
    return render(request, "reports/skills_form.html", context, status=422 if typed else 200)


class SkillsSent(Sent):
    """A skills check, but for its steps."""

    trainee, trainer, remarks = WordsField(150), WordsField(150), WordsField(LONGEST)
    result = WordsField()
    watched = WholeField("number watched", least=1, most=MOST_WATCHED)
    observed_on = DayField(error_messages={"required": "Write the day on which it was observed."})
    next_due = DayField(required=False)

    def clean_remarks(self) -> str:
        words: str = self.cleaned_data["remarks"]
        if len(words) > 300:
            raise forms.ValidationError(f"The remarks have {len(words)} signs; 300 are kept.")
        return words


@verb_page("reports.add_skillscheck", "skills")
def record_skills(request: HttpRequest, key: str) -> HttpResponse:
    """Put a check on record; what was typed stays on the page on an error."""
    skill = _skill(key)
    steps = steps_of(skill, policy_in_force())
    said = {step.words: request.POST.get(name, "") for name, step in _named(steps)}
    try:
        check = record_skills_check(
            person_at(request).actor(), skill=skill, steps=said, **SkillsSent.read(request.POST)
        )
    except (Refused, SkillsError) as problem:
        return _form(request, key, {**request.POST.dict(), "problem": str(problem)})
    due = day_words(check.next_due)
    messages.success(request, f"On record: {check}. The next one is due on {due}.")
    return redirect("skills")

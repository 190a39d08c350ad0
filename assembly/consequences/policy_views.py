"""The Policy page: every value with its history and source; overrides; presets side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from assembly.consequences.freed import sets_freed_by_band
from assembly.consequences.policy_actions import apply_preset, override_value, read_value
from assembly.consequences.policy_words import CONFIDENCE_WORDS, value_words
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import PolicyOverride
from assembly.persons import person_at
from assembly.presses import Sent
from assembly.rules.days import day_words
from assembly.rules.methods.cycles import BAND
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import Dated, Parameter, PolicyError, default_parameters
from catalog.forms.fields import DayField, WordsField
from catalog.reading import read_page

LONGEST = 5000


@dataclass(frozen=True, slots=True)
class Entry:
    """One dated value in words."""

    value: str
    since: date
    cited: str
    known: str
    reason: str
    own: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """One parameter as the page shows it: in force, then its history, newest first."""

    parameter: Parameter
    now: Entry
    history: tuple[Entry, ...]
    typed: str
    sent: dict[str, str]
    """What was sent for it and refused, with the ``problem``; empty else."""

    @property
    def bounds(self) -> str:
        """From where to where the department may set it; "" where it is no number."""
        least, most = self.parameter.at_least, self.parameter.at_most
        if least is None or most is None:
            return ""
        unit = self.parameter.unit
        return f"{value_words(float(least), unit)} to {value_words(float(most), unit)}"

    @property
    def choices(self) -> tuple[str, ...]:
        """The answers to choose from; empty where the value is typed."""
        if self.parameter.several:
            return ()
        return ("yes", "no") if self.parameter.unit == "yes or no" else self.parameter.choices

    def said(self) -> str:
        """What a search looks through."""
        now = self.now
        parts = (self.parameter.title, self.parameter.group, now.value, now.cited, now.reason)
        return " ".join(parts).casefold()


@read_page("assembly.view_policyoverride")
def policy_page(request: HttpRequest) -> HttpResponse:
    """Every value in force, or those that ``?q=`` names."""
    return _page(request, {})


def _page(request: HttpRequest, typed: dict[str, str]) -> HttpResponse:
    policy = policy_in_force()
    own: dict[str, list[PolicyOverride]] = {}
    for override in PolicyOverride.objects.all():
        own.setdefault(override.name, []).append(override)
    words = request.GET.get("q", "").casefold().split()
    every = [
        _shown(parameter, policy.entry(name), own.get(name, []), typed)
        for name, parameter in policy.parameters.items()
    ]
    shown = [row for row in every if all(word in row.said() for word in words)]
    groups: dict[str, list[Shown]] = {}
    for row in shown:
        groups.setdefault(row.parameter.group, []).append(row)
    freed = request.GET.get("freed") == BAND
    opened = {
        row.parameter.group
        for row in shown
        if words or row.sent or (freed and row.parameter.name == BAND)
    }
    return render(
        request,
        "assembly/policy/policy.html",
        {
            "groups": groups.items(),
            "opened": opened,
            "presets": _presets(every),
            "today": timezone.localdate(),
            "q": request.GET.get("q", ""),
            "switch": BAND,
            "freed": sets_freed_by_band(policy) if freed else None,
        },
        status=422 if typed else 200,
    )


def _shown(
    parameter: Parameter, now: Dated, own: list[PolicyOverride], typed: dict[str, str]
) -> Shown:
    entries = sorted(
        [*parameter.history, *(row.dated() for row in own)], key=lambda entry: entry.since
    )
    return Shown(
        parameter,
        _entry(parameter, now),
        tuple(_entry(parameter, entry) for entry in reversed(entries)),
        "" if now.value is None else value_words(now.value, "count").replace(",", "")
        if isinstance(now.value, float)
        else value_words(now.value, ""),
        typed if typed.get("name") == parameter.name else {},
    )  # fmt: skip


def _entry(parameter: Parameter, entry: Dated) -> Entry:
    return Entry(
        value_words(entry.value, parameter.unit),
        entry.since,
        entry.cited,
        CONFIDENCE_WORDS.get(entry.confidence, entry.confidence),
        entry.reason,
        entry.confidence == "own",
    )


@dataclass(frozen=True, slots=True)
class Preset:
    """A preset beside what is in force: how many of its values are other ones."""

    key: str
    title: str
    others: int


def _presets(shown: list[Shown]) -> dict[str, object]:
    """The presets side by side with what is in force: one row a value that any of them sets.

    Each cell is value, source, and whether it is another value than the one in force.
    """
    day, every = timezone.localdate(), presets()
    values = {key: preset.on(day) for key, preset in every.items()}
    rows = []
    for row in shown:
        entries = [each.get(row.parameter.name) for each in values.values()]
        if any(entries):
            cells = [_cell(row, entry) for entry in entries]
            rows.append((row.parameter.title, row.now.value, cells))
    others = [sum(cells[n][2] for _, _, cells in rows) for n in range(len(every))]
    titles = [
        Preset(key, preset.title, count)
        for (key, preset), count in zip(every.items(), others, strict=True)
    ]
    return {"titles": titles, "rows": rows}


def _cell(row: Shown, entry: Dated | None) -> tuple[str, str, bool]:
    if entry is None:
        return ("", "", False)
    words = value_words(entry.value, row.parameter.unit)
    return (words, entry.cited, words != row.now.value)


class Override(Sent):
    """One value of the department's own, from a day on."""

    name, value, source = WordsField(), WordsField(LONGEST), WordsField(LONGEST)
    clause, reason = WordsField(LONGEST), WordsField(LONGEST)
    since = DayField(required=False)


@require_POST
@permission_required("assembly.override_policy", raise_exception=True)
def override(request: HttpRequest) -> HttpResponse:
    """Set one value of the department's own; what was typed stays on the page on an error."""
    typed = request.POST.dict()
    try:
        sent = Override.read(request.POST)
        made = override_value(
            person_at(request).actor(sent["reason"]),
            sent["name"],
            read_value(sent["name"], sent["value"]),
            since=sent["since"] or timezone.localdate(),
            source=sent["source"],
            clause=sent["clause"],
        )
    except PolicyError as problem:
        return _not_set(request, typed, problem.problem)
    except Refused as problem:
        return _not_set(request, typed, str(problem))
    title = default_parameters()[made.name].title
    messages.success(request, f"{title}: set from {day_words(made.since)}.")
    return redirect(f"{reverse('policy')}#{made.name}")


def _not_set(request: HttpRequest, typed: dict[str, str], problem: str) -> HttpResponse:
    """The page with its row open, what was typed in it, and what is wrong beside the field."""
    parameter = default_parameters().get(typed.get("name", ""))
    title = f"{parameter.title}: " if parameter else ""
    messages.error(request, f"Not set. {title}{problem}.")
    return _page(request, {**typed, "problem": problem})


@require_POST
@permission_required("assembly.override_policy", raise_exception=True)
def take_preset(request: HttpRequest) -> HttpResponse:
    """Take over every value of a preset, from today."""
    try:
        preset, actor = request.POST.get("preset", ""), person_at(request).actor()
        made = apply_preset(actor, preset, since=timezone.localdate())
    except PolicyError as problem:
        messages.error(request, str(problem))
    else:
        messages.success(request, f"{len(made)} values set from the preset.")
    return redirect("policy")

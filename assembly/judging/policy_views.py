"""The Policy page: every value with its history and source; overrides; presets side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.freed import sets_freed_by_band
from assembly.judging.policy_actions import apply_preset, override_value, read_value
from assembly.judging.policy_words import CONFIDENCE_WORDS, value_words
from assembly.ledger import Refused
from assembly.models import PolicyOverride
from assembly.persons import person_at
from assembly.presses import Sent
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

    @property
    def bounds(self) -> str:
        """From where to where the department may set it; "" where it is no number."""
        least, most = self.parameter.at_least, self.parameter.at_most
        if least is None or most is None:
            return ""
        unit = self.parameter.unit
        return f"{value_words(float(least), unit)} to {value_words(float(most), unit)}"


@read_page("assembly.view_policyoverride")
def policy_page(request: HttpRequest) -> HttpResponse:
    """Every value in force."""
    return _page(request, {})


def _page(request: HttpRequest, typed: dict[str, str]) -> HttpResponse:
    policy = policy_in_force()
    own: dict[str, list[PolicyOverride]] = {}
    for row in PolicyOverride.objects.all():
        own.setdefault(row.name, []).append(row)
    shown = [
        _shown(parameter, policy.entry(name), own.get(name, []))
        for name, parameter in policy.parameters.items()
    ]
    groups = [(name, list(rows)) for name, rows in groupby(shown, key=lambda s: s.parameter.group)]
    return render(
        request,
        "assembly/policy/policy.html",
        {
            "groups": groups,
            "presets": _presets(),
            "today": timezone.localdate(),
            "typed": typed,
            "digest": policy.digest,
            "switch": BAND,
            "freed": sets_freed_by_band(policy) if request.GET.get("freed") == BAND else None,
        },
        status=422 if typed else 200,
    )


def _shown(parameter: Parameter, now: Dated, own: list[PolicyOverride]) -> Shown:
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


def _presets() -> dict[str, object]:
    """The presets side by side: one row a value that any of them sets."""
    every, day = presets(), timezone.localdate()
    names = dict.fromkeys(name for preset in every.values() for name in preset.on(day))
    parameters = default_parameters()
    rows = []
    for name in names:
        cells = []
        for preset in every.values():
            entry = preset.on(day).get(name)
            words = value_words(entry.value, parameters[name].unit) if entry else "as shipped"
            cells.append((words, entry.cited if entry else ""))
        rows.append((parameters[name].title, cells))
    return {"titles": [(key, preset.title) for key, preset in every.items()], "rows": rows}


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
        return _page(request, {**typed, "problem": problem.problem})
    except Refused as problem:
        return _page(request, {**typed, "problem": str(problem)})
    messages.success(request, f"{default_parameters()[made.name].title}: set from {made.since}.")
    return redirect("policy")


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

"""What another preset, value, supply or sterilizer would change: asked and listed alone."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from assembly.consequences.policy_words import value_words
from assembly.consequences.supposing import Said
from assembly.consequences.what_if import steps_of
from assembly.judging.facts_from_catalog import department
from assembly.ledger import Refused
from assembly.presses import Sent
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import PolicyError, default_parameters
from catalog.forms.fields import WordsField
from catalog.models import Sterilizer
from catalog.models.supplies import PACKAGING
from catalog.reading import read_page
from catalog.runs import Run, beside
from reports.gathering.lists_from_catalog import list_document
from reports.pages.answers import as_file, check_form, person, refused
from reports.pages.list_views import table_of
from reports.pages.policy.what_if_list import Asking, list_of, title_of

MAY = "assembly.override_policy"


class Asked(Sent):
    """What is supposed; a value by its name, supplies and sterilizer by their codes."""

    preset, name, value = WordsField(), WordsField(), WordsField(5000)
    more, without, sterilizer = WordsField(), WordsField(), WordsField()


def _said(request: HttpRequest) -> Said:
    sent = Asked.read(request.GET)
    if sent["value"] and not sent["name"]:
        raise Refused(f"“{sent['value']}” is a value of what? Choose which.")
    if sent["name"] and not sent["value"]:
        raise Refused("Value: nothing was typed. Type what it becomes, or “not set”.")
    more, without, one = (_some(sent[name]) for name in ("more", "without", "sterilizer"))
    return Said(
        preset=sent["preset"],
        values={sent["name"]: sent["value"]} if sent["name"] else {},
        supplies=more,
        without=without,
        sterilizers=one,
    )


def _some(code: str) -> tuple[str, ...]:
    return (code,) if code else ()


def _asking(request: HttpRequest) -> Asking:
    """What is asked. Refused says what cannot be."""
    try:
        return Asking.of(_said(request))
    except PolicyError as problem:
        known = default_parameters().get(problem.place)
        raise Refused(f"{known.title if known else problem.place}: {problem.problem}.") from problem
    except ValueError as problem:
        raise Refused(f"{problem}.") from problem


def _begun(request: HttpRequest, asked: Asking) -> HttpResponse | None:
    """To a run that finds it and leads back here, where no page may wait so long."""
    if not asked.takes_long():
        return None
    told = Run(title_of(asked.said), steps_of(), MAY, then=request.get_full_path())
    file = f"{reverse('what_if_file', args=['csv'])}?{request.GET.urlencode()}"
    return beside(request, told, file)


@read_page(MAY)
def what_if_page(request: HttpRequest) -> HttpResponse:
    """What is asked and what would change, with itself as PDF, workbook and text."""
    context = _choices(request)
    if not any(request.GET.get(name) for name in Asked.base_fields if name != "name") and (
        "value" not in request.GET
    ):  # A link to a value names it alone.
        return render(request, "reports/policy/what_if.html", context)
    try:
        asked = _asking(request)
    except Refused as problem:
        context["said"] = {"tone": "wrong", "words": str(problem)}
        return render(request, "reports/policy/what_if.html", context, status=422)
    if begun := _begun(request, asked):
        return begun
    kind = list_of(asked.said, asked.found())
    rows = list(kind.rows())
    context |= {"kind": kind, "rows": rows, "table": table_of(request, kind, rows),
                "query": request.GET.urlencode()}  # fmt: skip
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    return render(request, "reports/_list.html" if part else "reports/policy/what_if.html", context)


@read_page(MAY)
def what_if_file(request: HttpRequest, form: str) -> HttpResponseBase:
    """The same list as a file: pdf, xlsx or csv."""
    check_form(form)
    try:
        asked = _asking(request)
    except Refused as problem:
        return refused(request, problem, "what_if")
    if begun := _begun(request, asked):
        return begun
    kind = list_of(asked.said, asked.found(getattr(request, "progress", None)))
    return as_file(request, list_document(kind, person(request)), "what-if", form, "what_if")


def _choices(request: HttpRequest) -> dict[str, Any]:
    """What may be chosen of, and what was."""
    policy, stock = department().policy(timezone.localdate()), department().stock
    named = request.GET.get("name", "")
    in_force = policy.entry(named).value if named in policy.parameters else None
    absent = [code for make in PACKAGING.values()
              for code in make._default_manager.filter(in_stock=False).values_list(
                  "code", flat=True)]  # fmt: skip
    return {
        "asked": request.GET,
        "presets": [(key, one.title) for key, one in presets().items()],
        "values": [(name, one.title) for name, one in policy.parameters.items()],
        "now": value_words(in_force, policy.parameters[named].unit) if in_force is not None else "",
        "stock": [one.code for one in stock],
        "absent": absent,
        "sterilizers": [
            (code, f"{code} gone" if active else f"{code} in use")
            for code, active in Sterilizer.objects.values_list("code", "active")
        ],
    }

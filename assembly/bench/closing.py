"""What a page shows of a package that is about to be closed: its checks, and what is overridden."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest

from assembly.bench.forms import answers_from, covers, reasons_from
from assembly.judging.decisions import Answer, SetAnswer
from assembly.judging.taking import (
    Option,
    around_on_record,
    barred,
    cycles_barred,
    cycles_offered,
    open_findings,
)
from assembly.ledger import Refused
from assembly.packages.containers import looked_at, to_be_packed
from assembly.packages.printable import no_place
from assembly.packages.recording import check_supplies
from assembly.packages.uses import Uses, uses_of, without_filters
from assembly.persons import ASSEMBLE, person_at
from assembly.questions.asking import Thing, allowed_for
from assembly.rules.findings import Show, metric
from assembly.rules.telling.checks import Check
from assembly.rules.telling.guidance import Guidance

OWN = ("take", "programme")
"""What an address says of this package alone; another one is asked for without it."""
GROUPS = {"piece": "The piece", "package": "In its package"}
OF_A_SET = {"piece": "The pieces", "package": "In the package"}
"""The checks before closing, in the order of the hands, under what they are about."""


def kept_from(request: HttpRequest) -> dict[str, str]:
    """What else the address asks for, for the address of another way to pack it."""
    return {name: str(value) for name, value in request.GET.items() if name not in OWN}


def option_words(
    request: HttpRequest, option: Option | None, answer: Any, thing: Thing | None = None
) -> dict[str, Any]:
    """Why the rules do not pass it, each finding with what was typed, and which programmes
    can be chosen for it, or why none can; and what a coordinator signed for ``thing``."""
    if option is None or not option.needs_override:
        return {}
    given = reasons_from(request.POST)
    kept = kept_from(request)
    return {
        **(_allowed(request, option, thing, kept) if thing else {}),
        "open": [
            {
                "key": one.key,
                "status": str(one.finding.status),
                "sentence": one.sentence(answer.show),
                "source": one.finding.source,
                "ticked": one.key in given,
                "because": given.get(one.key, ""),
            }
            for one in open_findings(option)
        ],
        "barred": barred(answer, option) if option.method else "",
        "cycles": [
            (one, urlencode(kept | {"take": option.key, "programme": one.code}))
            for one in cycles_offered(answer, option)
        ],
        "others_barred": cycles_barred(answer, option),
        "must_choose": not option.method,
    }


def _allowed(
    request: HttpRequest, option: Option, thing: Thing, kept: dict[str, str]
) -> dict[str, Any]:
    """What was signed: each finding with its reason where it covers all that is open; where it
    is for another way to pack it, the address of that one; else that it is so no longer."""
    question = allowed_for(thing)
    if question is None:
        return {}
    signed = {one["key"]: one for one in question.allowed["findings"]}
    if not covers(question, option.key, request.GET.get("programme", "")):
        ways = {name: question.allowed[name] for name in OWN if question.allowed[name]}
        return {"allowed": question, "allowed_at": urlencode(kept | ways)}
    whole = all(one.key in signed for one in open_findings(option))
    return {"allowed": question, "allowed_findings": list(signed.values()) if whole else []}


def supplies_shown(
    request: HttpRequest, answer: Answer | SetAnswer, option: Option | None,
    guidance: Guidance | None,
) -> dict[str, Any]:  # fmt: skip
    """The containers that it may go into, with the number that was typed; and in ``not_now`` and
    ``no_place`` why its press would be refused for what it is packed in, before a check is
    answered."""
    if option is None or guidance is None or not request.user.has_perm(ASSEMBLE):
        return {}
    number = request.POST.get("container", "")
    shown: dict[str, Any] = {"containers": to_be_packed(option.key), "container": number}
    shown["no_place"] = no_place(request, around_on_record(answer, option), answer.policy)
    uses: Uses = uses_of(answer, option, guidance)
    try:
        own = looked_at(option.key, number)
        if own is None and shown["containers"] is not None:
            uses = without_filters(uses)  # its own may stay in
        check_supplies(person_at(request), uses, own)
    except Refused as problem:
        shown["not_now"] = str(problem)
    return shown


def checks_shown(
    request: HttpRequest, checks: tuple[Check, ...], show: Show = metric
) -> list[dict[str, str]]:
    """Each check as the page shows it, with what was answered already."""
    given = answers_from(request.POST) if request.method == "POST" else {}
    return [
        {
            "key": check.key,
            "group": check.group,
            "word": check.word,
            "asked": check.asked(show),
            "then": check.then(show),
            "source": check.source,
            "lacks": check.lacks,
            "given": given.get(check.key, ""),
        }
        for check in checks
    ]


def groups_of(
    checks: list[dict[str, str]], headings: Mapping[str, str] = GROUPS
) -> list[dict[str, Any]]:
    """The checks under their headings; ``next`` is the first that is not answered whole."""
    found = [
        {"key": key, "heading": headings[key], "checks": list(each)}
        for key, each in groupby(checks, key=lambda one: one["group"])
    ]
    left = [one for one in found if not all(check["given"] for check in one["checks"])]
    for one in found:
        one["next"] = one is (left or found)[0 if left else -1]
        one["words"] = ", ".join(check["word"].lower() for check in one["checks"])
    return found

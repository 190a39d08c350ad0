"""What a closing page sends: each check's answer, what to take, who overrides and why."""

from __future__ import annotations

from django.http import HttpRequest

from assembly.judging.facts_from_catalog import programmes
from assembly.judging.taking import Override, Plan
from assembly.persons import person_at, second_person
from catalog.vocabulary import METHOD_NAMES

OVERRIDE = "assembly.override_decision"
ASSEMBLE = "assembly.assemble"
SPARE, USE = "spare", "use"
"""Where an instrument comes from: loose in store, or back from use."""


def answers_from(request: HttpRequest) -> dict[str, str]:
    """The answer of each check the page asked; one press answers the unanswered with yes.

    A *no* stays a no. Only checks that the page showed are answered, so that a check that
    came up since is never answered unseen.
    """
    every = request.POST.get("all") == "yes"
    found = {}
    for key in request.POST.getlist("asked"):
        given = request.POST.get(f"check:{key}", "yes" if every else "")
        if given in ("yes", "no"):
            found[key] = given
    return found


def plan_from(request: HttpRequest) -> Plan:
    """The plan of a closing page. persons.Unknown where a second person is not recognised."""
    return Plan(
        request.POST.get("take", ""),
        answers_from(request),
        _override(request),
        _programme(request.POST.get("programme", "")),
        from_spares=request.POST.get("origin") == SPARE,
    )


def programmes_offered() -> list[str]:
    """The programmes the department runs, in words; the methods where it entered none."""
    running = programmes()
    if running is None:
        return [str(name) for name in METHOD_NAMES.values()]
    return [str(programme) for programme in running]


def _programme(words: str) -> str:
    return words if words in programmes_offered() else ""


def _override(request: HttpRequest) -> Override | None:
    reason = request.POST.get("override_reason", "").strip()[:300]
    if request.user.has_perm(OVERRIDE):
        return Override(person_at(request), reason) if "override_reason" in request.POST else None
    name = request.POST.get("override_name", "")
    if not name:
        return None
    password = request.POST.get("override_password", "")
    return Override(second_person(request, name, password, OVERRIDE), reason)

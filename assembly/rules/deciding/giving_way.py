"""When a pouch that meets every rule is still not taken: it wastes material, or is loose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.rules.deciding.boxes import is_out
from assembly.rules.deciding.doubts import in_doubt
from assembly.rules.findings import CLOSE_RATIO, Candidate, Finding, Rule, Status
from assembly.rules.limits.clearances import is_loose
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

CHOICE = "choice"
"""The rule that says why another kind is taken."""


def in_order_of_choice(candidates: Sequence[Candidate], policy: Policy) -> list[Candidate]:
    """The ranked candidates, with what the first pouch gives way to before all but those that
    are out and came before that pouch.

    What is taken instead carries the finding that says why. No pouch that serves gives way
    past a better kind that is in doubt.
    """
    passing = [one for one in candidates if one.status is Status.MET]
    if not passing or passing[0].kind != Kind.POUCH:
        return list(candidates)
    pouch = passing[0]
    for other in candidates:
        if other.kind != Kind.POUCH and in_doubt(other):
            break
        if other.kind == Kind.POUCH or other.status is not Status.MET:
            continue
        why = _less_material(pouch, other, policy) or _loose(pouch, policy)
        if why:
            taken = replace(other, findings=(*other.findings, why))
            rest = [one for one in candidates if one is not other]
            out = [one for one in rest[: rest.index(pouch)] if is_out(one)]
            return [*out, taken, *(one for one in rest if one not in out)]
    return list(candidates)


def _less_material(pouch: Candidate, roll: Candidate, policy: Policy) -> Finding | None:
    """Why a roll is taken that needs much less: one sheet of each, in mm2, is compared."""
    share = policy.number_or_none("pouch_gives_way_share")
    needs, both = roll.details.get("material_mm2"), pouch.details.get("material_mm2")
    if roll.kind != Kind.ROLL or share is None or not needs or not both:
        return None
    figure, limit = needs / (both / 2), 1 / share
    if figure >= limit - CLOSE_RATIO:
        return None
    return Rule(CHOICE, policy.source("pouch_gives_way_share")).met(
        f"Pouch {pouch.code} serves too, but the roll needs only {{figure}} of its material; "
        "a pouch gives way under {limit}.",
        figure=figure,
        limit=limit,
        unit="ratio",
    )


def _loose(pouch: Candidate, policy: Policy) -> Finding | None:
    """Why anything else is taken that meets every rule where a pouch is loose."""
    covered = pouch.details.get("fill_plain")
    if not is_loose(covered, policy):
        return None
    return Rule(CHOICE, policy.source("loose_share")).met(
        f"Pouch {pouch.code} serves too, but it is loose: {{covered}} of its porous side would "
        "be covered; under {least} it gives way.",
        amounts={
            "covered": (covered or 0.0, "ratio"),
            "least": (policy.number("loose_share"), "ratio"),
        },
    )

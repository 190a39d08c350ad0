"""What pages that give work say of a person's skills checks."""

from __future__ import annotations

from typing import Any

from django import template

from assembly.persons import name_of
from assembly.skills import Skill, skills_for, standings

register = template.Library()
PART = "assembly/skills/_standing.html"


@register.inclusion_tag(PART, takes_context=True)
def checks_of(
    context: dict[str, Any], person: Any, answer: Any, *, taken: Any = None, of_set: bool = False
) -> dict[str, Any]:
    """How somebody stands in what a decision, or ``taken`` of it, is packed in: an account, or a
    name on record. Nothing for who may not read the record.
    """
    supplies = answer.question.supplies if answer else ()
    taken = taken or (answer.shown if answer else None)
    return _said(context, person, skills_for(taken, supplies, of_set=of_set))


@register.inclusion_tag(PART, takes_context=True)
def loading_check_of(context: dict[str, Any], person: Any) -> dict[str, Any]:
    """How somebody stands in loading a sterilizer."""
    return _said(context, person, [Skill.LOADING])


@register.simple_tag
def not_in_date(person: Any) -> str:
    """What is not in date of a person's checks, in a few words; blank where all are."""
    found = standings(name_of(person), Skill)
    unknown = [one for one in found if one.in_date is None]
    said = [f"{one.skill} {one.words}" for one in found if one.in_date is False]
    if len(unknown) == len(found):
        return "none on record"
    if unknown:
        said.append(f"not on record for {', '.join(f'{one.skill}' for one in unknown)}")
    return "; ".join(said)


def _said(context: dict[str, Any], person: Any, skills: list[Skill]) -> dict[str, Any]:
    name = person if isinstance(person, str) else name_of(person)
    may = context["request"].user.has_perm("reports.view_skillscheck")
    return {
        "whose": "Your" if not isinstance(person, str) else f"{name}'s",
        "standings": standings(name, skills) if may and skills else [],
    }

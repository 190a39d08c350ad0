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
    context: dict[str, Any], person: Any, answer: Any = None, of_set: bool = False
) -> dict[str, Any]:
    """How somebody stands in what this decision is packed in: an account, or a name on record.

    Nothing for who may not read the record.
    """
    decision = getattr(answer, "decision", None)
    taken = getattr(answer, "shown", None) if decision else None
    supplies = answer.question.supplies if decision else ()
    return _said(context, person, skills_for(taken, supplies, of_set=of_set))


@register.inclusion_tag(PART, takes_context=True)
def loading_check_of(context: dict[str, Any], person: Any) -> dict[str, Any]:
    """How somebody stands in loading a sterilizer."""
    return _said(context, person, [Skill.LOADING])


@register.simple_tag
def not_in_date(person: Any) -> list[str]:
    """Of all kinds of work those in which a person's check is overdue, to be watched again, or
    unknown; in words."""
    found = standings(name_of(person), Skill)
    return [f"{one.skill}: {one.words}" for one in found if not one.in_date]


def _said(context: dict[str, Any], person: Any, skills: list[Skill]) -> dict[str, Any]:
    name = person if isinstance(person, str) else name_of(person)
    may = context["request"].user.has_perm("reports.view_skillscheck")
    return {
        "whose": "Your" if not isinstance(person, str) else f"{name}'s",
        "standings": standings(name, skills) if may and skills else [],
    }

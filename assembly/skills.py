"""What a person was watched at: the kinds of work, and how a check stands where work is given.

The record of checks is kept by an app above, which registers here when it starts. What is
said never stops anybody: a check that is overdue, or on no record, is said and no more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from assembly.rules.findings import Candidate
from catalog.vocabulary import Kind


class Skill(StrEnum):
    """The kinds of work that are checked, by the word that is said for each."""

    SELF_SEAL = "self-seal pouch"
    HEAT_SEAL = "heat-seal pouch"
    WRAP = "wrap"
    CONTAINER = "container"
    SET = "set"
    LOADING = "loading"


NO_CHECK = "no check on record"


@dataclass(frozen=True, slots=True)
class Standing:
    """How one person stands in one kind of work: ``words``, and whether that is in date.

    ``in_date`` is None where nothing is known.
    """

    skill: Skill
    words: str = NO_CHECK
    in_date: bool | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """Who keeps the record of checks.

    ``of`` gives the standings of a person by name, of the kinds that have one; ``late`` says who
    is to be watched now, a sentence each, the longest due first.
    """

    of: Callable[[str], Sequence[Standing]]
    late: Callable[[], Sequence[str]]


RECORDS: list[Record] = []


def standings(name: str, skills: Iterable[Skill]) -> list[Standing]:
    """How the person stands in each of the kinds; what is on no record is said to be unknown."""
    known = {one.skill: one for record in RECORDS for one in record.of(name)}
    return [known.get(skill, Standing(skill)) for skill in skills]


def late() -> list[str]:
    """Who is to be watched now, the longest due first."""
    return [words for record in RECORDS for words in record.late()]


def skills_for(taken: Candidate | None, supplies: Iterable[object], *, of_set: bool) -> list[Skill]:
    """The kinds of work that packing in ``taken`` asks for; a roll is sealed with heat."""
    found = [Skill.SET] if of_set else []
    if taken is None:
        return found
    if taken.kind == Kind.WRAP:
        return [*found, Skill.WRAP]
    if taken.kind == Kind.CONTAINER:
        return [*found, Skill.CONTAINER]
    supply = next((one for one in supplies if getattr(one, "code", None) == taken.code), None)
    by_hand = getattr(supply, "closure", None) == "self-seal"
    return [*found, Skill.SELF_SEAL if by_hand else Skill.HEAT_SEAL]

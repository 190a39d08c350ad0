"""Boxes that the bench said are empty: what they rule out, and what they leave undecided.

Packaging whose box is empty is not met, so that the next that serves is taken. An empty box of
indicators or protectors never makes a package go without: it cannot be told until there is one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from assembly.rules.deciding.protection import protectors_named
from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Emptied, Protector
from assembly.rules.findings import Candidate, Finding, Rule, Status
from catalog.vocabulary import Kind

BOX = Rule("box", "said at the bench")
MISSING = "question.out"


def with_boxes(candidate: Candidate, question: Question | SetQuestion) -> Candidate:
    """The candidate with a finding for each empty box that it needs; as it is where none is."""
    found = [_finding(one, candidate) for one in emptied_for(candidate, question)]
    return replace(candidate, findings=(*candidate.findings, *found)) if found else candidate


def boxes_of(candidate: Candidate, question: Question | SetQuestion) -> dict[str, str]:
    """What a candidate is packed with out of boxes, by its key: what it is closed with, its
    indicators, its protectors; each with a short name."""
    found = {f"{candidate.kind}:{code}": code for code in _codes(candidate)}
    if candidate.method:
        found[f"indicator:{candidate.method}"] = "indicators"
    for named in _protectors(question):
        found |= {one.key: one.code for one in named}
    return found


def _codes(candidate: Candidate) -> list[str]:
    """What comes out of a box: a container does not, nor does the basket in a wrap."""
    if candidate.kind == Kind.CONTAINER:
        return []
    others = candidate.with_codes if candidate.kind == Kind.POUCH else ()
    return [code for code in (candidate.code, *others) if code]


def _protectors(question: Question | SetQuestion) -> list[list[Protector]]:
    """The protectors in stock under each name that what is packed calls."""
    inside = question.instruments if isinstance(question, SetQuestion) else (question.instrument,)
    names = dict.fromkeys(one.protector for one in inside if one.protector)
    return [protectors_named(name, question.protectors or ()) for name in names]


def emptied_for(candidate: Candidate, question: Question | SetQuestion) -> list[Emptied]:
    """The empty boxes of what a candidate is closed with, its indicators and its protectors."""
    if not question.out:
        return []
    out = {one.supply for one in question.out}
    keys = {f"{candidate.kind}:{code}" for code in _codes(candidate)}
    keys.add(f"indicator:{candidate.method}")
    for named in _protectors(question):
        if {one.key for one in named} <= out:
            keys |= {one.key for one in named}
    return [one for one in question.out if one.supply in keys]


def _finding(one: Emptied, candidate: Candidate) -> Finding:
    words = f"{one.name}: the box is empty{f' ({one.said})' if one.said else ''}."
    if one.supply.startswith(f"{candidate.kind}:"):
        return BOX.not_met(words)
    return BOX.cannot_tell(words, MISSING)


def is_out(candidate: Candidate) -> bool:
    """Whether it would serve if its box were not empty."""
    return candidate.status is Status.NOT_MET and _by_boxes_alone(candidate.reasons)


def waits_for_box(candidate: Candidate) -> bool:
    """Whether nothing but an empty box of indicators or protectors leaves it undecided."""
    return candidate.status is Status.CANNOT_TELL and _by_boxes_alone(candidate.reasons)


def _by_boxes_alone(reasons: Iterable[Finding]) -> bool:
    return all(one.rule == BOX.name for one in reasons)


def protectors_left(
    protectors: Sequence[Protector], out: Iterable[Emptied]
) -> tuple[Protector, ...]:
    """The protectors that can be taken: one whose box is empty gives way to another size of its
    name; where no other is left it stays, and the decision waits for its box."""
    empty = {one.supply for one in out}
    if not empty:
        return tuple(protectors)
    there = {one.name.casefold() for one in protectors if one.key not in empty}
    return tuple(one for one in protectors
                 if one.key not in empty or one.name.casefold() not in there)  # fmt: skip

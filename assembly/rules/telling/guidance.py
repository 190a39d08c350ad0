"""How the chosen package is packed: protector, indicator, how it lies, checks, loading.

Put together from the families of rules for one decision, in the order of the work.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assembly.rules.deciding.protection import protector_words, tip_of
from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Supply
from assembly.rules.findings import CLOSE_MM, Candidate, Caution, Decision, Outcome, Status
from assembly.rules.kinds.protectors import choose_protector
from assembly.rules.limits.handling import may_be_sharp
from assembly.rules.policy.values import Policy
from assembly.rules.telling.checks import (
    SHEETS,
    Check,
    closed_checks,
    closing_checks,
    loading,
    orientation,
    packed_from,
)
from assembly.rules.telling.indicators import Indicator, indicators
from catalog.vocabulary import Kind

NOT_ON_RECORD = "Whether it takes a tip protector is not on record, read its IFU"


@dataclass(frozen=True, slots=True)
class Guidance:
    """What the technician does, and answers, for one package: ``checks`` before it is closed,
    ``closed`` after. ``protectors`` has a sentence for each line of a set that takes one, and
    one for all those of which nobody knows.
    """

    protectors: tuple[str, ...]
    suitable: str
    indicators: tuple[Indicator, ...]
    orientation: tuple[Caution, ...]
    checks: tuple[Check, ...]
    closed: tuple[Check, ...]
    loading: tuple[Caution, ...]


def guidance_for(
    candidate: Candidate, question: Question, policy: Policy, decision: Decision | None = None
) -> Guidance:
    """The guidance for the candidate taken; of ``decision``, what the next size would be."""
    supply = next(one for one in question.supplies if one.code == candidate.code)
    suitable = suitable_words(candidate, question, policy)
    larger = next_size(candidate, decision) if decision else ""
    protectors = (protector_words(question.instrument),)
    return _guidance(
        candidate, supply, question.instrument, policy, 1, protectors, suitable, larger
    )


def next_size(candidate: Candidate, decision: Decision) -> str:
    """The next wider pouch or roll that meets every rule, of the same kind if there is one."""
    every = (decision.recommended, *decision.alternatives,
             *(passed.candidate for passed in decision.passed_over))  # fmt: skip
    room = _width(candidate)
    wider = [one for one in every
             if one and one.status is Status.MET and one.kind in SHEETS
             and _width(one) > room + CLOSE_MM]  # fmt: skip
    found = min(wider, key=lambda one: (one.kind != candidate.kind, one.order), default=None)
    return f"{found.kind} {found.code}" if found else ""


def _width(candidate: Candidate) -> float:
    """The width there is (mm), for kinds that are asked for one; else more than any."""
    widths = [one.limit for one in candidate.findings if one.rule == "width"]
    return math.inf if not widths or widths[0] is None else widths[0]


def suitable_words(candidate: Candidate, question: Question, policy: Policy) -> str:
    """Which protector in stock suits the tip, where the tip is measured; else nothing."""
    tip, method = tip_of(question.instrument), candidate.method
    if tip.across_mm is None or not question.protectors or method is None:
        return ""
    choice = choose_protector(tip, method, question.protectors, policy)
    if choice.taken:
        return f"Take protector {choice.taken.code}."
    if choice.outcome is Outcome.UNDECIDED:
        return "No protector is certain to suit: something must be known first."
    return "No protector in stock suits this tip and method."


def set_guidance(
    candidate: Candidate,
    supply: Supply,
    lines: Sequence[SetLine],
    levels: int | None,
    policy: Policy,
) -> Guidance:
    """The guidance for a set: what any of its instruments needs, the set needs."""
    every = [line.instrument for line in lines]
    as_one = Instrument(
        name="the set",
        sharp=_any(one.sharp if may_be_sharp(one) else bool(one.sharp) for one in every),
        hinged=_any(one.hinged for one in every),
        ratchet=_any(one.ratchet for one in every),
        hollow=_any(one.hollow for one in every),
        parts=_any(one.parts for one in every),
        protector=protectors_listed(lines)
        or ("" if all(one.protector == "" for one in every) else None),
        pieces=sum(line.quantity for line in lines) or 1,
        lumen_mm=next((one.lumen_mm for one in every if one.lumen_mm is not None), None),
    )
    return _guidance(candidate, supply, as_one, policy, levels, protectors_of(lines))


def protectors_of(lines: Sequence[SetLine]) -> tuple[str, ...]:
    """Which protector goes on what, line by line; then all whose need is not on record.

    >>> hook = Instrument(name="hook", protector="vented, small")
    >>> protectors_of([SetLine(quantity=2, instrument=hook)])
    ('Tip protectors on 2 × hook: vented, small.',)
    >>> protectors_of([SetLine(quantity=1, instrument=Instrument(name="probe"))])
    ('Whether it takes a tip protector is not on record, read its IFU: probe.',)
    """
    named = [
        f"Tip protector{'s' if line.quantity > 1 else ''} on {line.quantity} × "
        f"{line.instrument.name}: {line.instrument.protector}."
        for line in lines
        if line.instrument.protector
    ]
    unknown = dict.fromkeys(
        line.instrument.name for line in lines if line.instrument.protector is None
    )
    if unknown:
        named.append(f"{NOT_ON_RECORD}: {', '.join(unknown)}.")
    return tuple(named) or ("No tip protector is on record for any of it.",)


def protectors_listed(lines: Iterable[SetLine]) -> str:
    """How many of which protector go on what; empty where none is on record.

    >>> hook = Instrument(name="hook", protector="vented, small")
    >>> protectors_listed([SetLine(quantity=2, instrument=hook)])
    '2 × vented, small: hook'
    """
    return "; ".join(
        f"{n} × {which}: {', '.join(on)}" for n, which, on in protectors_to_take(lines)
    )


def protectors_to_take(lines: Iterable[SetLine]) -> list[tuple[int, str, list[str]]]:
    """The pick list: how many, which protector, and on which instruments."""
    counts: Counter[str] = Counter()
    names: dict[str, dict[str, None]] = {}
    for line in lines:
        if which := line.instrument.protector:
            counts[which] += line.quantity
            names.setdefault(which, {})[line.instrument.name] = None
    return [(n, which, list(names[which])) for which, n in counts.items()]


def _any(answers: Iterable[bool | None]) -> bool | None:
    """Yes if any says yes, unknown if any is unknown, else no."""
    known = list(answers)
    if True in known:
        return True
    return None if None in known else False


def _guidance(
    candidate: Candidate,
    supply: Supply,
    instrument: Instrument,
    policy: Policy,
    levels: int | None,
    protectors: tuple[str, ...],
    suitable: str = "",
    larger: str = "",
) -> Guidance:
    packed = packed_from(candidate, supply, larger)
    return Guidance(
        protectors=protectors,
        suitable=suitable,
        indicators=indicators(Kind(candidate.kind), policy, double=packed.double, levels=levels),
        orientation=orientation(packed, instrument, policy),
        checks=closing_checks(packed, instrument, policy),
        closed=closed_checks(packed, policy),
        loading=loading(packed, policy),
    )

"""What is decided for a set, and what is worked out of it only where somebody asks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import pieces_in_finding
from assembly.rules.findings import Decision, Finding, Status
from assembly.rules.limits.handling import sharp_finding
from assembly.rules.methods.cycles import RULE as COMMON_CYCLE
from assembly.rules.methods.cycles import CycleSplit, common_cycle_finding, split_by_cycle
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one line adds to the decision: its weight (g, None unknown) and its findings."""

    line: SetLine
    weight_g: float | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class SetDecision:
    """The decision; and where somebody asks, how the set would have to be split by cycle, each
    line's part in it, and which weight comes first. ``question`` has the protectors on."""

    decision: Decision
    question: SetQuestion
    policy: Policy

    @cached_property
    def split(self) -> CycleSplit:
        """How the set would have to be split by cycle."""
        asked = self.question
        return split_by_cycle(asked.instruments, asked.programmes, self.policy)

    @cached_property
    def contributions(self) -> tuple[Contribution, ...]:
        """What each line adds."""
        asked = self.question
        return tuple(_contribution(line, asked, self.policy) for line in asked.lines)

    @property
    def ruling(self) -> Finding | None:
        """Of the weights that were compared with a limit, the one with the least margin."""
        weights = [
            one for one in self.decision.findings if one.unit == "g" and one.margin is not None
        ]
        return min(weights, key=lambda one: one.margin or 0.0, default=None)

    @property
    def too_much(self) -> bool:
        """Whether it is over a weight limit, or instruments in it clash: it has to be split."""
        asked = [f for f in self.decision.findings if f.unit == "g" or f.rule == COMMON_CYCLE.name]
        return any(one.status is Status.NOT_MET for one in asked)

    @property
    def split_needed(self) -> bool:
        """Whether no single cycle serves all lines."""
        return len(self.split.groups) + len(self.split.orphans) > 1


def _contribution(line: SetLine, question: SetQuestion, policy: Policy) -> Contribution:
    one, basket = (line.instrument,), question.basket
    findings = [
        common_cycle_finding(one, question.programmes, policy),
        sharp_finding(line.instrument, Kind.WRAP),
    ]
    if basket is not None:
        findings.append(pieces_in_finding([line], basket.box, basket.code, 0.0, policy))
    weight = line.instrument.weight_g
    return Contribution(line, None if weight is None else weight * line.quantity, tuple(findings))

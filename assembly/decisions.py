"""Decisions for catalog rows, ready for a page, a printout or a command."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.safestring import SafeString

from assembly.facts_from_catalog import (
    packaging_pieces,
    pieces_of,
    policy_in_force,
    question_for,
)
from assembly.packing import explain
from assembly.packing.choose import decide
from assembly.packing.facts import Pouch, Question, Supply
from assembly.packing.findings import Candidate, Decision, Finding, Status
from assembly.packing.policy import Policy
from assembly.packing.scenes import Scene, pouch_scene
from assembly.packing.weights import Weighing, gross_finding, weigh
from assembly.scene_svg import svg
from catalog.models import Instrument, InstrumentSet, Line


@dataclass(frozen=True, slots=True)
class Answer:
    """One decision with what a page shows of it."""

    question: Question
    decision: Decision
    policy: Policy

    @property
    def headline(self) -> str:
        return explain.headline(self.decision)

    @property
    def sections(self) -> list[explain.Section]:
        return explain.sections(self.decision)

    @property
    def findings(self) -> list[tuple[Finding, str]]:
        """Findings with their sentences, in the order of the rules."""
        return [(finding, finding.sentence()) for finding in self.decision.findings]

    @property
    def shown(self) -> Candidate | None:
        """The candidate drawn: the one to take, else the nearest that is not refused outright."""
        if self.decision.recommended:
            return self.decision.recommended
        others = [item.candidate for item in self.decision.passed_over]
        return min(others, key=lambda other: len(other.reasons), default=None)

    @property
    def method_words(self) -> str:
        """The method, with the programme where the department runs one that serves."""
        return str(self.shown.details.get("cycle", "")) if self.shown else ""

    @property
    def _supply(self) -> Supply | None:
        shown = self.shown
        supplies = {supply.code: supply for supply in self.question.supplies}
        return supplies.get(shown.code) if shown else None

    @property
    def scene(self) -> Scene | None:
        """The package to scale; None where a size is unknown or nothing is in stock."""
        supply = self._supply
        if not isinstance(supply, Pouch):
            return None
        base = self.policy.number("base_clearance_mm")
        return pouch_scene(self.question.instrument, supply, base)

    @property
    def drawing(self) -> SafeString:
        scene = self.scene
        return SafeString(svg(scene)) if scene else SafeString("")

    @property
    def passed_over(self) -> list[tuple[str, str, list[str]]]:
        """Every other supply: its name, why in a word, and all its reasons."""
        return [
            (
                explain.name(item.candidate),
                item.why,
                [finding.sentence() for finding in item.candidate.reasons],
            )
            for item in self.decision.passed_over
        ]


def decide_for_instrument(instrument: Instrument) -> Answer:
    """The decision for one instrument with all that the department stocks and runs."""
    policy = policy_in_force()
    question = question_for(instrument)
    return Answer(question, decide(question, policy), policy)


BAR_ROOM = 1.15
"""The bar is this much longer than the larger of weight and limit."""


@dataclass(frozen=True, slots=True)
class SetWeight:
    """A set's gross weight against the limit."""

    weighing: Weighing
    finding: Finding

    @property
    def state(self) -> str:
        """The finding in the words a bar is labelled with."""
        return {
            Status.MET: "under the limit",
            Status.NOT_MET: "over the limit",
            Status.CANNOT_TELL: "cannot tell",
            Status.DOES_NOT_APPLY: "no limit set",
        }[self.finding.status]

    @property
    def sentence(self) -> str:
        return self.finding.sentence()

    @property
    def share(self) -> float | None:
        """Known weight as a share of the limit, in percent; None where there is no limit."""
        if not self.finding.limit:
            return None
        return 100 * self.weighing.known / self.finding.limit

    @property
    def bar_limit(self) -> float:
        """Where the limit stands on the bar, in percent of its width."""
        return round(100 * 100 / max(100.0, self.share or 0.0) / BAR_ROOM, 2)

    @property
    def bar_fill(self) -> float:
        """How far the bar is filled, in percent of its width."""
        return round((self.share or 0.0) / 100 * self.bar_limit, 2)

    @property
    def known_kg(self) -> str:
        return f"{self.weighing.known / 1000:.2f} kg"

    @property
    def limit_kg(self) -> str:
        return f"{self.finding.limit / 1000:.2f} kg" if self.finding.limit else ""


def weigh_set(instrument_set: InstrumentSet, lines: Iterable[Line]) -> SetWeight:
    """The gross weight of a set with what it is packed in, from the catalog's weights."""
    weighing = weigh((*packaging_pieces(instrument_set), *pieces_of(lines)))
    return SetWeight(weighing, gross_finding(weighing, policy_in_force()))

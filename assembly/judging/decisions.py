"""Decisions for catalog rows, ready for a page, a printout or a command."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from django.db.models import Q
from django.utils import timezone
from django.utils.safestring import SafeString

from assembly.judging.facts_from_catalog import department
from assembly.judging.questions_from_catalog import (
    Counted,
    Shared,
    question_for,
    set_question_for,
    shared_now,
)
from assembly.judging.scene_svg import svg
from assembly.judging.weighing import WeightBar, weight_bar
from assembly.rules.deciding.choose import as_packed, decide
from assembly.rules.deciding.set_decision import Contribution, SetDecision
from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.deciding.sets import decide_set
from assembly.rules.drawing.label_places import Size
from assembly.rules.drawing.scenes import scene_of, scenes_of_set
from assembly.rules.drawing.shapes import Scene
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Emptied, Supply
from assembly.rules.findings import Candidate, Decision, Finding, Outcome, Show, Status, metric
from assembly.rules.limits.weights import scale_reading
from assembly.rules.policy.values import Policy
from assembly.rules.telling import explain
from assembly.rules.telling.decided import Decided, stop_of
from assembly.rules.telling.guidance import Guidance, guidance_for, set_guidance
from catalog.models import Instrument, InstrumentSet
from catalog.vocabulary import Fold


@dataclass(frozen=True, slots=True)
class Row:
    """One finding as a table shows it."""

    rule: str
    status: str
    sentence: str
    margin: str
    source: str


@dataclass(frozen=True)
class Shown(ABC):
    """A decision with what any page shows of it, amounts written by ``show``; drawn once."""

    decision: Decision
    policy: Policy
    show: Show

    @property
    def headline(self) -> str:
        return explain.headline(self.decision, self.show)

    @property
    def way_out(self) -> str:
        """Who can help where nothing is recommended; "" where something is."""
        return explain.way_out(self.decision)

    @property
    def first_doubt(self) -> str:
        """What must be known first, where that is why nothing is recommended."""
        if self.decision.outcome is not Outcome.UNDECIDED:
            return ""
        open_ = (f for f in self.decision.findings if f.status is Status.CANNOT_TELL)
        return next((one.sentence(self.show) for one in open_), "")

    @property
    def lent_doubt(self) -> str:
        """That the IFU of what is lent is not here; "" where it is, or nothing is lent."""
        return explain.lent_words(self.decision)

    @property
    def box_doubt(self) -> str:
        """The empty box that alone leaves it undecided; "" where none does."""
        return explain.box_words(self.decision, self.show)

    @property
    def next_words(self) -> str:
        """That what is recommended is the next that fits; "" where nothing before it is out."""
        out = explain.out_words(self.decision) if self.decision.recommended else ""
        return f"{out}; this is the next that fits." if out else ""

    @property
    def sections(self) -> list[explain.Section]:
        return explain.sections(self.decision, self.show)

    @property
    def findings(self) -> list[Row]:
        """Every rule of the candidate shown, in the order they are read."""
        return rows_of(self.decision.findings, self.show)

    @property
    def shown(self) -> Candidate | None:
        """The candidate drawn: the one to take, else the one whose findings are shown."""
        if self.decision.recommended:
            return self.decision.recommended
        others = [item.candidate for item in self.decision.passed_over]
        return next((one for one in others if one.findings == self.decision.findings), None)

    @property
    def shown_name(self) -> str:
        return explain.name(self.shown, self.show) if self.shown else ""

    @property
    def cycle(self) -> str:
        """The method, with the programme where the department runs one that serves."""
        return str(self.shown.details.get("cycle", "")) if self.shown else ""

    @property
    def decided(self) -> Decided:
        """The decision as every page and paper says it."""
        taken, guidance = self.decision.recommended, self.guidance
        name = explain.name(taken, self.show) if taken else ""
        return Decided(
            package=name[:1].upper() + name[1:],
            cycle=self.cycle if taken else "",
            stop=stop_of(self.decision.outcome),
            why="" if taken else self.first_doubt or f"{self.headline}.",
            protectors=guidance.protectors if guidance else (),
        )

    @property
    def passed_over(self) -> list[tuple[str, str, list[str]]]:
        """Every other supply: its name, why in a word, and all its reasons."""
        return [
            (
                explain.name(item.candidate, self.show),
                item.why,
                list(dict.fromkeys(one.sentence(self.show) for one in item.candidate.reasons)),
            )
            for item in self.decision.passed_over
        ]

    @property
    @abstractmethod
    def scenes(self) -> tuple[Scene, ...]:
        """The package to scale; none where a size is unknown or nothing is in stock."""

    @abstractmethod
    def guidance_in(self, candidate: Candidate) -> Guidance:
        """How it is packed in any one candidate, recommended or not."""

    @cached_property
    def drawing(self) -> SafeString:
        return drawn(*self.scenes)

    @property
    def legend(self) -> str:
        """What stands under the drawing."""
        return " ".join(words for scene in self.scenes for words in scene.legend)

    @property
    def guidance(self) -> Guidance | None:
        """How it is packed; only for a package that is recommended."""
        taken = self.decision.recommended
        return self.guidance_in(taken) if taken else None


def rows_of(findings: Sequence[Finding], show: Show) -> list[Row]:
    """Findings as rows of a table."""
    return [
        Row(
            finding.rule,
            str(finding.status),
            finding.sentence(show),
            "" if finding.margin is None else show(finding.margin, finding.unit),
            finding.source,
        )
        for finding in findings
    ]


def drawn(*scenes: Scene | None) -> SafeString:
    """Scenes as SVG for a template, all after the first folded; empty where there is none."""
    first, *others = [svg(scene) for scene in scenes if scene] or [""]
    if not others:
        return SafeString(first)
    return SafeString(
        f"{first}<details><summary>Also drawn: {_more(scenes)}</summary>"
        f'<div class="scenes">{"".join(others)}</div></details>'
    )


def _more(scenes: Sequence[Scene | None]) -> str:
    """What the scenes after the first show: the layers above, the folds of the sheet."""
    layers = sum(bool(scene and scene.layer) for scene in scenes) - 1
    words = [f"{layers} layer{'' if layers == 1 else 's'} above"] if layers > 0 else []
    folds = [scene for scene in scenes[1:] if scene and not scene.layer]
    return ", ".join([*words, *(["how the sheet folds"] if folds else [])])


@dataclass(frozen=True)
class Answer(Shown):
    """The decision for one instrument, or ``pieces`` of it in one package."""

    question: Question
    pieces: int = 1
    label: Size | None = None

    @cached_property
    def scenes(self) -> tuple[Scene, ...]:
        scene = self.scene_for(self.shown) if self.shown else None
        return (scene,) if scene else ()

    def scene_for(self, candidate: Candidate) -> Scene | None:
        """The package to scale in any one candidate."""
        question = as_packed(self.question, self.policy)
        return scene_of(candidate, question, self.policy, self.show, self.label)

    def guidance_in(self, candidate: Candidate) -> Guidance:
        """How it is packed in any one candidate, recommended or not."""
        return guidance_for(candidate, self.question, self.policy, self.decision)


def decide_for_instrument(
    instrument: Instrument,
    *,
    pieces: int = 1,
    double: bool = False,
    fold: Fold | None = None,
    programme: str = "",
    show: Show = metric,
    out: tuple[Emptied, ...] | None = None,
    label: Size | None = None,
) -> Answer:
    """The decision for one instrument, or several of a kind, from stock and programmes.

    ``programme`` is the code of the one that a person chose, "" where the rules choose. ``out``
    are the boxes that are empty: None for those of now, () for what is kept, as a paper is.
    ``label`` is the size of the labels that are stuck on (mm), for the drawing.

    FactsError when there are more pieces than the policy lets lie in one package.
    """
    here = department()
    policy = here.policy(timezone.localdate())
    question = question_for(
        instrument, here, policy, pieces=pieces, double=double, fold=fold, out=out
    )
    if programme:
        question = replace(question, chosen=_chosen(question, programme))
    return Answer(decide(question, policy), policy, show, question, pieces, label)


def _chosen(question: Question | SetQuestion, code: str) -> Programme | None:
    return next((one for one in question.programmes or () if one.code == code), None)


@dataclass(frozen=True)
class SetAnswer(Shown):
    """The decision for a set."""

    question: SetQuestion
    set_decision: SetDecision

    @cached_property
    def weight(self) -> WeightBar:
        """The gross weight, or the weight that the policy limits where that is another."""
        shown = self.shown.code if self.shown else None
        return weight_bar(self.decision, self.question, shown, self._supply is None, self.show)

    @property
    def decided(self) -> Decided:
        weight = self.weight
        return replace(
            super().decided,
            weighed=weight.weighed,
            weight=weight.words,
            weight_status=weight.finding.status,
        )

    @property
    def cycle_rows(self) -> list[Row]:
        """Whether one cycle serves all that lies in the set."""
        common = [f for f in self.decision.findings if f.rule == "common cycle"]
        return rows_of(common, self.show)

    @property
    def weighable(self) -> list[str]:
        """What the closed package may be weighed in, that on record first, else that shown."""
        first = self.question.packed_in or (self.shown.code if self.shown else None)
        codes = [one.code for one in self.question.supplies]
        return sorted(codes, key=lambda code: (code != first, code))

    @property
    def weight_sentence(self) -> str:
        return self.weight.finding.sentence(self.show)

    @property
    def ruling(self) -> str:
        """Which weight limit comes first."""
        ruling = self.set_decision.ruling
        if ruling is None:
            return ""
        return f"The limit that comes first: {ruling.rule} ({ruling.source})."

    @property
    def _supply(self) -> Supply | None:
        code = self.shown.code if self.shown else None
        return next((one for one in self.question.supplies if one.code == code), None)

    @property
    def on_record(self) -> str:
        """Says so where what is recommended is not what the set's record names."""
        taken, record = self.decision.recommended, self.question.packed_in
        if record is None:
            return "What it is packed in is not on record as a supply."
        if taken and taken.code != record:
            return f"On record is {record}, which does not serve as the set stands."
        return ""

    @property
    def splits(self) -> tuple[str, ...]:
        """How the set would go in parts, where no one cycle serves it."""
        return self.set_decision.split.sentences() if self.set_decision.split_needed else ()

    @cached_property
    def scenes(self) -> tuple[Scene, ...]:
        """What lies in it, layer by layer, and the folds of its sheet."""
        if self.shown is None:
            return ()
        return scenes_of_set(self.shown, self.question, self.policy, self.show)

    def guidance_in(self, candidate: Candidate) -> Guidance:
        """How the set is packed in any one candidate, recommended or not."""
        supply = next(one for one in self.question.supplies if one.code == candidate.code)
        levels = 1 if self.question.basket else None
        return set_guidance(candidate, supply, self.question.lines, levels, self.policy)

    @property
    def contributions(self) -> list[tuple[Contribution, str, list[Row]]]:
        """What each line adds: weight in words, and its findings."""
        return [
            (
                one,
                "not known" if one.weight_g is None else self.show(one.weight_g, "g"),
                rows_of(one.findings, self.show),
            )
            for one in self.set_decision.contributions
        ]


def decide_for_set(
    instrument_set: InstrumentSet,
    lines: Sequence[Counted],
    show: Show = metric,
    reading_g: float | None = None,
    weighed_in: str | None = None,
    programme: str = "",
    out: tuple[Emptied, ...] | None = None,
    shared: Shared | None = None,
) -> SetAnswer:
    """The decision for a set; lines come with their instruments and prefetched cycles.

    ``reading_g`` is what a scale read for the closed package, ``weighed_in`` the code of the
    container or wrap it was in; None: the one on record. ``programme`` is the code of the one
    that a person chose; ``out`` is as for one instrument. ``shared`` is what was read for many
    sets that are decided one after the other.
    """
    if shared is None:
        inside = [line.instrument for line in lines]
        shared = shared_now(Q(instrument_set=instrument_set) | Q(instrument__in=inside))
    reading = None
    policy = shared.here.policy(timezone.localdate())
    if reading_g is not None:
        reading = scale_reading(reading_g, policy.number("scale_error_g"))
    question = set_question_for(instrument_set, lines, shared, reading, weighed_in, out)
    if programme:
        question = replace(question, chosen=_chosen(question, programme))
    set_decision = decide_set(question, policy)
    return SetAnswer(set_decision.decision, policy, show, question, set_decision)

"""The split of a set on record: what the rules answer, with the rows that it is of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from assembly.judging.decisions import SetAnswer, decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.rules.deciding.sets import decide_set
from assembly.rules.findings import Outcome, Show, metric
from assembly.rules.splitting.set_split import Part, SetSplit, SetSplitOutcome, split_set
from catalog.models import CountSheet, InstrumentSet, Line


@dataclass(frozen=True, slots=True)
class Tray:
    """A part as pages show it: its gross weight, its own decision, and its lines with how many
    pieces of each go into it."""

    part: Part
    gross: str
    own: SetAnswer
    lines: list[tuple[Line, int]]


@dataclass(frozen=True)
class Split:
    """The split of one count sheet; ``lines`` stand in the order of the rules' places."""

    answer: SetAnswer
    lines: Sequence[Line]
    found: SetSplit
    layers: int | None
    show: Show

    @property
    def needed(self) -> bool:
        """Whether the set is over a limit, or instruments in it clash."""
        return self.answer.set_decision.too_much

    @property
    def may_be_drafted(self) -> bool:
        """Whether drafts of its parts can be made: it has to be split, and there are several."""
        return self.needed and len(self.found.parts) > 1

    @property
    def tone(self) -> Outcome:
        """How it stands: proved, open, or that there is no such split."""
        if self.found.proved:
            return Outcome.RECOMMENDED
        return Outcome.UNDECIDED if self.found.parts else Outcome.NONE

    @property
    def headline(self) -> str:
        """How many trays, or why there is no answer."""
        found = self.found
        if found.outcome is not SetSplitOutcome.SPLIT:
            return " ".join(found.sentences(self.show))
        trays = ", ".join(f"{part.letter} {self.show(part.gross_g, 'g')}" for part in found.parts)
        return f"{len(found.parts)} trays: {trays}"

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is to be known beside the headline, what no cycle serves first."""
        found = self.found
        return found.sentences(self.show) if found.outcome is SetSplitOutcome.SPLIT else ()

    @property
    def limit_words(self) -> str:
        """What a tray may weigh, by which limit, and what it is packed in."""
        limit = self.found.limit
        if limit is None or not limit.rule:
            return ""
        most, own = self.show(limit.gross_g, "g"), self.show(limit.packaging_g, "g")
        words = f"Each in its own {limit.code}, {own} of packaging: at most {most} gross "
        words += f"({limit.rule}: {limit.source})."
        if limit.area_mm2 is None:
            return words
        layers = f"{limit.layers} layer{'s' if limit.layers > 1 else ''}"
        if not limit.said:
            layers += ", as many as the whole set takes"
        return f"{words} Room is a sum of areas over {layers}: see at the bench how it lies."

    @property
    def trays(self) -> list[Tray]:
        """Each part with its lines, decided as the set of its own that it would be."""
        return [self._tray(part) for part in self.found.parts]

    def _tray(self, part: Part) -> Tray:
        question = self.answer.question
        lines = tuple(replace(question.lines[n], quantity=count) for n, count in part.pieces)
        question, policy = replace(question, lines=lines, pack=None), self.answer.policy
        own = decide_set(question, policy)
        return Tray(part, self.show(part.gross_g, "g"),
                    SetAnswer(own.decision, policy, self.show, question, own),
                    [(self.lines[place], count) for place, count in part.pieces])  # fmt: skip


def split_of(
    instrument_set: InstrumentSet,
    sheet: CountSheet,
    show: Show = metric,
    layers: int | None = None,
) -> Split:
    """The split of a count sheet into trays that are packed as the set is: the container or wrap
    on its record, else the one that its decision shows; ``layers`` as a person said."""
    lines = lines_of(sheet)
    answer = decide_for_set(instrument_set, lines, show, out=())
    shown = answer.shown.code if answer.shown else None
    packed_in = answer.question.packed_in or shown
    question = answer.set_decision.question
    found = split_set(question, packed_in, answer.policy, layers)
    return Split(answer, lines, found, layers, show)

"""The split of a set on record: what the rules answer, with the rows that it is of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assembly.judging.decisions import SetAnswer, decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.rules.computing.set_split import Part, SetSplit, split_set
from assembly.rules.findings import Show, metric
from catalog.models import CountSheet, InstrumentSet, Line


@dataclass(frozen=True)
class Split:
    """The split of one count sheet; ``lines`` stand in the order of the rules' places."""

    answer: SetAnswer
    lines: Sequence[Line]
    found: SetSplit

    @property
    def needed(self) -> bool:
        """Whether the set is over a limit, or instruments in it clash."""
        return self.answer.set_decision.too_much

    def lines_in(self, part: Part) -> list[tuple[Line, int]]:
        """The lines of one part with how many of each go into it."""
        return [(self.lines[place], count) for place, count in part.pieces]


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
    return Split(answer, lines, split_set(question, packed_in, answer.policy, layers))

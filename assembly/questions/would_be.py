"""What the decision would be with the values that are proposed, always marked as such."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Any

from assembly.judging.decisions import Answer, decide_for_instrument
from assembly.models import Proposal
from assembly.questions.proposing import values_of, waiting, words_of
from assembly.rules.findings import Show, metric
from catalog.models import Instrument


@dataclass(frozen=True, slots=True)
class WouldBe:
    """A decision that is none: with values that nobody has confirmed."""

    answer: Answer
    proposals: list[Proposal]

    @property
    def marked(self) -> str:
        """What it would be and on whose word; never without saying that it is not decided."""
        by = ", ".join(dict.fromkeys(one.measured_by for one in self.proposals))
        return (f"With what {by} measured, not confirmed yet, it would be: "
                f"{self.answer.headline}.")  # fmt: skip

    @property
    def values(self) -> list[str]:
        """The values it is worked out with."""
        return words_of(values_of(self.proposals), self.answer.show)


def would_be(instrument: Instrument, show: Show = metric, **asked: Any) -> WouldBe | None:
    """The decision if all that is proposed for an instrument were on record; None if nothing is.

    ``asked`` as for :func:`decide_for_instrument`. The instrument given stays as it is.
    """
    proposals = waiting(instrument)
    if not proposals:
        return None
    return WouldBe(decided_with(instrument, values_of(proposals), show, **asked), proposals)


def decided_with(
    instrument: Instrument, values: dict[str, Any], show: Show = metric, **asked: Any
) -> Answer:
    """The decision for an instrument as if its record had these values too."""
    supposed = copy(instrument)
    for name, value in values.items():
        setattr(supposed, name, value)
    return decide_for_instrument(supposed, show=show, **asked)

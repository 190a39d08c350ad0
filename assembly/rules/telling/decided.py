"""What is decided for a set or an instrument: one model, which pages and papers all say.

It is made once, from a decision or from the record of a package, and nothing is decided or
worded again where it is shown.
"""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.findings import Outcome, Status

NOT_DECIDED = "NOT DECIDED. DO NOT PACK."
NOT_RECOMMENDED = "DO NOT PACK."
STATE_OF_WEIGHT = {
    Status.MET: "under the limit",
    Status.NOT_MET: "over the limit",
    Status.CANNOT_TELL: "cannot tell",
    Status.DOES_NOT_APPLY: "no limit set",
}


@dataclass(frozen=True, slots=True)
class Decided:
    """What it goes in, by which cycle, and what it weighs, each in words.

    ``package`` and ``cycle`` are blank where nothing is recommended; then ``stop`` says so and
    ``why`` is the first reason. ``weight`` is blank where none was asked for; ``weighed`` says
    which weight the limit is of. ``protectors`` has a sentence for each line that takes one.
    """

    package: str = ""
    cycle: str = ""
    weighed: str = "Gross weight"
    weight: str = ""
    weight_status: Status = Status.DOES_NOT_APPLY
    stop: str = ""
    why: str = ""
    protectors: tuple[str, ...] = ()

    @property
    def stop_words(self) -> str:
        """Why it is not packed, in one line; "" where it may be."""
        return f"{self.stop} {self.why}".strip() if self.stop else ""

    @property
    def weight_holds(self) -> bool:
        """Whether the weight is known to keep its limit, or has none."""
        return self.weight_status in (Status.MET, Status.DOES_NOT_APPLY)


def stop_of(outcome: Outcome) -> str:
    """What is said loud where nothing is recommended; "" where something is."""
    if outcome is Outcome.RECOMMENDED:
        return ""
    return NOT_DECIDED if outcome is Outcome.UNDECIDED else NOT_RECOMMENDED


def weight_words(
    known_g: float, limit_g: float | None, status: Status, *, at_least: bool = False
) -> str:
    """A weight against its limit (g); ``at_least`` where something of it was not weighed.

    >>> weight_words(1490, 11340, Status.MET)
    '1.49 kg, under the limit of 11.34 kg'
    >>> weight_words(151210, 11340, Status.NOT_MET, at_least=True)
    'at least 151.21 kg, over the limit of 11.34 kg'
    >>> weight_words(1490, None, Status.DOES_NOT_APPLY)
    '1.49 kg, no limit set'
    >>> weight_words(1490, 11340, Status.CANNOT_TELL, at_least=True)
    'at least 1.49 kg, cannot tell: the limit is 11.34 kg'
    """
    words = f"{'at least ' if at_least else ''}{known_g / 1000:.2f} kg, {STATE_OF_WEIGHT[status]}"
    if limit_g is None:
        return words
    joined = ": the limit is" if status is Status.CANNOT_TELL else " of"
    return f"{words}{joined} {limit_g / 1000:.2f} kg"

"""One way to take a candidate: ranked, combined, and every other one told why.

Used for one instrument, for a set and for a tip protector alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from assembly.rules.findings import (
    Candidate,
    Caution,
    Decision,
    Finding,
    Outcome,
    PassedOver,
    Status,
)

ALTERNATIVES = 2
"""How many further passing candidates are offered."""
RULED_OUT = "ruled out"
OUT = "out"
"""Of what would have been taken, if its box were not empty."""


def ranked(
    candidates: Iterable[Candidate], kinds: Sequence[str] = (), on_record: str | None = None
) -> list[Candidate]:
    """The one on record first, then by kind in the order given, then least material.

    ``kinds`` empty: all are of one kind. The order in which they come changes nothing.
    """
    place = {str(kind): place for place, kind in enumerate(kinds)}
    return sorted(
        candidates, key=lambda one: (one.code != on_record, place.get(one.kind, 0), one.order)
    )


@dataclass(frozen=True, slots=True)
class Picked:
    """What is taken, offered and passed over; ``shown`` is the one whose findings are told."""

    outcome: Outcome
    taken: Candidate | None
    shown: Candidate | None
    alternatives: tuple[Candidate, ...]
    passed_over: tuple[PassedOver, ...]

    def decision(
        self,
        findings: tuple[Finding, ...],
        cautions: tuple[Caution, ...],
        unknown: Iterable[str],
        policy_digest: str,
    ) -> Decision:
        """The decision that follows; a name of what is missing stands in it once."""
        return Decision(
            outcome=self.outcome,
            recommended=self.taken,
            findings=findings,
            alternatives=self.alternatives,
            passed_over=self.passed_over,
            cautions=cautions,
            unknown=tuple(dict.fromkeys(unknown)),
            policy_digest=policy_digest,
        )


def pick(
    candidates: Sequence[Candidate],
    *,
    on_record: str | None = None,
    offered: int = ALTERNATIVES,
    serves: str = "larger than needed",
    why_not: Callable[[Candidate], str] = lambda one: RULED_OUT,
    in_doubt: Callable[[Candidate], bool] = lambda one: False,
    waits: Callable[[Candidate], bool] = lambda one: False,
    is_out: Callable[[Candidate], bool] = lambda one: False,
) -> Picked:
    """The first of the ranked candidates that meets every rule, and ``offered`` more of them.

    None does, or a better kind is in doubt: undecided where one could, none otherwise. What is
    shown then is the one in doubt, the one on record, else the first undecided, else the one
    with the fewest reasons against it.
    ``in_doubt`` says of which candidate a doubt is told before one of a worse kind is taken.
    ``waits`` says of which candidate, of whatever kind, nothing after it is taken: its indicators
    or protectors are to be fetched first. ``is_out``: it would serve if its box were not empty.
    ``serves`` says why one that meets all is passed over, ``why_not`` why one that does not.
    """
    passing = [one for one in candidates if one.status is Status.MET]
    undecided = [one for one in candidates if one.status is Status.CANNOT_TELL]
    taken = passing[0] if passing else None
    doubt = _better_in_doubt(candidates, taken, on_record, in_doubt, waits)
    if doubt:
        taken, serves = None, "serves; a better kind is in doubt"
    record = next((one for one in candidates if one.code == on_record), None)
    nearest = min(candidates, key=lambda one: len(one.reasons), default=None)
    alternatives = tuple(passing[1 : 1 + offered]) if taken else ()
    words = {Status.MET: serves, Status.CANNOT_TELL: "cannot tell"}
    before = list(candidates[: candidates.index(taken)] if taken else candidates)
    return Picked(
        outcome=(
            Outcome.RECOMMENDED if taken else Outcome.UNDECIDED if undecided else Outcome.NONE
        ),
        taken=taken,
        shown=taken or doubt or record or (undecided[0] if undecided else nearest),
        alternatives=alternatives,
        passed_over=tuple(
            PassedOver(one, OUT if is_out(one) and one in before
                       else words.get(one.status) or why_not(one))
            for one in candidates
            if one is not taken and one not in alternatives
        ),
    )  # fmt: skip


def _better_in_doubt(
    candidates: Sequence[Candidate],
    taken: Candidate | None,
    on_record: str | None,
    in_doubt: Callable[[Candidate], bool],
    waits: Callable[[Candidate], bool],
) -> Candidate | None:
    """The first candidate in doubt that is on record, or of a better kind than the one taken;
    or the first that waits for a box."""
    for one in candidates:
        if taken is None or one is taken:
            return None
        asked = one.kind != taken.kind or one.code == on_record
        if waits(one) or (asked and in_doubt(one)):
            return one
    return None

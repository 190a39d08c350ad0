"""A doubt about a better kind is told before a worse kind is recommended.

Where a candidate of a better kind fails for nothing but a missing fact of what is packed itself,
the decision is undecided and names the fact. A missing fact of one supply holds up nothing.
"""

from __future__ import annotations

from assembly.rules.deciding.boxes import BOX
from assembly.rules.facts.declared import declared
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Candidate, Status

OF_CONTENTS = {fact.name for fact in declared(Instrument)} | {
    "size",
    "pack",
    "scale reading",
    "lent",
}
"""Facts of what is packed, as findings name what is missing; ``cycles.exposure_min`` too."""


def in_doubt(candidate: Candidate) -> bool:
    """Whether nothing stands in the way but facts of what is packed that nobody has recorded,
    and empty boxes of indicators or protectors."""
    if candidate.status is not Status.CANNOT_TELL:
        return False
    open_ = [one.missing for one in candidate.reasons if one.rule != BOX.name]
    return all(
        names and all(name.split(".")[0] in OF_CONTENTS for name in names) for names in open_
    )

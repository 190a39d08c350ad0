"""Rules about the instrument rather than the package: what its IFU forbids, sharp points."""

from __future__ import annotations

from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Finding, Status, cannot_tell
from catalog.vocabulary import Kind

IFU = "the instrument maker's IFU"
SHARP_SOURCE = "ISO/TS 16775:2014, health-care annex, a"


def allowed_finding(instrument: Instrument, kind: Kind) -> Finding:
    """Whether the instrument's instructions allow this kind of package. Source: its IFU.

    >>> allowed_finding(Instrument(name="cup", forbids=frozenset({Kind.POUCH})), Kind.POUCH).status
    <Status.NOT_MET: 'not met'>
    """
    if kind in instrument.forbids:
        return Finding(
            "allowed", Status.NOT_MET, f"The instrument's IFU forbids a {kind} for it.", IFU
        )
    if not instrument.forbids:
        return Finding(
            "allowed", Status.DOES_NOT_APPLY, "No kind of package is on record as forbidden.", IFU
        )
    return Finding("allowed", Status.MET, f"Its IFU does not forbid a {kind}.", IFU)


def sharp_finding(instrument: Instrument, kind: Kind) -> Finding:
    """Whether sharp points are covered: they cut film, paper and sheets.

    Sharp and no protector is not met; sharp and nothing on record about one cannot be
    told; a record that does not say whether it is sharp leaves it to a caution. A rigid
    container has nothing to cut. Source: ISO/TS 16775:2014, health-care annex, a.
    """
    if kind is Kind.CONTAINER:
        return Finding(
            "sharp points",
            Status.DOES_NOT_APPLY,
            "Nothing in a rigid container is cut open by a point.",
            SHARP_SOURCE,
        )
    if not instrument.sharp:
        words = (
            "Whether it is sharp is not on record: look at it."
            if instrument.sharp is None
            else "No sharp points."
        )
        return Finding("sharp points", Status.DOES_NOT_APPLY, words, SHARP_SOURCE)
    if instrument.protector is None:
        return cannot_tell(
            "sharp points",
            "It is sharp, and no protector is on record: say which one it takes.",
            SHARP_SOURCE,
            missing=("protector",),
        )
    if not instrument.protector:
        return Finding(
            "sharp points",
            Status.NOT_MET,
            f"It is sharp and goes without a protector: it would cut the {kind}.",
            SHARP_SOURCE,
        )
    return Finding(
        "sharp points",
        Status.MET,
        f"Its sharp point is covered ({instrument.protector}).",
        SHARP_SOURCE,
    )

"""Rules about the instrument rather than the package: what its IFU forbids, sharp points."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Caution, Finding, Status, at_most, cannot_tell
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

IFU = "the instrument maker's IFU"
SHARP_SOURCE = "ISO/TS 16775:2014, health-care annex, a"
BULKY = "bulky"
BULKY_BOUNDS = (
    ("bulky_weight_g", "weight_g", "g", "{figure}"),
    ("bulky_height_mm", "height_mm", "mm", "{figure} high as it lies"),
    ("bulky_pieces", "pieces", "", "{figure} pieces"),
)
"""Each bound of the policy with the fact it is on, its unit, and how a figure is said."""


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
    container has nothing to cut: a bare point is a caution there. Source: ISO/TS
    16775:2014, health-care annex, a.
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
            else "It has no point that cuts."
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


def handling_cautions(instruments: Sequence[Instrument], kind: Kind) -> tuple[Caution, ...]:
    """What to look at in what lies in one package: points that are bare or unknown, lumens.

    Of several instruments each caution names those it is about.
    """
    several = len(instruments) > 1
    unknown = [one for one in instruments if one.sharp is None]
    bare = [one for one in instruments if one.sharp and not one.protector]
    lumens = [one for one in instruments if one.lumen_mm or one.lumen_length_mm]
    found = []
    if bare and kind is Kind.CONTAINER:
        named = f" ({_names(bare)})" if several else ""
        words = f"Sharp, and no protector is on record{named}: cover the point, or lay it apart, "
        words += "so that it cuts no hand and is not bent."
        found.append(Caution(words, "common practice, no source"))
    if unknown:
        what, look = ("a line", f"look at {_names(unknown)}") if several else ("it", "look")
        words = f"Whether {what} has a sharp point or edge is not on record: {look}, and cover it."
        found.append(Caution(words, SHARP_SOURCE))
    if lumens:
        start = f"Lumens ({_names(lumens)})" if several else "It has a lumen"
        words = f"{start}: check the sterilizer's claims for bore and length, and the "
        words += "instrument's IFU for how it is left (dry or moist)."
        found.append(Caution(words, "the sterilizer maker's IFU"))
    return tuple(found)


def _names(instruments: Iterable[Instrument]) -> str:
    return ", ".join(dict.fromkeys(one.name for one in instruments))


def bulky_finding(lying: Instrument, kind: Kind, policy: Policy) -> Finding:
    """Whether it is light and low enough, as it lies, for a pouch or a roll; equal is met.

    Weight (g), height (mm) and pieces against the policy's bounds: one over its bound is not
    met, an unknown one cannot be told. Source: ISO/TS 16775:2014, health-care annex, a; the
    bounds are the department's.
    """
    asked = [bound for bound in BULKY_BOUNDS if policy.number_or_none(bound[0]) is not None]
    if not asked:
        return Finding(BULKY, Status.DOES_NOT_APPLY, "The policy sets no bound.", SHARP_SOURCE)
    found = [_bulky_by(lying, kind, policy, *bound) for bound in asked]
    for status in (Status.NOT_MET, Status.CANNOT_TELL):
        for finding in found:
            if finding.status is status:
                return finding
    return found[0]


def _bulky_by(
    lying: Instrument, kind: Kind, policy: Policy, name: str, fact: str, unit: str, said: str
) -> Finding:
    source, figure = f"{SHARP_SOURCE}; {policy.source(name)}", getattr(lying, fact)
    limit = policy.number(name)
    if figure is None:
        words = f"Whether it is too bulky for a {kind} cannot be told: "
        words += "weigh it." if unit == "g" else "measure how high it lies."
        return cannot_tell(BULKY, words, source, missing=("weight_g" if unit == "g" else "size",),
                           limit=limit, unit=unit)  # fmt: skip
    return at_most(
        BULKY,
        figure=figure,
        limit=limit,
        unit=unit,
        met=f"Not bulky: {said}; at most {{limit}} in a {kind}.",
        not_met=f"Bulky: {said}; at most {{limit}} in a {kind}. It is for a wrap or a container.",
        source=source,
    )

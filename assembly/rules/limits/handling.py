"""Rules about the instrument rather than the package: what its IFU forbids, sharp points."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Caution, Finding, Rule, worst
from assembly.rules.methods.lumens import BY_CLAIMS
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Form, ItemClass, Kind, Method

ALLOWED = Rule("allowed", "the instrument maker's IFU")
SHARP = Rule("sharp points", "ISO/TS 16775:2014, health-care annex, a")
BULKY = Rule("bulky", SHARP.source)
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
        return ALLOWED.not_met(f"The instrument's IFU forbids a {kind} for it.")
    if not instrument.forbids:
        return ALLOWED.does_not_apply("No kind of package is on record as forbidden.")
    return ALLOWED.met(f"Its IFU does not forbid a {kind}.")


def sharp_finding(instrument: Instrument, kind: Kind) -> Finding:
    """Whether sharp points are covered: they cut film, paper and sheets.

    Sharp and no protector is not met; sharp and nothing on record about one cannot be
    told; a record that does not say whether it is sharp leaves it to a caution. A rigid
    container has nothing to cut: a bare point is a caution there. Source: ISO/TS
    16775:2014, health-care annex, a.
    """
    if kind is Kind.CONTAINER:
        return SHARP.does_not_apply("Nothing in a rigid container is cut open by a point.")
    if not instrument.sharp:
        words = (
            "Whether it is sharp is not on record: look at it."
            if instrument.sharp is None
            else "It has no point that cuts."
        )
        return SHARP.does_not_apply(words)
    if instrument.protector is None:
        return SHARP.cannot_tell(
            "It is sharp, and no protector is on record: say which one it takes.", "protector"
        )
    if not instrument.protector:
        return SHARP.not_met(f"It is sharp and goes without a protector: it would cut the {kind}.")
    return SHARP.met(f"Its sharp point is covered ({instrument.protector}).")


SHARP_NOT_ON_RECORD = "has a sharp point or edge is not on record"


def handling_cautions(
    instruments: Sequence[Instrument], kind: Kind, method: Method | None
) -> Iterator[Caution]:
    """What to look at in what lies in one package: points that are bare or unknown, lumens.

    Of several instruments each caution names those it is about. ``method`` None: no cycle is
    settled, and it may be one whose sterilizer has claims for lumens.
    """
    several = len(instruments) > 1
    unknown = [one for one in instruments if one.sharp is None and may_be_sharp(one)]
    bare = [one for one in instruments if one.sharp and not one.protector]
    lumens = [one for one in instruments if one.lumen_mm or one.lumen_length_mm]
    if bare and kind is Kind.CONTAINER:
        named = f" ({_names(bare)})" if several else ""
        words = f"Sharp, and no protector is on record{named}: cover the point, or lay it apart, "
        words += "so that it cuts no hand and is not bent."
        yield Caution(words, "common practice, no source")
    if unknown:
        what, look = ("a line", f"look at {_names(unknown)}") if several else ("it", "look")
        words = f"Whether {what} {SHARP_NOT_ON_RECORD}: {look}, and cover it."
        yield Caution(words, SHARP.source)
    if lumens:
        start = f"Lumens ({_names(lumens)})" if several else "It has a lumen"
        words, source = f"{start}: leave it dry or moist, as its IFU says.", ALLOWED.source
        if method is None or method in BY_CLAIMS:
            words += " See the sterilizer's claims for bore and length."
            source = f"{source}; the sterilizer maker's IFU"
        yield Caution(words, source)


def may_be_sharp(instrument: Instrument) -> bool:
    """Whether a point is worth looking for: basins and drapes have none."""
    return instrument.form is not Form.BASIN and instrument.item_class is not ItemClass.TEXTILES


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
        return BULKY.does_not_apply("The policy sets no bound.")
    return worst(_bulky_by(lying, kind, policy, *bound) for bound in asked)


def _bulky_by(
    lying: Instrument, kind: Kind, policy: Policy, name: str, fact: str, unit: str, said: str
) -> Finding:
    rule = BULKY.by(f"{BULKY.source}; {policy.source(name)}")
    figure, limit = getattr(lying, fact), policy.number(name)
    if figure is None:
        words = f"Whether it is too bulky for a {kind} cannot be told: "
        words += "weigh it." if unit == "g" else "measure how high it lies."
        return rule.cannot_tell(
            words, "weight_g" if unit == "g" else "size", limit=limit, unit=unit
        )
    return rule.at_most(
        figure,
        limit,
        unit,
        met=f"Not bulky: {said}; at most {{limit}} in a {kind}.",
        not_met=f"Bulky: {said}; at most {{limit}} in a {kind}. It is for a wrap or a container.",
    )

"""Whether the protector on an instrument's record may go through the method chosen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Protector
from assembly.rules.findings import Finding, Status, cannot_tell
from assembly.rules.kinds.protectors import (
    Tip,
    bore_finding,
    cover_finding,
    protector_material_finding,
    protector_method_finding,
    vented_finding,
)
from assembly.rules.methods.routes import Route
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method

RULE = "protector"
PROTECTOR_SOURCE = "ANSI/AAMI ST79 as reported; the protector maker's IFU"


def protector_words(instrument: Instrument) -> str:
    """Which protector goes on, in words; says so where nothing is on record.

    >>> protector_words(Instrument(name="hook", protector="vented, small"))
    'Put on the tip protector: vented, small.'
    """
    if instrument.protector is None:
        return "Whether it takes a tip protector is not on record: read its IFU."
    if not instrument.protector:
        return "No tip protector is on record for it."
    return f"Put on the tip protector: {instrument.protector}."


def protector_finding(
    instrument: Instrument, protectors: Iterable[Protector], method: Method | None, policy: Policy
) -> Finding:
    """Whether the protector on the instrument's record suits the tip and the method.

    Vented, cleared for the method, not of a material that keeps the sterilant out; where
    the tip is measured, wide and long enough and neither too wide nor too long. One that is
    not among the stocked cannot be told. Of several sizes that bear the name the best answer
    counts. Source: ST79 as reported; the maker's.
    """
    if not instrument.protector:
        return Finding(RULE, Status.DOES_NOT_APPLY, protector_words(instrument), PROTECTOR_SOURCE)
    stocked = protectors_named(instrument.protector, protectors)
    if not stocked:
        return cannot_tell(
            RULE,
            f"“{instrument.protector}” is no tip protector in stock: say which one it takes.",
            PROTECTOR_SOURCE,
            missing=("protector",),
        )
    answers = [_for_one(instrument, one, method, policy) for one in stocked]
    return min(answers, key=lambda answer: _BEST.index(answer.status))


_BEST = (Status.MET, Status.CANNOT_TELL, Status.NOT_MET, Status.DOES_NOT_APPLY)


def protectors_named(words: str, protectors: Iterable[Protector]) -> list[Protector]:
    """The stocked protectors of that name or code, in either case."""
    named = " ".join(words.casefold().split())
    return [one for one in protectors if named in (one.name.casefold(), one.code.casefold())]


def _for_one(
    instrument: Instrument, stocked: Protector, method: Method | None, policy: Policy
) -> Finding:
    found = _asked(instrument, stocked, method, policy)
    for state in (Status.NOT_MET, Status.CANNOT_TELL):
        for one in found:
            if one.status is state:
                missing = tuple(f"{stocked.code}.{name}" for name in one.missing)
                words = f"Protector {stocked.code}: {one.text}"
                return replace(one, rule=RULE, text=words, missing=missing)
    words = f"{stocked.code} ({stocked.name}) is vented and cleared for this method"
    if len(found) == 3:
        words += "; the tip is not measured, so see that the bore is right for it"
    return Finding(RULE, Status.MET, f"{words}.", PROTECTOR_SOURCE)


def _asked(
    instrument: Instrument, protector: Protector, method: Method | None, policy: Policy
) -> list[Finding]:
    """What is asked of a stocked protector; the tip's sizes only where they are measured."""
    found = [
        vented_finding(protector),
        protector_method_finding(protector, method),
        protector_material_finding(protector, method),
    ]
    tip = tip_of(instrument)
    if tip.across_mm is not None:
        found.append(bore_finding(protector, tip, policy))
    if tip.length_mm is not None:
        found.append(cover_finding(protector, tip, policy))
    return found


def tip_of(instrument: Instrument) -> Tip:
    """The part of an instrument that a protector goes over, as far as it is measured (mm)."""
    return Tip(across_mm=instrument.tip_across_mm, length_mm=instrument.tip_cover_mm)


def protectors_finding(
    instruments: Iterable[Instrument],
    protectors: Sequence[Protector] | None,
    way: Route,
    policy: Policy,
) -> Finding:
    """The finding on the protectors of what lies in a package that goes this way, worst first."""
    if protectors is None:
        return Finding(RULE, Status.DOES_NOT_APPLY,
                       "The department's protectors are not part of the question.",
                       PROTECTOR_SOURCE)  # fmt: skip
    asked = [(one, protector_finding(one, protectors, way.method, policy)) for one in instruments]
    for state in (Status.NOT_MET, Status.CANNOT_TELL, Status.MET):
        for instrument, finding in asked:
            if finding.status is state:
                if len(asked) > 1 and state is not Status.MET:
                    finding = replace(finding, text=f"{instrument.name}: {finding.text}")
                return finding
    return asked[0][1]

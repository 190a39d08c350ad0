"""Whether the protector on an instrument's record may go through the method chosen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from assembly.packing.facts import Instrument, Method, Protector
from assembly.packing.findings import Candidate, Finding, Status
from assembly.packing.protectors import (
    protector_material_finding,
    protector_method_finding,
    vented_finding,
)

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
    instrument: Instrument, protectors: Iterable[Protector], method: Method | None
) -> Finding:
    """Whether the protector on the instrument's record is one that the method may reach.

    Vented, cleared for the method, not of a material that keeps the sterilant out. One that
    is not among the supplies is left to its IFU; its bore is judged at the bench, because
    the size of the tip is not on record. Source: ST79 as reported; the maker's IFU.
    """
    rule = "protector"
    if not instrument.protector:
        return Finding(rule, Status.DOES_NOT_APPLY, protector_words(instrument), PROTECTOR_SOURCE)
    named = instrument.protector.casefold()
    stocked = next((one for one in protectors if named in (one.name.casefold(),
                                                           one.code.casefold())), None)  # fmt: skip
    if stocked is None:
        words = f"{instrument.protector}: not among the supplies on record, so read its IFU."
        return Finding(rule, Status.DOES_NOT_APPLY, words, PROTECTOR_SOURCE)
    found = (
        vented_finding(stocked),
        protector_method_finding(stocked, method),
        protector_material_finding(stocked, method),
    )
    for one in found:
        if one.status is Status.NOT_MET:
            return replace(one, rule=rule, text=f"Protector {stocked.code}: {one.text}")
    for one in found:
        if one.status is Status.CANNOT_TELL:
            missing = tuple(f"{stocked.code}.{name}" for name in one.missing)
            words = f"Protector {stocked.code}: {one.text}"
            return replace(one, rule=rule, text=words, missing=missing)
    words = f"{stocked.code} ({stocked.name}) is vented and cleared for this method; see that its "
    return Finding(rule, Status.MET, f"{words}bore is right for the tip.", PROTECTOR_SOURCE)


def with_protectors(
    candidate: Candidate, instruments: Iterable[Instrument], protectors: Sequence[Protector]
) -> Candidate:
    """The candidate with the finding on the protectors of what lies in it, worst first.

    Where no protectors are on record, or no method is settled yet, it is not asked.
    """
    word = candidate.details.get("method")
    if not protectors or not word:
        return candidate
    method = Method(word)
    asked = [(one, protector_finding(one, protectors, method)) for one in instruments]
    for state in (Status.NOT_MET, Status.CANNOT_TELL, Status.MET):
        for instrument, finding in asked:
            if finding.status is state:
                if len(asked) > 1 and state is not Status.MET:
                    finding = replace(finding, text=f"{instrument.name}: {finding.text}")
                return replace(candidate, findings=(*candidate.findings, finding))
    return replace(candidate, findings=(*candidate.findings, *(f for _, f in asked[:1])))

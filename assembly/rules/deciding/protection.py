"""The protector on an instrument's record: what it adds, and whether it may go through."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Protector
from assembly.rules.findings import Caution, Finding, Rule, Status, each_once, in_mm, worst
from assembly.rules.kinds.protectors import (
    Tip,
    bore_finding,
    cover_finding,
    protector_findings,
    with_protector,
)
from assembly.rules.methods.routes import Route
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method

NO_PROTECTOR = "No tip protector is on record for it."
RULE = Rule("protector", "ANSI/AAMI ST79 as reported; the protector maker's IFU")


def protector_words(instrument: Instrument) -> str:
    """Which protector goes on, in words; says so where nothing is on record.

    >>> protector_words(Instrument(name="hook", protector="vented, small"))
    'Put on the tip protector: vented, small.'
    """
    if instrument.protector is None:
        return "Whether it takes a tip protector is not on record: read its IFU."
    if not instrument.protector:
        return NO_PROTECTOR
    on = "protectors" if instrument.pieces > 1 else "protector"
    return f"Put on the tip {on}: {instrument.protector}."


@kept
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
        return RULE.does_not_apply(protector_words(instrument))
    stocked = protectors_named(instrument.protector, protectors)
    if not stocked:
        return RULE.cannot_tell(
            f"“{instrument.protector}” is no tip protector in stock: say which one it takes.",
            "protector",
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
    found = worst(_asked(instrument, stocked, method, policy))
    if found.status is not Status.MET:
        said = found.about(f"Protector {stocked.code}", stocked.code)
        return replace(said, rule=RULE.name)
    words = f"{stocked.code} ({stocked.name}) is vented and labeled for this method"
    if tip_of(instrument) == Tip():
        words += "; the tip is not measured, so see that the bore is right for it"
    return RULE.met(f"{words}.")


def _asked(
    instrument: Instrument, protector: Protector, method: Method | None, policy: Policy
) -> list[Finding]:
    """What is asked of a stocked protector; the tip's sizes only where they are measured."""
    tip = tip_of(instrument)
    sizes = {"bore": tip.across_mm, "length": tip.length_mm}
    found = protector_findings(protector, tip, method, policy)
    return [one for one in found if sizes.get(one.rule, 0.0) is not None]


def tip_of(instrument: Instrument) -> Tip:
    """The part of an instrument that a protector goes over, as far as it is measured (mm)."""
    return Tip(across_mm=instrument.tip_across_mm, length_mm=instrument.tip_cover_mm)


@kept
def protected(
    instrument: Instrument, protectors: Sequence[Protector] | None, policy: Policy
) -> Instrument:
    """The instrument with the protector on its record on: longer, thicker (mm).

    Of several sizes that bear the name, those that may suit the tip; the largest of them
    counts. Unchanged where it has none, or none that is stocked.
    """
    stocked = protectors_named(instrument.protector or "", protectors or ())
    tip = tip_of(instrument)
    fitting = [one for one in stocked if _may_suit(one, tip, policy)] or stocked
    boxes = [with_protector(_one_piece(instrument, policy), tip, one, policy) for one in fitting]
    if not boxes:
        return instrument
    length, width, height = (
        None if None in sides else max(side for side in sides if side is not None)
        for sides in zip(*((b.length_mm, b.width_mm, b.height_mm) for b in boxes), strict=True)
    )
    more = (width or 0.0) - (_one_piece(instrument, policy).width_mm or 0.0)
    if instrument.width_mm is not None:
        width = instrument.width_mm + instrument.pieces * more
    return derived(instrument, length_mm=length, width_mm=width, height_mm=height)


def _one_piece(instrument: Instrument, policy: Policy) -> Box:
    """One of the pieces that lie side by side."""
    gaps = (instrument.pieces - 1) * policy.number("item_gap_mm")
    width = instrument.width_mm
    if width is not None:
        width = (width - gaps) / instrument.pieces
    return derived(instrument.box, width_mm=width)


def _may_suit(protector: Protector, tip: Tip, policy: Policy) -> bool:
    found = (bore_finding(protector, tip, policy), cover_finding(protector, tip, policy))
    return all(one.status is not Status.NOT_MET for one in found)


def protected_cautions(
    bare: Sequence[Instrument],
    worn: Sequence[Instrument],
    protectors: Sequence[Protector] | None,
    policy: Policy,
) -> tuple[Caution, ...]:
    """Said where sizes are taken with the protector on: ``worn`` as ``protected`` made it.

    What a protector's own record lacks is said to be reckoned.
    """
    pairs = zip(bare, worn, strict=True)
    grown = [(a, b) for a, b in pairs if a.box != b.box]
    if not grown:
        return ()
    amounts = {}
    words = f"Sizes with the protector on: {', '.join(dict.fromkeys(a.name for a, _ in grown))}."
    if len(bare) == 1:
        box = worn[0].box
        sides = (("long", box.length_mm), ("wide", box.width_mm), ("high", box.height_mm))
        known = {name: size for name, size in sides if size is not None}
        amounts = in_mm(**known)
        words = f"With the protector on: {', '.join(f'{{{name}}} {name}' for name in known)}."
    stocked = [
        one for a, _ in grown for one in protectors_named(a.protector or "", protectors or ())
    ]
    lacking = {"protector_wall_mm": any(one.wall_mm is None for one in stocked),
               "protector_beyond_mm": any(one.length_mm is None for one in stocked)}  # fmt: skip
    reckoned = [name for name, lacks in lacking.items() if lacks]
    if reckoned:
        said = {
            "protector_wall_mm": "a wall of {wall}",
            "protector_beyond_mm": "{beyond} beyond the tip",
        }
        words += f" Reckoned, not measured: {' and '.join(said[name] for name in reckoned)}."
        wall, beyond = (policy.number(name) for name in lacking)
        amounts |= in_mm(wall=wall, beyond=beyond)
    source = each_once(["our geometry", *(policy.source(name) for name in reckoned)])
    return (Caution(words, source, amounts),)


def protectors_finding(
    instruments: Iterable[Instrument],
    protectors: Sequence[Protector] | None,
    way: Route,
    policy: Policy,
) -> Finding:
    """The finding on the protectors of what lies in a package that goes this way, worst first."""
    if protectors is None:
        return RULE.does_not_apply("The department's protectors are not part of the question.")
    asked = [(one, protector_finding(one, protectors, way.method, policy)) for one in instruments]
    finding = worst(one for _, one in asked)
    if len(asked) == 1 or finding.status in (Status.MET, Status.DOES_NOT_APPLY):
        return finding
    return finding.about(next(one.name for one, found in asked if found is finding))

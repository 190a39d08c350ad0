"""Tip protectors: which one suits a tip and a method, and what it adds to the instrument.

A protector must let the sterilant in and moisture out, stand the method, and go on
without force. What is not on record never passes. Sources: the protector maker's IFU;
packaging guidance as restated; the play is the policy's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assembly.rules.facts.checks import check_numbers
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Protector
from assembly.rules.findings import CLOSE_MM, Candidate, Finding, Rule, in_mm
from assembly.rules.kinds.pouches import material_order
from assembly.rules.picking import Picked, pick, ranked
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method, ProtectorMaterial

MAKER = "the protector maker's IFU"
GUIDANCE = "packaging guidance as restated (vented, labeled for the method, not tight)"
CELLULOSE_SOURCE = "SF2S good practice; a table adapted from CDC guideline 2008, Table 1"
KIND = "protector"


NEVER = (ProtectorMaterial.SOLID_RUBBER, ProtectorMaterial.LATEX)
"""Materials that keep the sterilant from the tip in every method."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """The part of an instrument to be covered, in mm.

    ``across_mm`` is its greatest size across, ``length_mm`` how much of it is to be
    covered, ``height_mm`` its height as it lies.
    """

    across_mm: float | None = None
    length_mm: float | None = None
    height_mm: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)


def with_protector(box: Box, tip: Tip, protector: Protector, policy: Policy) -> Box:
    """The box of an instrument with its protector on, in mm.

    Adds to the length what the protector is longer than the tip it covers (all of it where
    nobody measured how much that is), to the height what it is thicker than the tip, and makes
    the box at least as wide as the protector. A tip that is not measured is taken to fill the
    bore; a wall that is not on record is the policy's, and so is what stands out of a protector
    of unknown length: the most that may. Source: our geometry.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> with_protector(
    ...     Box(length_mm=140, width_mm=30, height_mm=8),
    ...     Tip(across_mm=3, length_mm=15, height_mm=2),
    ...     Protector(code="T4", bore_mm=4, wall_mm=1, length_mm=25),
    ...     default_policy(date(2026, 1, 1)),
    ... )
    Box(length_mm=150, width_mm=30, height_mm=12)
    """
    wall = protector.wall_mm or policy.number("protector_wall_mm")
    bore = protector.bore_mm or tip.across_mm or 0.0
    outside = bore + 2 * wall
    thick = tip.height_mm or tip.across_mm or bore
    beyond = policy.number("protector_beyond_mm")
    if protector.length_mm is not None:
        beyond = max(0, protector.length_mm - (tip.length_mm or 0))
    wider = max(0, outside - (box.width_mm or 0))
    return box.plus(beyond, wider, max(0, outside - thick))


def vented_finding(protector: Protector) -> Finding:
    """Whether sterilant gets in and moisture out. Unknown cannot be told.

    >>> vented_finding(Protector(code="T4", vented=True)).status
    <Status.MET: 'met'>
    """
    rule = Rule("vented", GUIDANCE)
    if protector.vented is None:
        return rule.cannot_tell("Whether it is vented is not on record: look at it.", "vented")
    if protector.vented:
        return rule.met("It is vented.")
    return rule.not_met("It is closed: sterilant does not reach the tip.")


def protector_method_finding(protector: Protector, method: Method | None) -> Finding:
    """Whether its label names the method. Either unknown cannot be told. Source: its IFU."""
    rule = Rule("method", MAKER)
    if method is None:
        return rule.cannot_tell("The method is not settled: decide the cycle first.", "method")
    if protector.methods is None:
        return rule.cannot_tell("What it is labeled for is not on record: read its IFU.", "methods")
    if method in protector.methods:
        return rule.met(f"It is labeled for {method.words}.")
    return rule.not_met(f"It is not labeled for {method.words}.")


def protector_material_finding(protector: Protector, method: Method | None) -> Finding:
    """No solid rubber and no latex; no cellulose in hydrogen peroxide. Unknown cannot be told.

    >>> protector_material_finding(
    ...     Protector(code="T4", material=ProtectorMaterial.LATEX), Method.STEAM).status
    <Status.NOT_MET: 'not met'>
    """
    rule, material = Rule("material", MAKER), protector.material
    if material is None:
        return rule.cannot_tell("What it is made of is not on record: read its IFU.", "material")
    if material in NEVER:
        return rule.by(GUIDANCE).not_met(f"{str(material).capitalize()} lets no sterilant through.")
    if material is ProtectorMaterial.CELLULOSE and method is None:
        return rule.by(CELLULOSE_SOURCE).cannot_tell(
            "Cellulose, and the method is not settled.", "method"
        )
    if material is ProtectorMaterial.CELLULOSE and method is Method.H2O2:
        return rule.by(CELLULOSE_SOURCE).not_met(
            "Cellulose takes up the peroxide: it does not go through vaporized hydrogen peroxide."
        )
    return rule.by(GUIDANCE).met(f"{str(material).capitalize()} may be used here.")


def bore_finding(protector: Protector, tip: Tip, policy: Policy) -> Finding:
    """The tip and its play within the bore, in mm; equal is met.

    An unknown tip or bore cannot be told. Source: the policy's play.
    """
    rule = Rule("bore", policy.source("protector_play_mm"))
    if protector.bore_mm is None:
        return rule.cannot_tell("Its bore is not on record: measure it.", "bore_mm")
    if tip.across_mm is None:
        return rule.cannot_tell(
            "The tip is not measured across: measure it.",
            "across_mm",
            limit=protector.bore_mm,
            unit="mm",
        )
    play, loose = policy.number("protector_play_mm"), policy.number("protector_loose_mm")
    if protector.bore_mm > tip.across_mm + loose + CLOSE_MM:
        return rule.by(policy.source("protector_loose_mm")).at_most(
            protector.bore_mm,
            tip.across_mm + loose,
            "mm",
            met="",
            not_met="Too wide: the bore is {figure}, and on this tip more than {limit} slips off.",
        )
    return rule.at_most(
        tip.across_mm + play,
        protector.bore_mm,
        "mm",
        met="The tip needs {figure} ({tip} across, {play} play), the bore is {limit}.",
        not_met="Too tight: the tip needs {figure} ({tip} across, {play} play), the bore is "
        "{limit}. A tight protector holds moisture.",
        amounts=in_mm(tip=tip.across_mm, play=play),
    )


def cover_finding(protector: Protector, tip: Tip, policy: Policy) -> Finding:
    """Long enough to cover what is to be covered, and not much longer, in mm; equal is met.

    Either unknown cannot be told. Source: guidance as restated; the policy for how much
    longer.
    """
    rule = Rule("length", GUIDANCE)
    if protector.length_mm is None:
        return rule.cannot_tell("Its length is not on record: measure it.", "length_mm")
    if tip.length_mm is None:
        return rule.cannot_tell(
            "How much of the tip is to be covered is not on record.",
            "tip length",
            limit=protector.length_mm,
            unit="mm",
        )
    most = tip.length_mm + policy.number("protector_beyond_mm")
    if protector.length_mm > most + CLOSE_MM:
        return rule.by(policy.source("protector_beyond_mm")).at_most(
            protector.length_mm,
            most,
            "mm",
            met="",
            not_met="Too long: {figure} on a tip that takes at the most {limit}.",
        )
    return rule.at_most(
        tip.length_mm,
        protector.length_mm,
        "mm",
        met="It covers {limit}; {figure} are to be covered.",
        not_met="Too short: {figure} are to be covered, it covers {limit}.",
    )


def protector_findings(
    protector: Protector, tip: Tip, method: Method | None, policy: Policy
) -> tuple[Finding, ...]:
    """Every rule for one protector on one tip, in the order in which they are read."""
    return (
        vented_finding(protector),
        protector_method_finding(protector, method),
        protector_material_finding(protector, method),
        bore_finding(protector, tip, policy),
        cover_finding(protector, tip, policy),
    )


def choose_protector(
    tip: Tip, method: Method | None, protectors: Iterable[Protector], policy: Policy
) -> Picked:
    """The smallest bore, then the shortest, that meets every rule; order given is no matter.

    None meets every rule: undecided if one could, none otherwise.
    """
    found = (
        Candidate(
            kind=KIND,
            code=protector.code,
            findings=protector_findings(protector, tip, method, policy),
            order=(
                *material_order(protector.bore_mm, protector.length_mm, ""),
                *material_order(None, protector.cost, protector.code),
            ),
            details={"bore_mm": protector.bore_mm, "length_mm": protector.length_mm},
        )
        for protector in protectors
    )
    return pick(ranked(found), offered=0)

"""Rolls: how wide, and how long to cut.

A piece of roll sealed across at both ends is a pouch: the same girth rule holds. The cut
adds, end to end, what stands beyond each cross seal, the seals, and the clearances; it is
rounded up to the step that the department cuts to. The cut does not depend on the width,
so the narrowest roll that serves uses the least material.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Roll
from assembly.rules.findings import (
    CLOSE_MM,
    CLOSE_RATIO,
    Candidate,
    Caution,
    Finding,
    Rule,
    in_mm,
)
from assembly.rules.kinds.pouches import (
    RANK,
    Footprint,
    Lain,
    fill_finding,
    free_round,
    lain_ways,
    material_order,
    reach_finding,
)
from assembly.rules.limits.clearances import (
    BASE,
    CLOSING,
    clearance,
    loose_cautions,
)
from assembly.rules.limits.weights import rating_finding
from assembly.rules.methods.materials import method_finding
from assembly.rules.methods.routes import Routes
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

CUT_SOURCE = "sum of the parts (geometry)"


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of a cut: what it is, and how long (mm)."""

    name: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class CutLength:
    """A cut length term by term, from the end of the tips to the end that is peeled (mm)."""

    segments: tuple[Segment, ...]
    step_mm: float

    @property
    def exact_mm(self) -> float:
        """The sum of the segments."""
        return sum(segment.length_mm for segment in self.segments)

    @property
    def cut_mm(self) -> float:
        """The sum, rounded up to the step."""
        return math.ceil(self.exact_mm / self.step_mm - CLOSE_RATIO) * self.step_mm

    @property
    def inner_mm(self) -> float:
        """Length between the cross seals; what rounding adds lies there."""
        outside = sum(s.length_mm for s in self.segments if s.name in OUTSIDE)
        return self.cut_mm - outside


OUTSIDE = ("beyond the end seal", "end seal", "closing seal", "beyond the closing seal, to grip")


def cut_length(along_mm: float, policy: Policy, height_mm: float = 0.0) -> CutLength:
    """What to cut for an instrument that takes up ``along_mm`` of sheet (mm), term by term.

    It lies ``height_mm`` high, which the sheet left free grows with. Sources: the
    policy's values; seal at least 6 mm (EN 868-5:2009, 4.3.2), at least 10 mm to grip
    (DIN 58953-7 as restated).

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> cut = cut_length(115 + 8, default_policy(date(2026, 1, 1)))
    >>> cut.exact_mm, cut.cut_mm
    (228.0, 230.0)
    """
    seal = policy.number("roll_seal_mm")
    beyond, end_seal, closing_seal, peel = OUTSIDE
    segments = (
        Segment(beyond, policy.number("roll_base_allowance_mm")),
        Segment(end_seal, seal),
        Segment("free at the end seal", clearance(BASE, height_mm, policy)),
        Segment("the instrument", along_mm),
        Segment("free at the closing end", clearance(CLOSING, height_mm, policy)),
        Segment(closing_seal, seal),
        Segment(peel, policy.number("roll_peel_allowance_mm")),
    )
    return CutLength(segments, policy.number("roll_step_mm"))


def roll_candidate(instrument: Instrument, roll: Roll, routes: Routes, policy: Policy) -> Candidate:
    """Every rule for one instrument in one roll, in the order they are read.

    Of the ways in which it may lie the one that serves with the least material is taken.
    """
    ways = [_in_roll(lain, roll, routes, policy) for lain in _lain_in_roll(instrument, policy)]
    return min(ways, key=lambda way: (-RANK[way.status], way.order))


@kept
def _lain_in_roll(instrument: Instrument, policy: Policy) -> tuple[Lain, ...]:
    return lain_ways(instrument, Kind.ROLL, policy)


def _in_roll(lain: Lain, roll: Roll, routes: Routes, policy: Policy) -> Candidate:
    instrument, item = lain.way.item, lain.item
    cut = None if item.along is None else cut_length(item.along, policy, item.height)
    least = cut_length(item.least_along, policy, item.height)
    width = lain.way.said(roll_width_finding(item, roll, policy))
    findings = (
        lain.allowed,
        method_finding(routes, roll.material, roll.methods),
        lain.sharp,
        lain.bulky,
        width,
        side_seal_finding(roll, policy),
        cut_finding(cut, least, roll, policy),
        _fill(instrument, item, cut or least, roll, policy),
        rating_finding(instrument.weight_g, roll.rated_g, "roll"),
    )
    return Candidate(
        kind=str(Kind.ROLL),
        code=roll.code,
        findings=findings,
        order=material_order(
            roll.material_mm2(None if cut is None else cut.cut_mm), roll.cost, roll.code
        ),
        details={
            **_details(instrument, roll, cut, width),
            **lain.details,
            "closing_asked_mm": free_round(item, policy).closing,
        },
        cautions=(
            *lain.cautions,
            *_cautions(roll),
            *loose_cautions(_covered(instrument, roll, cut), policy),
        ),
    )


def _covered(instrument: Instrument, roll: Roll, cut: CutLength | None) -> float | None:
    """The share of the piece between its four seals that is covered; None: a size is unknown."""
    width, area = inner_width_mm(roll), instrument.box.area_mm2
    return None if not width or cut is None or area is None else area / (width * cut.inner_mm)


def inner_width_mm(roll: Roll) -> float | None:
    """Width from side seal to side seal, laid flat (mm); None when a part is unknown."""
    if roll.nominal_width_mm is None or roll.side_seal_mm is None:
        return None
    return max(roll.nominal_width_mm - 2 * roll.side_seal_mm, 0.0)


def roll_width_finding(item: Footprint, roll: Roll, policy: Policy) -> Finding:
    """Nominal width less both side seals, pleats opened, against w + h and clearances (mm).

    Equal is met. An unknown side seal: not met where even the whole nominal width is too
    little, else cannot tell. Source: geometry, with the policy's clearance.
    """
    free = free_round(item, policy)
    inner, missing = inner_width_mm(roll), "nominal_width_mm"
    if inner is None and roll.nominal_width_mm is not None:
        inner, missing = None, "side_seal_mm"
        if item.least_across + 2 * free.side > _opened(roll.nominal_width_mm, roll) + CLOSE_MM:
            inner = roll.nominal_width_mm
    return reach_finding(
        free.width,
        item.across,
        item.least_across,
        2 * free.side,
        None if inner is None else _opened(inner, roll),
        missing,
    )


def _opened(width: float, roll: Roll) -> float:
    return width + 2 * roll.gusset_mm


def side_seal_finding(roll: Roll, policy: Policy) -> Finding:
    """The factory side seal, at least the policy's floor (mm); equal is met.

    Unknown: cannot tell. Source: EN 868-5:2009, 4.3.2 (ribs count by their sum).
    """
    rule = Rule("side seal", policy.source("roll_side_seal_floor_mm"))
    if roll.side_seal_mm is None:
        return rule.cannot_tell(
            "The width of the side seals is not on record: read the roll's data sheet.",
            "side_seal_mm",
        )
    return rule.at_most(
        policy.number("roll_side_seal_floor_mm"),
        roll.side_seal_mm,
        "mm",
        met="Side seals of {limit}; at least {figure}.",
        not_met="Side seals too narrow: {limit}, at least {figure} is asked.",
    )


def cut_finding(cut: CutLength | None, least: CutLength, roll: Roll, policy: Policy) -> Finding:
    """The cut against the longest that the roll or the sealer takes (mm); equal is met.

    No longest cut on record: does not apply, and a caution says so. An unknown instrument
    length: not met where even the least cut is too long, else cannot tell.
    """
    source = policy.source("roll_seal_mm", "closing_clearance_mm")
    rule = Rule("cut length", f"{CUT_SOURCE}; {source}")
    longest = roll.longest_cut_mm
    if cut is None and (longest is None or least.cut_mm <= longest + CLOSE_MM):
        return rule.cannot_tell(
            "Not every size of the instrument is on record: measure it as it will lie.",
            "size",
            limit=longest,
            unit="mm",
        )
    asked = cut or least
    if longest is None:
        return rule.does_not_apply(
            "Cut {cut}; no longest cut is on record for this roll.",
            amounts=in_mm(cut=asked.cut_mm),
        )
    return rule.at_most(
        asked.cut_mm,
        longest,
        "mm",
        met="Cut {figure}; at most {limit} can be cut and sealed.",
        not_met="Too long: {figure} to cut, at most {limit} can be cut and sealed.",
    )


def _fill(
    instrument: Instrument, item: Footprint, cut: CutLength, roll: Roll, policy: Policy
) -> Finding:
    """The fill rule of a pouch, on the piece between its four seals."""
    width = inner_width_mm(roll) or None
    finding = fill_finding(instrument.box, item, width, cut.inner_mm, policy)
    if "inner size" in finding.missing:
        field = "nominal_width_mm" if roll.nominal_width_mm is None else "side_seal_mm"
        return replace(finding, text="The inner width of this roll is not on record.",
                       missing=(field,))  # fmt: skip
    return finding


def _details(
    instrument: Instrument, roll: Roll, cut: CutLength | None, width: Finding
) -> dict[str, Any]:
    """Cut, waste by rounding and width (mm), material (mm2) and the share of it covered."""
    details: dict[str, Any] = {
        "material_mm2": roll.material_mm2(None if cut is None else cut.cut_mm)
    }
    if cut is not None:
        details["cut_length_mm"] = cut.cut_mm
        details["cut_exact_mm"] = cut.exact_mm
        details["rounding_mm"] = cut.cut_mm - cut.exact_mm
        if roll.roll_length_mm is not None:
            details["pieces_per_roll"] = math.floor(roll.roll_length_mm / cut.cut_mm + CLOSE_RATIO)
    if width.margin is not None and roll.side_seal_mm is not None:
        details["width_slack_mm"] = width.margin
    material, area = details["material_mm2"], instrument.box.area_mm2
    if material and area is not None:
        details["covered_share"] = area / material
    return details


def _cautions(roll: Roll) -> Iterator[Caution]:
    words = "Make the end seal first and look at it: smooth, full width, both corners closed."
    yield Caution(words, "ISO/TS 16775:2014, health-care annex, d and e")
    if roll.longest_cut_mm is None:
        words = "No longest cut is on record for this roll: see that the sealer takes it."
        yield Caution(words, "the packaging maker's IFU")
    if roll.gusset_mm:
        words = "Gusseted: take more care at both cross seals, with the gussets lying flat."
        yield Caution(words, "SF2S good practice")

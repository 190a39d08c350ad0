"""Pouches: does the instrument fit a ready-made pouch, flat or gusseted.

A flat pouch is two sheets that do not stretch. Cut across, it is a loop of twice its
width; a loop goes round a box ``w`` x ``h`` only if it is at least as long as the box's
girth, so a pouch must be at least ``w + h`` wide, and by the same reasoning ``l + h``
long. What is left beyond that is the clearance to the seals. Pleats of fold depth ``g``
add ``2g`` to the width. The derivation and its check values are held by the tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.facts.checks import product
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import (
    CLOSE_MM,
    Candidate,
    Caution,
    Finding,
    Rule,
    Status,
    in_mm,
)
from assembly.rules.kinds.lying import Lying, ways_to_lie
from assembly.rules.limits.clearances import (
    BASE,
    CLOSING,
    SIDE,
    clearance,
    clearance_source,
    loose_cautions,
)
from assembly.rules.limits.handling import allowed_finding, bulky_finding, sharp_finding
from assembly.rules.limits.weights import rating_finding
from assembly.rules.methods.materials import method_finding
from assembly.rules.methods.routes import Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

SECTION_SOURCE = "girth of the section (geometry)"


@dataclass(frozen=True, slots=True)
class Footprint:
    """Sheet that an instrument takes up, across and along the pouch, in mm.

    ``across`` is half the girth of its section, ``along`` the same lengthwise; None where
    a size is missing, with ``least_across`` and ``least_along`` as the proved lower bounds.
    ``height`` is how high it lies, 0 where that is not known.
    """

    across: float | None
    along: float | None
    least_across: float
    least_along: float
    height: float = 0.0


def footprint(box: Box, round_section: bool = False) -> Footprint:
    """Sheet taken up by a box (mm), or by a round section: half the girth each way.

    Box: ``w + h`` and ``l + h``. Round: pi/2 of the diameter across, and along as well
    for a ball. Unknown height: only the lower bound with no height at all.

    >>> footprint(Box(length_mm=115, width_mm=58, height_mm=8)).across
    66
    >>> round(footprint(Box(length_mm=50, width_mm=50, height_mm=50), True).along, 1)
    78.5
    """
    length, width, height = box.length_mm, box.width_mm, box.height_mm
    across = None if width is None or height is None else width + height
    along = None if length is None or height is None else length + height
    if round_section and width is not None and height is not None:
        across = min(width + height, math.pi / 2 * max(width, height))
        if length is not None and length == width == height:
            along = math.pi / 2 * length
    least_height = height or 0.0
    return Footprint(
        across=across,
        along=along,
        least_across=across if across is not None else (width or 0.0) + least_height,
        least_along=along if along is not None else (length or 0.0) + least_height,
        height=least_height,
    )


def width_finding(item: Footprint, pouch: Pouch, policy: Policy) -> Finding:
    """W_eff >= w + h + 2 x side clearance, in mm; equal is met.

    The clearance grows with the height (:func:`clearance`). Unknown height or width: not met
    when already too wide without it, else cannot tell.
    Source: geometry, with the policy's clearance.
    """
    return reach_finding(
        "width",
        item.across,
        item.least_across,
        2 * clearance(SIDE, item.height, policy),
        pouch.opened_width_mm,
        "inner_width_mm",
        clearance_source(item.height, policy, SIDE),
    )


def length_finding(item: Footprint, pouch: Pouch, policy: Policy) -> Finding:
    """L >= l + h + base clearance + closing clearance, in mm; equal is met.

    Unknown as for the width. Source: geometry, with the policy's clearances.
    """
    return reach_finding(
        "length",
        item.along,
        item.least_along,
        sum(clearance(name, item.height, policy) for name in (CLOSING, BASE)),
        pouch.inner_length_mm,
        "inner_length_mm",
        clearance_source(item.height, policy, CLOSING, BASE),
    )


def reach_finding(
    side: str,
    takes: float | None,
    least: float,
    clearance: float,
    has: float | None,
    field: str,
    source: str,
) -> Finding:
    """Whether sheet (mm) reaches round an instrument with its clearance; equal is met.

    ``side`` is "width" or "length". ``takes`` None (a size is missing): not met where even
    ``least`` is too much, else cannot tell. ``has`` None: cannot tell, ``field`` is missing.

    >>> reach_finding("width", 66, 66, 50, 116, "inner_width_mm", "ours").status
    <Status.MET: 'met'>
    """
    rule = Rule(side, f"{SECTION_SOURCE}; {source}")
    if has is None:
        return rule.cannot_tell(
            f"The inner {side} is not on record: measure it seal to seal.", field
        )
    figure = (least if takes is None else takes) + clearance
    if takes is None and figure <= has + CLOSE_MM:
        return rule.cannot_tell(
            "Not every size of the instrument is on record: measure it as it will lie.",
            "size",
            limit=has,
            unit="mm",
        )
    return rule.at_most(
        figure,
        has,
        "mm",
        met=f"{{figure}} of {side} needed ({{takes}} for the instrument, {{free}} free), "
        "{limit} there.",
        not_met=f"Too {'narrow' if side == 'width' else 'short'}: {{figure}} needed "
        "({takes} for the instrument, {free} free), {limit} there, {margin} lacking.",
        amounts=in_mm(takes=figure - clearance, free=clearance),
    )


def fill_finding(
    instrument: Box, item: Footprint, width: float | None, length: float | None, policy: Policy
) -> Finding:
    """The share of the porous side, inner width by length (mm), that is covered at the most.

    *tented* (default) measures (l + h)(w + h), the sheet drawn up over the instrument;
    *plain* measures l x w. Exactly the limit is met. Unknown sizes: not met only when the
    known ones prove it. Source: ISO/TS 16775:2014, health-care annex, b.
    """
    rule = Rule("fill", policy.source("fill_limit", "fill_reading"))
    limit = policy.number("fill_limit")
    if width is None or length is None:
        return rule.cannot_tell(
            "The inner size of this pouch is not on record.",
            "inner size",
            limit=limit,
            unit="ratio",
        )
    plain = policy.word("fill_reading") == "plain"
    if plain:
        sizes = (instrument.length_mm, instrument.width_mm)
        known = None not in sizes
        covered = (sizes[0] or 0.0) * (sizes[1] or 0.0)
    else:
        known = item.across is not None and item.along is not None
        covered = item.least_across * item.least_along
    share = covered / (width * length)
    reading = "lying flat" if plain else "with the film drawn up over it"
    finding = rule.at_most(
        share,
        limit,
        "ratio",
        met=f"Covers {{figure}} of the porous side {reading}; at most {{limit}}.",
        not_met=f"Overfilled: covers {{figure}} of the porous side {reading}; at most {{limit}}.",
    )
    if known or finding.status is Status.NOT_MET:
        return finding
    return rule.cannot_tell(
        "Not every size of the instrument is on record.", "size", limit=limit, unit="ratio"
    )


def pouch_candidate(
    instrument: Instrument, pouch: Pouch, routes: Routes, policy: Policy
) -> Candidate:
    """Every rule for one instrument in one single pouch, in the order they are read.

    Of the ways in which it may lie the one that serves is taken; of several that one which
    leaves most room.
    """
    ways = [_in_pouch(way, pouch, routes, policy) for way in ways_to_lie(instrument, policy)]
    return max(ways, key=lambda way: (RANK[way.status], _least_room(way)))


RANK = {Status.MET: 2, Status.CANNOT_TELL: 1, Status.NOT_MET: 0}
"""Which way to lie serves better."""


def _least_room(candidate: Candidate) -> float:
    """The smaller share of room left in width and length; none known counts as no room."""
    shares = [
        finding.margin / finding.figure
        for finding in candidate.findings
        if finding.rule in ("width", "length") and finding.margin is not None and finding.figure
    ]
    return min(shares, default=-math.inf)


def _in_pouch(way: Lying, pouch: Pouch, routes: Routes, policy: Policy) -> Candidate:
    instrument = way.item
    item = footprint(instrument.box, instrument.round_section)
    findings = (
        allowed_finding(instrument, Kind.POUCH),
        method_finding(routes, pouch.material, pouch.methods),
        sharp_finding(instrument, Kind.POUCH),
        bulky_finding(instrument, Kind.POUCH, policy),
        way.said(width_finding(item, pouch, policy)),
        length_finding(item, pouch, policy),
        fill_finding(instrument.box, item, pouch.inner_width_mm, pouch.inner_length_mm, policy),
        rating_finding(instrument.weight_g, pouch.rated_g, "pouch"),
    )
    details = {**_details(instrument, item, pouch, policy), **way.details}
    return Candidate(
        kind=str(Kind.POUCH),
        code=pouch.code,
        findings=findings,
        order=material_order(material_reckoned(pouch, policy), pouch.cost, pouch.code),
        details=details,
        cautions=(
            *way.cautions(policy),
            *_cautions(instrument, pouch, policy),
            *loose_cautions(details.get("fill_plain"), policy),
        ),
    )


def material_reckoned(pouch: Pouch, policy: Policy) -> float | None:
    """The material (mm2) for ranking: an outer size not on record is reckoned from the inner."""
    width, length = pouch.inner_width_mm, pouch.inner_length_mm
    if width is not None:
        width += policy.number("pouch_seals_width_mm")
    if length is not None:
        length += policy.number("pouch_seals_length_mm")
    outer_width, outer_length = pouch.outer_width_mm or width, pouch.outer_length_mm or length
    return replace(pouch, outer_width_mm=outer_width, outer_length_mm=outer_length).material_mm2


def material_order(material: float | None, cost: float | None, code: str) -> tuple[Any, ...]:
    """Sort key: least material, then cost (unknown last), then code."""
    return (
        math.inf if material is None else round(material, 3),
        math.inf if cost is None else cost,
        code,
    )


def _details(
    instrument: Instrument, item: Footprint, pouch: Pouch, policy: Policy
) -> dict[str, Any]:
    details: dict[str, Any] = {"material_mm2": pouch.material_mm2}
    if pouch.inner_width_mm is not None and instrument.width_mm is not None:
        details["ruler_side_mm"] = (pouch.inner_width_mm - instrument.width_mm) / 2
    if pouch.inner_length_mm is not None and item.along is not None:
        base = clearance(BASE, item.height, policy)
        details["base_distance_mm"] = base
        details["closing_asked_mm"] = clearance(CLOSING, item.height, policy)
        details["closing_distance_mm"] = pouch.inner_length_mm - item.along - base
    area = product(pouch.inner_width_mm, pouch.inner_length_mm)
    covered = {"plain": instrument.box.area_mm2, "tented": product(item.across, item.along)}
    details |= {f"fill_{how}": one / area for how, one in covered.items() if one and area}
    return details


def _cautions(instrument: Instrument, pouch: Pouch, policy: Policy) -> Iterator[Caution]:
    height, width = instrument.height_mm, instrument.width_mm
    tall = policy.number("tall_from_mm")
    if height is not None and not pouch.gusset_mm and height > tall + CLOSE_MM:
        words = (
            "Tall for a flat pouch ({height} high): lay it so that every seal keeps its distance, "
        )
        words += "or take a gusseted pouch, a wrap or a container."
        source = f"ISO/TS 16775:2014, health-care annex, b; {policy.source('tall_from_mm')}"
        yield Caution(words, source, in_mm(height=height))
    if pouch.gusset_mm:
        words = "Gusseted: take more care at the closing seal, with the gussets lying flat."
        yield Caution(words, "SF2S good practice")
        if width is not None and pouch.inner_width_mm and width > pouch.inner_width_mm:
            yield Caution("Wider than one panel: it does not lie flat on one side.", SECTION_SOURCE)
    if pouch.closure == "self-seal":
        words = "Self-seal closes less securely than a heat seal: fold on the printed line, press "
        words += "from the middle outwards."
        yield Caution(words, "ISO/TS 16775:2014, health-care annex, e")

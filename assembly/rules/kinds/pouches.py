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
from dataclasses import dataclass
from typing import Any

from assembly.rules.facts.checks import derived, product
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
from assembly.rules.policy.kept import kept
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


@dataclass(frozen=True, slots=True)
class Free:
    """Sheet left free round what lies so high (mm): at each side, the closing seal and the base,
    with the rules that ask for it."""

    side: float
    closing: float
    base: float
    width: Rule
    length: Rule


@kept
def free_round(item: Footprint, policy: Policy) -> Free:
    """What is left free round an item; it grows with the height (:func:`clearance`).

    Source: geometry, with the policy's clearances.
    """
    side, closing, base = (clearance(n, item.height, policy) for n in (SIDE, CLOSING, BASE))
    sides, ends = (clearance_source(item.height, policy, *n) for n in ((SIDE,), (CLOSING, BASE)))
    width, length = (f"{SECTION_SOURCE}; {source}" for source in (sides, ends))
    return Free(side, closing, base, Rule("width", width), Rule("length", length))


def width_finding(item: Footprint, pouch: Pouch, free: Free) -> Finding:
    """W_eff >= w + h + 2 x side clearance, in mm; equal is met.

    Unknown height or width: not met when already too wide without it, else cannot tell.
    """
    return reach_finding(
        free.width,
        item.across,
        item.least_across,
        2 * free.side,
        pouch.opened_width_mm,
        "inner_width_mm",
    )


def length_finding(item: Footprint, pouch: Pouch, free: Free) -> Finding:
    """L >= l + h + base clearance + closing clearance, in mm; equal is met.

    Unknown as for the width.
    """
    return reach_finding(
        free.length,
        item.along,
        item.least_along,
        free.closing + free.base,
        pouch.inner_length_mm,
        "inner_length_mm",
    )


def reach_finding(
    rule: Rule, takes: float | None, least: float, clearance: float, has: float | None, field: str
) -> Finding:
    """Whether sheet (mm) reaches round an instrument with its clearance; equal is met.

    ``rule`` is that of the width or the length. ``takes`` None (a size is missing): not met where
    even ``least`` is too much, else cannot tell. ``has`` None: cannot tell, ``field`` is missing.

    >>> reach_finding(Rule("width", "ours"), 66, 66, 50, 116, "inner_width_mm").status
    <Status.MET: 'met'>
    """
    side = rule.name
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
        met=REACHES[side],
        not_met=REACHES_NOT[side],
        amounts={"takes": (figure - clearance, "mm"), "free": (clearance, "mm")},
    )


REACHES = {
    side: f"{{figure}} of {side} needed ({{takes}} for the instrument, {{free}} free), "
    "{limit} there."
    for side in ("width", "length")
}
REACHES_NOT = {
    side: f"Too {short}: {{figure}} needed ({{takes}} for the instrument, {{free}} free), "
    "{limit} there, {margin} lacking."
    for side, short in (("width", "narrow"), ("length", "short"))
}


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
    ways = [_in_pouch(lain, pouch, routes, policy) for lain in _lain_in_pouch(instrument, policy)]
    if len(ways) == 1:
        return ways[0]
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


@dataclass(frozen=True, slots=True)
class Lain:
    """An instrument as it lies, with what every sheet around it is asked alike: the room that it
    takes up, what is found of itself, how it lies, and what is said of that and of its height."""

    way: Lying
    box: Box
    item: Footprint
    free: Free
    allowed: Finding
    sharp: Finding
    bulky: Finding
    details: dict[str, Any]
    cautions: tuple[Caution, ...]
    tall: Caution | None


def lain_ways(instrument: Instrument, kind: Kind, policy: Policy) -> tuple[Lain, ...]:
    """Each way in which an instrument may lie in a package of this kind."""
    return tuple(_lain(way, kind, policy) for way in ways_to_lie(instrument, policy))


def _lain(way: Lying, kind: Kind, policy: Policy) -> Lain:
    one, box = way.item, way.item.box
    item = footprint(box, one.round_section)
    return Lain(
        way,
        box,
        item,
        free_round(item, policy),
        allowed_finding(one, kind),
        sharp_finding(one, kind),
        bulky_finding(one, kind, policy),
        way.details,
        tuple(way.cautions(policy)),
        _tall(one.height_mm, policy),
    )


@kept
def _lain_in_pouch(instrument: Instrument, policy: Policy) -> tuple[Lain, ...]:
    return lain_ways(instrument, Kind.POUCH, policy)


def _in_pouch(lain: Lain, pouch: Pouch, routes: Routes, policy: Policy) -> Candidate:
    instrument, item = lain.way.item, lain.item
    findings = (
        lain.allowed,
        method_finding(routes, pouch.material, pouch.methods),
        lain.sharp,
        lain.bulky,
        lain.way.said(width_finding(item, pouch, lain.free)),
        length_finding(item, pouch, lain.free),
        fill_finding(lain.box, item, pouch.inner_width_mm, pouch.inner_length_mm, policy),
        rating_finding(instrument.weight_g, pouch.rated_g, "pouch"),
    )
    details = {**_details(lain, pouch), **lain.details}
    return Candidate(
        kind=str(Kind.POUCH),
        code=pouch.code,
        findings=findings,
        order=order_of(pouch, policy),
        details=details,
        cautions=(
            *lain.cautions,
            *_cautions(lain, pouch),
            *loose_cautions(details.get("fill_plain"), policy),
        ),
    )


@kept
def order_of(pouch: Pouch, policy: Policy) -> tuple[Any, ...]:
    """By which a pouch is taken before another."""
    return material_order(material_reckoned(pouch, policy), pouch.cost, pouch.code)


def material_reckoned(pouch: Pouch, policy: Policy) -> float | None:
    """The material (mm2) for ranking: an outer size not on record is reckoned from the inner."""
    width, length = pouch.inner_width_mm, pouch.inner_length_mm
    if width is not None:
        width += policy.number("pouch_seals_width_mm")
    if length is not None:
        length += policy.number("pouch_seals_length_mm")
    outer_width, outer_length = pouch.outer_width_mm or width, pouch.outer_length_mm or length
    return derived(pouch, outer_width_mm=outer_width, outer_length_mm=outer_length).material_mm2


def material_order(material: float | None, cost: float | None, code: str) -> tuple[Any, ...]:
    """Sort key: least material, then cost (unknown last), then code."""
    return (
        math.inf if material is None else round(material, 3),
        math.inf if cost is None else cost,
        code,
    )


def _details(lain: Lain, pouch: Pouch) -> dict[str, Any]:
    box, item, free = lain.box, lain.item, lain.free
    inner_width, inner_length = pouch.inner_width_mm, pouch.inner_length_mm
    details: dict[str, Any] = {"material_mm2": pouch.material_mm2}
    if inner_width is not None and box.width_mm is not None:
        details["ruler_side_mm"] = (inner_width - box.width_mm) / 2
    if inner_length is not None and item.along is not None:
        details["base_distance_mm"] = free.base
        details["closing_asked_mm"] = free.closing
        details["closing_distance_mm"] = inner_length - item.along - free.base
    if area := product(inner_width, inner_length):
        if plain := box.area_mm2:
            details["fill_plain"] = plain / area
        if tented := product(item.across, item.along):
            details["fill_tented"] = tented / area
    return details


GUSSETED = Caution(
    "Gusseted: take more care at the closing seal, with the gussets lying flat.",
    "SF2S good practice",
)
SELF_SEAL = Caution(
    "Self-seal closes less securely than a heat seal: fold on the printed line, press from the "
    "middle outwards.",
    "ISO/TS 16775:2014, health-care annex, e",
)


def _cautions(lain: Lain, pouch: Pouch) -> Iterator[Caution]:
    width = lain.box.width_mm
    if lain.tall and not pouch.gusset_mm:
        yield lain.tall
    if pouch.gusset_mm:
        yield GUSSETED
        if width is not None and pouch.inner_width_mm and width > pouch.inner_width_mm:
            yield Caution("Wider than one panel: it does not lie flat on one side.", SECTION_SOURCE)
    if pouch.closure == "self-seal":
        yield SELF_SEAL


def _tall(height: float | None, policy: Policy) -> Caution | None:
    """Said of what lies so high (mm) in a flat pouch, where that is high."""
    if height is None or height <= policy.number("tall_from_mm") + CLOSE_MM:
        return None
    words = "Tall for a flat pouch ({height} high): lay it so that every seal keeps its distance, "
    words += "or take a gusseted pouch, a wrap or a container."
    source = f"ISO/TS 16775:2014, health-care annex, b; {policy.source('tall_from_mm')}"
    return Caution(words, source, in_mm(height=height))

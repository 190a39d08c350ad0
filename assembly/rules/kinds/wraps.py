"""Wraps: does a sheet in stock serve the pack, by its real size, in which fold.

The least sheet comes from :mod:`assembly.rules.kinds.folds`: our geometry, and every sentence
says so. A bonded double sheet is folded once; single sheets are used two in sequence, the
second round the pack that the first one makes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from assembly.rules.facts.instruments import Box
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Wrap
from assembly.rules.findings import (
    CLOSE_G,
    CLOSE_MM,
    Candidate,
    Caution,
    Finding,
    Rule,
    Status,
    in_mm,
)
from assembly.rules.kinds.folds import (
    ENDS,
    SIDES,
    Folding,
    Sheet,
    envelope_sheet,
    square_sheet,
    square_sheets,
)
from assembly.rules.kinds.lying import lies_open
from assembly.rules.kinds.pouches import material_order
from assembly.rules.limits.handling import allowed_finding, sharp_finding
from assembly.rules.limits.packs import pack_finding
from assembly.rules.limits.textiles import textile_findings
from assembly.rules.limits.weights import (
    Piece,
    gross_details,
    gross_finding,
    net_finding,
    rating_finding,
    weigh,
    with_packaging,
)
from assembly.rules.methods.materials import method_finding
from assembly.rules.methods.routes import Routes
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Fold, Kind

GEOMETRY = "our geometry"

FOLD_SOURCE = "PAHO sterilization manual 2009"


def wrap_candidate(question: Question, wrap: Wrap, routes: Routes, policy: Policy) -> Candidate:
    """Every rule for one pack in one wrap, in the order they are read.

    What is wrapped is the question's pack, else the instrument's own box; the instrument's
    weight is taken as that of everything wrapped.
    """
    instrument, way = question.instrument, lies_open(question.instrument, policy)
    own = question.pack is None
    first = question.pack or way.item.box
    fits, details, cautions = wrap_sheet(
        first, wrap, instrument.weight_g, policy, asked=question.fold, own=own, measured=not own
    )
    weighing = weigh([Piece(name=instrument.name, quantity=1, weight_g=instrument.weight_g)])
    gross = with_packaging(weighing, wrap.code, wrap.pack_g, policy, wrapped=True)
    findings = (
        allowed_finding(instrument, Kind.WRAP),
        method_finding(routes, wrap.material, wrap.methods),
        sharp_finding(instrument, Kind.WRAP),
        way.said(fits) if own else fits,
        rating_finding(instrument.weight_g, wrap.rated_g, "wrap"),
        net_finding(weighing, policy),
        gross_finding(gross, policy, wrapped=True),
        *textile_findings([instrument], first, instrument.weight_g, policy),
        pack_finding(question.pack, [(instrument.name, instrument.box)]),
    )
    return Candidate(
        kind=str(Kind.WRAP),
        code=wrap.code,
        findings=findings,
        order=(not details.pop("suits"), *material_order(wrap.area_mm2, wrap.cost, wrap.code)),
        details=details | gross_details(gross),
        cautions=cautions,
    )


def folds_for(
    pack: Box, weight_g: float | None, asked: Fold | None, policy: Policy
) -> tuple[Fold, ...]:
    """The folds that may be made, the one that suits first: the one asked for alone.

    Large and heavy packs (mm, g; the policy's bounds, equal counts): the square fold, which
    is opened on a table; all others, and where a bound is unknown, the envelope. Source: PAHO
    sterilization manual 2009.
    """
    if asked:
        return (asked,)
    return (Fold.SQUARE, Fold.ENVELOPE) if _large_and_heavy(pack, weight_g, policy) else (
        Fold.ENVELOPE, Fold.SQUARE)  # fmt: skip


def _large_and_heavy(pack: Box, weight_g: float | None, policy: Policy) -> bool | None:
    """Whether both bounds are reached; None where that is not known, or not asked."""
    from_g, sides = policy.number_or_none("square_fold_from_g"), (pack.length_mm, pack.width_mm)
    if from_g is None:
        return None
    from_mm = policy.number("square_fold_from_mm")
    large = max(side or 0.0 for side in sides) >= from_mm - CLOSE_MM
    heavy = weight_g is not None and weight_g >= from_g - CLOSE_G
    if large and heavy:
        return True
    unknown = (weight_g is None and large) or (None in sides and heavy)
    return None if unknown or (weight_g is None and None in sides) else False


def fold_cautions(
    pack: Box, weight_g: float | None, asked: Fold | None, fold: Fold, policy: Policy
) -> tuple[Caution, ...]:
    """Which fold suits the pack, where that is not settled by what is known of it."""
    suits = _large_and_heavy(pack, weight_g, policy)
    if asked or suits is False:
        return ()
    source = policy.source("square_fold_from_g") if suits else FOLD_SOURCE
    if suits is None:
        words = "Envelope fold for small, light packs opened in the hand; square fold for large, "
        words += "heavy ones opened on a table."
    elif fold is Fold.SQUARE:
        words = "Large and heavy: square fold, opened on a table."
    else:
        words = "Large and heavy: the square fold suits it, and this sheet is too small for that."
    return (Caution(words, source),)


def wrap_sheet(
    pack: Box,
    wrap: Wrap,
    weight_g: float | None,
    policy: Policy,
    *,
    asked: Fold | None = None,
    own: bool = False,
    measured: bool = False,
) -> tuple[Finding, dict[str, Any], tuple[Caution, ...]]:
    """The sheet's finding, details and cautions for a pack (a basket, say), in mm.

    ``weight_g`` is that of the pack, None where it is not known: it decides on the fold, where
    none is ``asked`` for. ``suits`` of the details is false where another fold would suit the
    pack better. ``own``: the pack is the instrument itself; ``measured``: it is the closed pack.
    """
    grown = _with_first_sheet(pack, wrap, policy)
    folds = folds_for(pack, weight_g, asked, policy)
    sheet, fits = _better_fold([sheet_finding(grown, own, wrap, one, policy) for one in folds])
    return (
        fits,
        _details(pack, grown, wrap, sheet, fits, policy) | {"suits": sheet.fold is folds[0]},
        (
            *fold_cautions(pack, weight_g, asked, sheet.fold, policy),
            *_said(grown, wrap, measured, sheet, fits, policy),
        ),
    )


@kept
def _with_first_sheet(pack: Box, wrap: Wrap, policy: Policy) -> Box:
    """The pack that the outer sheet goes round: a single sheet is used twice, one in another."""
    if wrap.layers == 2:
        return pack
    growth = policy.number("wrap_growth_mm")
    return pack.plus(growth, growth, growth)


def _better_fold(folds: Iterable[tuple[Sheet, Finding]]) -> tuple[Sheet, Finding]:
    """The first fold that serves; else the one that lacks least."""
    rank = {Status.MET: 0, Status.CANNOT_TELL: 1, Status.NOT_MET: 2}

    def key(fold: tuple[Sheet, Finding]) -> tuple[int, float]:
        finding = fold[1]
        lacking = -(finding.margin or 0.0) if finding.status is Status.NOT_MET else 0.0
        return rank[finding.status], lacking

    return min(folds, key=key)


@kept
def sheet_finding(
    pack: Box, own: bool, wrap: Wrap, fold: Fold, policy: Policy
) -> tuple[Sheet, Finding]:
    """The sheet that ``pack`` needs in ``fold``, and whether this wrap is that large (mm).

    Equal is met. A pack with an unknown size: not met where even the rest is too much, else
    cannot tell; nothing is wrapped blind. ``own``: the pack is the instrument itself.
    """
    source = policy.source("wrap_overlap_mm", "wrap_turnback_mm", "wrap_near")
    rule = Rule("sheet", f"{GEOMETRY}; {source}")
    ways = _ways(pack, fold, Folding.of(policy))
    if wrap.width_mm is None or wrap.length_mm is None:
        least = min(ways, key=lambda way: way.side_mm)
        return least, rule.cannot_tell(
            "The size of this sheet is not on record: measure it.",
            *tuple(
                f"{wrap.code}.{name}"
                for name in ("width_mm", "length_mm")
                if getattr(wrap, name) is None
            ),
        )
    sheet, figure, limit = _on_sheet(ways, wrap.width_mm, wrap.length_mm)
    if pack.missing and figure <= limit + CLOSE_MM:
        return sheet, _blind(rule, pack, own)
    words = f"By our geometry the {fold} fold needs {{figure}} of sheet"
    words += f" ({sheet.binding} {'decide' if sheet.binding in (SIDES, ENDS) else 'decides'})"
    return sheet, rule.at_most(
        figure,
        limit,
        "mm",
        met=f"{words}; {{limit}} there.",
        not_met=f"Too small: {words[0].lower()}{words[1:]}; {{limit}} there, {{margin}} lacking.",
    )


def _sides(pack: Box) -> tuple[float, float, float]:
    """The pack's sides (mm), an unknown one as 0: the least that the pack can need."""
    return pack.length_mm or 0.0, pack.width_mm or 0.0, pack.height_mm or 0.0


def _ways(pack: Box, fold: Fold, folding: Folding) -> tuple[Sheet, ...]:
    """The least sheets that may serve: the better envelope, or the square either way round."""
    if fold is Fold.ENVELOPE:
        return (envelope_sheet(*_sides(pack), folding),)
    return square_sheets(*_sides(pack), folding)


def _on_sheet(ways: Iterable[Sheet], width: float, length: float) -> tuple[Sheet, float, float]:
    """The way of laying the pack that leaves most, with its tightest (needed, there) in mm."""
    best: tuple[Sheet, float, float] | None = None
    for way in ways:
        for across, along in ((width, length), (length, width)):
            needed, there = min(
                ((way.a_mm, across), (way.b_mm, along)), key=lambda pair: pair[1] - pair[0]
            )
            if best is None or there - needed > best[2] - best[1]:
                best = (way, needed, there)
    assert best is not None
    return best


def _blind(rule: Rule, pack: Box, own: bool) -> Finding:
    missing = ("size",) if own else tuple(f"pack.{name}" for name in pack.missing)
    return rule.cannot_tell(
        "Not every size of the pack is on record: measure it, do not wrap blind.", *missing
    )


@kept
def _details(
    pack: Box, grown: Box, wrap: Wrap, sheet: Sheet, fits: Finding, policy: Policy
) -> dict[str, Any]:
    """The fold, the least sheet for the pack (mm), what decides it, and the sheet in hand.

    ``grown`` is the pack with its first sheet on, where two sheets go on one after another;
    ``sheet_side_mm`` is for the first, ``second_sheet_side_mm`` for the second.
    """
    details: dict[str, Any] = {
        "fold": str(sheet.fold),
        "sheets": 1 if wrap.layers == 2 else 2,
        "material_mm2": wrap.area_mm2,
    }
    if pack.missing:
        return details
    folding = Folding.of(policy)
    if wrap.layers != 2:
        details["second_sheet_side_mm"] = _least_side(grown, sheet.fold, folding)
    details |= {
        "sheet_side_mm": _least_side(pack, sheet.fold, folding),
        "sheet_mm": [round(sheet.a_mm, 3), round(sheet.b_mm, 3)],
        "binding": sheet.binding,
        "across": sheet.across,
        "whole_top_side_mm": _least_side(pack, sheet.fold, replace(folding, whole_top=True)),
        "mid_line_side_mm": _least_side(pack, sheet.fold, replace(folding, whole_top=False)),
        "room_mm": fits.margin,
        "oversize": _oversize(fits, policy),
    }
    return details


def _oversize(fits: Finding, policy: Policy) -> bool:
    return (fits.margin or 0.0) > policy.number("wrap_oversize_mm") + CLOSE_MM


def _least_side(pack: Box, fold: Fold, folding: Folding) -> float:
    least = envelope_sheet if fold is Fold.ENVELOPE else square_sheet
    return least(*_sides(pack), folding).side_mm


@kept
def _said(
    pack: Box, wrap: Wrap, measured: bool, sheet: Sheet, fits: Finding, policy: Policy
) -> tuple[Caution, ...]:
    return tuple(_cautions(pack, wrap, measured, sheet, fits, policy))


def _cautions(
    pack: Box, wrap: Wrap, measured: bool, sheet: Sheet, fits: Finding, policy: Policy
) -> Iterator[Caution]:
    words = "Sheet sizes are our geometry, not a published chart: try the sheet before use."
    yield Caution(words, GEOMETRY)
    words = "Close it with indicator tape, at least 5 cm; never pins or staples."
    yield Caution(words, FOLD_SOURCE)
    if wrap.pack_g is None:
        yield Caution("The sheet's own weight is not on record and is not counted.", GEOMETRY)
    if wrap.layers != 2:
        words = "Single sheets: wrap twice, a pack within a pack."
        if wrap.layers is None:
            words = (
                "Whether this is a bonded double sheet is not on record: it is taken as single, "
            )
            words += "wrapped twice."
        yield Caution(words, f"ST79 as reported; {policy.source('wrap_growth_mm')}")
    if measured:
        yield Caution("The weight on record is taken as that of everything wrapped.", GEOMETRY)
    if sheet.fold is Fold.SQUARE and _taller_than_wide(pack):
        yield Caution("Taller than wide: see that the ends close.", GEOMETRY)
    if fits.margin is not None and _oversize(fits, policy):
        words = "Much larger than needed ({room} over): too much sheet hinders the sterilant."
        yield Caution(words, "packaging guidance as restated", in_mm(room=fits.margin))


def _taller_than_wide(pack: Box) -> bool:
    length, width, height = _sides(pack)
    return not pack.missing and height > min(length, width) + CLOSE_MM

"""Textile packs: their size, weight and density. Dense linen keeps steam out and stays wet.

The three published limits agree: the largest pack at the highest density weighs exactly
the most that is allowed.
"""

from __future__ import annotations

from collections.abc import Iterable

from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.findings import CLOSE_MM, Finding, Rule
from assembly.rules.policy.values import Policy
from catalog.vocabulary import ItemClass

MM3_IN_M3 = 1_000_000_000
_LIMITS = {
    "length_mm": "textile_length_mm",
    "width_mm": "textile_width_mm",
    "height_mm": "textile_height_mm",
}


def textile_findings(
    inside: Iterable[Instrument], pack: Box, weight_g: float | None, policy: Policy
) -> tuple[Finding, ...]:
    """Size, weight and density of a pack, in this order, where there are textiles in it.

    Source: ANSI/AAMI ST79 as taught.
    """
    if all(one.item_class is not ItemClass.TEXTILES for one in inside):
        return ()
    return (
        textile_size_finding(pack, policy),
        textile_weight_finding(weight_g, policy),
        textile_density_finding(pack, weight_g, policy),
    )


def textile_size_finding(pack: Box, policy: Policy) -> Finding:
    """Each side of a textile pack against its limit (mm); equal is met.

    The pack may be turned: its sides are compared largest to largest. An unknown side
    cannot be told unless a known one is already beyond the largest limit.
    """
    rule = Rule("textile size", policy.source(*_LIMITS.values()))
    limits = sorted((policy.number(name) for name in _LIMITS.values()), reverse=True)
    sides = sorted(
        (side for side in (getattr(pack, name) for name in _LIMITS) if side is not None),
        reverse=True,
    )
    over = [(a, b) for a, b in zip(sides, limits, strict=False) if a > b + CLOSE_MM]
    if over:
        side, limit = over[0]
        return rule.at_most(
            side,
            limit,
            "mm",
            met="",
            not_met="Too large for a textile pack: a side of {figure}, at most {limit}.",
        )
    if pack.missing:
        return rule.cannot_tell(
            "Not every size of the pack is on record: measure it.",
            *[f"pack.{name}" for name in pack.missing],
        )
    return rule.met("No side is beyond its limit.")


def textile_weight_finding(weight_g: float | None, policy: Policy) -> Finding:
    """The weight of a textile pack (g) against its limit; equal is met, unknown cannot be told.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> textile_weight_finding(5443.2, default_policy(date(2026, 1, 1))).status
    <Status.NOT_MET: 'not met'>
    """
    rule = Rule("textile weight", policy.source("textile_limit_g"))
    limit = policy.number("textile_limit_g")
    if weight_g is None:
        return rule.cannot_tell(
            "The pack's weight is not on record: weigh it.", "weight_g", limit=limit, unit="g"
        )
    return rule.at_most(
        weight_g,
        limit,
        "g",
        met="The textile pack weighs {figure}; at most {limit}.",
        not_met="Textile pack too heavy: {figure}, at most {limit}.",
    )


def heaviest_by_density(pack: Box, policy: Policy) -> float | None:
    """What a textile pack of this size may weigh at the highest density (g).

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> largest = Box(length_mm=508, width_mm=304.8, height_mm=304.8)
    >>> round(heaviest_by_density(largest, default_policy(date(2026, 1, 1))) / 453.59237, 6)
    12.0
    """
    if pack.volume_mm3 is None:
        return None
    return policy.number("textile_density_g_m3") * pack.volume_mm3 / MM3_IN_M3


def textile_density_finding(pack: Box, weight_g: float | None, policy: Policy) -> Finding:
    """The weight of a textile pack against what its size may weigh (g); equal is met."""
    rule = Rule("textile density", policy.source("textile_density_g_m3"))
    limit = heaviest_by_density(pack, policy)
    if limit is None or weight_g is None:
        missing = [f"pack.{name}" for name in pack.missing]
        return rule.cannot_tell(
            "Size and weight give the density: one is missing.",
            *missing if weight_g is not None else [*missing, "weight_g"],
            limit=limit,
            unit="g",
        )
    return rule.at_most(
        weight_g,
        limit,
        "g",
        met="Loose enough: {figure}; a pack of this size may weigh {limit}.",
        not_met="Too dense: {figure}, and a textile pack of this size may weigh {limit}.",
    )

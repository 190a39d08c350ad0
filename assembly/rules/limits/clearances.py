"""Sheet left free round what lies in a pouch or roll: never too little, and not too much."""

from __future__ import annotations

from assembly.rules.findings import CLOSE_RATIO, Caution
from assembly.rules.policy.values import Policy

SIDE, BASE, CLOSING = "side_clearance_mm", "base_clearance_mm", "closing_clearance_mm"


def clearance(name: str, height_mm: float, policy: Policy) -> float:
    """Sheet to be left free at a seal (mm): the policy's value, or its share of the height.

    Taller items need more room (ISO/TS 16775:2014, health-care annex, b); below half the
    height the film lifts the seal from the table (our geometry).

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> today = default_policy(date(2026, 12, 1))
    >>> [clearance(SIDE, height, today) for height in (8, 20, 30)]
    [10.0, 10.0, 15.0]
    """
    return max(policy.number(name), policy.number("clearance_height_share") * height_mm)


def clearance_source(height_mm: float, policy: Policy, *names: str) -> str:
    """Where the sheet left free comes from: the values, and the share where the height rules."""
    if any(clearance(name, height_mm, policy) > policy.number(name) for name in names):
        names = (*names, "clearance_height_share")
    return policy.source(*names)


def is_loose(share: float | None, policy: Policy) -> bool:
    """Whether so small a share of the porous side is covered that the contents move."""
    least = policy.number_or_none("loose_share")
    return share is not None and least is not None and share < least - CLOSE_RATIO


def loose_cautions(share: float | None, policy: Policy) -> tuple[Caution, ...]:
    """Said of a loose pouch or piece of roll; never a reason to refuse it."""
    if share is None or not is_loose(share, policy):
        return ()
    words = (
        "Loose: only {share} of the porous side is covered, and what moves abrades. See that it "
    )
    words += "cannot slide about."
    return (Caution(words, policy.source("loose_share"), {"share": (share, "ratio")}),)

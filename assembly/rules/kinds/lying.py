"""How an instrument lies in its package: open where it is hinged, and on which side.

What is hinged lies open, and is then wider than a catalog says. What may be turned may lie
on its side, so that its smaller side stands up. The sizes that come out are those that every
rule about room is asked with, and that the drawing shows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Caution, Finding, in_mm
from assembly.rules.limits.clearances import SIDE
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Form, ItemClass

AS_GIVEN, ACROSS, ON_ITS_SIDE = "as given", "across", "on its side"
SIDE_AND_ACROSS = f"{ON_ITS_SIDE}, {ACROSS}"
NEVER_TURNED = (Form.BASIN, Form.SCOPE, Form.POWERED)


@dataclass(frozen=True, slots=True)
class Lying:
    """An instrument with the sizes that it takes up as it lies (mm), and how that is.

    ``closed_mm`` is the width on record where the width open was reckoned from it.
    """

    item: Instrument
    how: str = AS_GIVEN
    closed_mm: float | None = None

    def said(self, finding: Finding) -> Finding:
        """The finding on its width, which says so where the width open was not measured."""
        if self.closed_mm is None or self.item.width_mm is None:
            return finding
        width = self.item.length_mm if ACROSS in self.how else self.item.width_mm
        amounts = in_mm(closed=self.closed_mm, open=width or 0)
        return replace(
            finding,
            text=f"{finding.text} It lies open: {{open}} is reckoned from {{closed}} closed, "
            "not measured.",
            amounts={**finding.amounts, **amounts},
        )

    @property
    def details(self) -> dict[str, Any]:
        """How it lies, and the sizes that it takes up so: length, width, height (mm)."""
        item = self.item
        return {"way_to_lie": self.how, "lying_mm": [item.length_mm, item.width_mm, item.height_mm]}

    def cautions(self, policy: Policy) -> Iterator[Caution]:
        """What is said where it does not lie as it is on record."""
        if ON_ITS_SIDE in self.how:
            height = self.item.height_mm
            words = "Lay it on its side" + ("." if height is None else ", {height} high.")
            amounts = {} if height is None else in_mm(height=height)
            yield Caution(words, policy.source("lie_on_side"), amounts)
        if ACROSS in self.how:
            yield Caution("It goes in across, not along.", policy.source("allow_rotate"))


def lies_open(instrument: Instrument, policy: Policy) -> Lying:
    """An instrument as it lies on record, open where it is hinged (mm).

    The width open as measured, else the width closed times the policy's share. Several side
    by side open each for itself; the gaps between them stay.
    """
    if not instrument.opens:
        return Lying(instrument)
    closed, measured = instrument.width_mm, instrument.width_open_mm
    if measured is not None:
        return Lying(derived(instrument, width_mm=max(measured, closed or 0.0)))
    if closed is None:
        return Lying(instrument)
    width = opened(closed, instrument.pieces, policy)
    return Lying(derived(instrument, width_mm=width), closed_mm=closed if width > closed else None)


def opened(closed: float, pieces: int, policy: Policy) -> float:
    """Width open (mm) of hinged things side by side, reckoned from their width closed.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> round(opened(62, 1, default_policy(date(2026, 12, 1))), 6)
    80.6
    """
    gaps = (pieces - 1) * policy.number("item_gap_mm")
    return (closed - gaps) * policy.number("hinged_open_share") + gaps


def may_be_turned(instrument: Instrument) -> bool:
    """Whether it may lie on another side than the one on record, where the policy lets it.

    Never hollowware, scopes, powered devices, what lies only as given, or what was measured
    as it lies open.
    """
    return (
        not instrument.lies_only_as_given
        and instrument.form not in NEVER_TURNED
        and not instrument.hollow
        and instrument.item_class is not ItemClass.UTENSILS
        and not (instrument.opens and instrument.width_open_mm is not None)
    )


@kept
def ways_to_lie(instrument: Instrument, policy: Policy) -> tuple[Lying, ...]:
    """The instrument as on record, on its side where that gains, each across where allowed."""
    ways = [lies_open(instrument, policy)]
    side = _on_side(instrument, policy)
    if (
        policy.flag("lie_on_side")
        and may_be_turned(instrument)
        and _lower(side, instrument, policy)
    ):
        ways.append(replace(lies_open(side, policy), how=ON_ITS_SIDE))
    if policy.flag("allow_rotate"):
        ways += [_across(way) for way in ways]
    return tuple(ways)


def _lower(side: Instrument, instrument: Instrument, policy: Policy) -> bool:
    """Whether turning gains: so high that its height asks for more room, and lower turned."""
    height = instrument.height_mm
    if height is None or policy.number("clearance_height_share") * height <= policy.number(SIDE):
        return False
    return side.height_mm is None or side.height_mm < height


def _on_side(instrument: Instrument, policy: Policy) -> Instrument:
    """Width and height exchanged; several side by side are turned one by one."""
    width, height, pieces = instrument.width_mm, instrument.height_mm, instrument.pieces
    gaps = (pieces - 1) * policy.number("item_gap_mm")
    return derived(
        instrument,
        width_mm=None if height is None else pieces * height + gaps,
        height_mm=None if width is None else (width - gaps) / pieces,
    )


def _across(way: Lying) -> Lying:
    item = derived(way.item, length_mm=way.item.width_mm, width_mm=way.item.length_mm)
    return replace(way, item=item, how=ACROSS if way.how == AS_GIVEN else SIDE_AND_ACROSS)

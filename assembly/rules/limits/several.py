"""Several instruments in one package: side by side in one row, never stacked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assembly.rules.facts.checks import FactsError, derived
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.policy.values import Policy


def side_by_side(boxes: Sequence[Box], policy: Policy) -> Box:
    """The box of several instruments in one row, never stacked, all handles one way (mm).

    Widths and gaps add up, the longest and the tallest rule. Any unknown size makes the
    whole unknown. More than the policy's number in one pouch is a FactsError.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> pair = [Box(length_mm=120, width_mm=12, height_mm=8),
    ...         Box(length_mm=125, width_mm=15, height_mm=10)]
    >>> side_by_side(pair, default_policy(date(2026, 1, 1)))
    Box(length_mm=125, width_mm=37.0, height_mm=10)
    """
    if not boxes:
        raise FactsError("instruments", 0, "at least one instrument is needed")
    most = policy.number("most_items_in_pouch")
    if len(boxes) > most:
        raise FactsError("instruments", len(boxes), f"at most {most:g} lie in one pouch")
    lengths = [box.length_mm for box in boxes]
    widths = [box.width_mm for box in boxes]
    heights = [box.height_mm for box in boxes]
    gaps = (len(boxes) - 1) * policy.number("item_gap_mm")
    return Box(
        length_mm=_or_unknown(max, lengths),
        width_mm=None if None in widths else sum(w for w in widths if w is not None) + gaps,
        height_mm=_or_unknown(max, heights),
    )


def together(instrument: Instrument, pieces: int, policy: Policy) -> Instrument:
    """Several of one instrument side by side, as one thing to pack; one is itself.

    FactsError when there are fewer than one, or more than the policy lets lie together.
    """
    if pieces == 1:
        return instrument
    box = side_by_side([instrument.box] * max(pieces, 0), policy)
    weight, wide = instrument.weight_g, instrument.width_open_mm
    gaps = (pieces - 1) * policy.number("item_gap_mm")
    return derived(
        instrument,
        name=f"{pieces} × {instrument.name}",
        length_mm=box.length_mm,
        width_mm=box.width_mm,
        height_mm=box.height_mm,
        width_open_mm=None if wide is None else pieces * wide + gaps,
        weight_g=None if weight is None else pieces * weight,
        round_section=False,
        pieces=pieces,
    )


def _or_unknown(choose: Any, values: Sequence[float | None]) -> float | None:
    return None if None in values else choose(values)

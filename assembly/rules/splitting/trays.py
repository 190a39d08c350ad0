"""Splitting a set that is too heavy: the fewest trays, then the heaviest as light as can be.

Pieces that stay together are one unit. A bound proves the number of trays; where neither
it nor the search within its limit settles the question, the answer says so. What is not
weighed never counts as nothing. Areas are sums, not layouts. Source: bin packing, ours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from assembly.rules.facts.checks import LARGEST_G, LARGEST_MM, FactsError, check_number
from assembly.rules.findings import metric
from assembly.rules.policy.values import Policy
from assembly.rules.splitting.bins import Bins, balanced, heaviest, lower_bound, quick_bins, search
from assembly.rules.splitting.evening import paired

HUNDREDTHS = 100
"""Weights are compared in hundredths of a gram, two decimals exactly; what is finer is rounded up,
a capacity down."""
EVENING_NODES = 12_000
"""Steps for making the heaviest lighter, all searches together: some tenths of a second."""
PAIR = 2
"""So many trays are evened out exactly, where none lacks room."""


class SplitOutcome(StrEnum):
    """How a split ends."""

    SPLIT = "split"
    TOO_BIG = "a unit is too big for any tray"
    UNKNOWN = "not weighed or measured"
    EMPTY = "nothing to split"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One piece, or pieces that stay together: g and mm², None where unknown.

    ``most_g`` bounds a weight that is not known; a split that leans on it is provisional.
    ``weightless`` allows a weight of 0, for an accessory that counts for nothing; an area of 0
    is one that does not count.
    """

    name: str
    weight_g: float | None = None
    area_mm2: float | None = None
    most_g: float | None = None
    weightless: bool = False

    def __post_init__(self) -> None:
        check_number("weight_g", self.weight_g, largest=LARGEST_G, zero_allowed=self.weightless)
        check_number("most_g", self.most_g, largest=LARGEST_G)
        check_number("area_mm2", self.area_mm2, largest=LARGEST_MM**2, zero_allowed=True)

    @property
    def upper_g(self) -> float | None:
        """The most it can weigh; None where nothing is known."""
        return self.most_g if self.weight_g is None else self.weight_g


def kept_together(name: str, units: Sequence[Unit]) -> Unit:
    """Units that stay together as one; a sum with an unknown in it is unknown.

    >>> kept_together("pair", [Unit(name="a", weight_g=40), Unit(name="b", weight_g=50)]).weight_g
    90
    """
    known = _sum([unit.weight_g for unit in units])
    return Unit(
        name=name,
        weight_g=known,
        area_mm2=_sum([unit.area_mm2 for unit in units]),
        most_g=None if known is not None else _sum([unit.upper_g for unit in units]),
        weightless=all(unit.weightless for unit in units),
    )


def _sum(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) if len(known) == len(values) and known else None


def tray_area_mm2(length_mm: float, width_mm: float, layers: int, policy: Policy) -> float:
    """The area of a tray that a split counts on: all layers, times the policy's share (mm²)."""
    check_number("length_mm", length_mm, largest=LARGEST_MM)
    check_number("width_mm", width_mm, largest=LARGEST_MM)
    if isinstance(layers, bool) or layers < 1:
        raise FactsError("layers", layers, "a tray has at least one layer")
    return length_mm * width_mm * layers * policy.number("tray_fill_share")


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray of a split: its units in their order, g and mm² (None where not asked)."""

    names: tuple[str, ...]
    weight_g: float
    area_mm2: float | None


@dataclass(frozen=True, slots=True)
class TraySplit:
    """The fewest trays, heaviest first.

    ``proved`` says that no fewer will do. ``least_heaviest_g`` is what no split into as
    many trays can go below. ``provisional`` names the units counted at the most they can
    weigh, ``named`` those that are too big or not known.
    """

    outcome: SplitOutcome
    trays: tuple[Tray, ...] = ()
    proved: bool = True
    provisional: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    least_heaviest_g: float = 0.0

    def sentence(self) -> str:
        """The split in a few sentences."""
        if self.outcome is SplitOutcome.EMPTY:
            return "There is nothing to split."
        names = ", ".join(self.named)
        if self.outcome is SplitOutcome.TOO_BIG:
            return f"Too big for any tray: {names}."
        if self.outcome is SplitOutcome.UNKNOWN:
            return f"Weigh or measure first: {names}."
        words = f"{len(self.trays)} trays" if len(self.trays) > 1 else "1 tray"
        words += f", the heaviest {metric(self.trays[0].weight_g, 'g')}."
        if not self.proved:
            words += " Fewer may be possible: the search stopped."
        if self.provisional:
            words += f" Provisional: not weighed are {', '.join(self.provisional)}."
        return words


def split(units: Sequence[Unit], capacity_g: float, capacity_mm2: float | None = None) -> TraySplit:
    """The fewest trays that hold all units, then the lightest heaviest tray.

    ``capacity_g`` is what is left of the limit after tare and accessories; exactly full is
    allowed. ``capacity_mm2`` None: areas are not asked. Equal input gives equal output.

    >>> pieces = [Unit(name=f"n{n}", weight_g=5000) for n in range(3)]
    >>> split(pieces, 8500).sentence()
    '3 trays, the heaviest 5.00 kg.'
    """
    check_number("capacity_g", capacity_g, largest=LARGEST_G)
    check_number("capacity_mm2", capacity_mm2, largest=LARGEST_MM**2)
    if not units:
        return TraySplit(SplitOutcome.EMPTY)
    unknown = [u.name for u in units if u.upper_g is None]
    unknown += [u.name for u in units if capacity_mm2 is not None and u.area_mm2 is None]
    if unknown:
        return TraySplit(SplitOutcome.UNKNOWN, named=tuple(dict.fromkeys(unknown)))
    weight, area = _capacity(capacity_g, capacity_mm2)
    sizes = [_whole(unit, capacity_mm2 is not None) for unit in units]
    if big := [unit.name for unit in units if not fits_alone(unit, capacity_g, capacity_mm2)]:
        return TraySplit(SplitOutcome.TOO_BIG, named=tuple(big))
    bins, proved = _fewest(sizes, weight, area)
    bins, least = _evened(sizes, bins, weight, area)
    return TraySplit(
        SplitOutcome.SPLIT,
        _trays(units, bins, capacity_mm2 is not None),
        proved,
        provisional=tuple(unit.name for unit in units if unit.weight_g is None),
        least_heaviest_g=least / HUNDREDTHS,
    )


def fewest_trays(units: Sequence[Unit], capacity_g: float, capacity_mm2: float | None) -> int:
    """How many trays the quick rules need for units that each fit: an answer, not the least."""
    sizes = [_whole(unit, capacity_mm2 is not None) for unit in units]
    return max(quick_bins(sizes, *_capacity(capacity_g, capacity_mm2))) + 1


def fits_alone(unit: Unit, capacity_g: float, capacity_mm2: float | None) -> bool:
    """Whether a tray can hold a unit by itself; the most that it can weigh counts (g, mm²)."""
    size = _whole(unit, capacity_mm2 is not None)
    return all(a <= b for a, b in zip(size, _capacity(capacity_g, capacity_mm2), strict=True))


def _capacity(capacity_g: float, capacity_mm2: float | None) -> tuple[int, int]:
    weight = math.floor(capacity_g * HUNDREDTHS + 1e-6)
    return weight, math.floor(capacity_mm2) if capacity_mm2 is not None else 1


def _whole(unit: Unit, with_area: bool) -> tuple[int, int]:
    area = math.ceil(unit.area_mm2 - 1e-6) if with_area and unit.area_mm2 is not None else 0
    return math.ceil((unit.upper_g or 0.0) * HUNDREDTHS - 1e-6), area


def least_trays(units: Sequence[Unit], capacity_g: float, capacity_mm2: float | None) -> int:
    """How many trays units need at the least, by the sums of what they weigh and take."""
    return _bound([_whole(unit, capacity_mm2 is not None) for unit in units],
                  *_capacity(capacity_g, capacity_mm2))  # fmt: skip


def _bound(sizes: Sequence[tuple[int, int]], weight: int, area: int) -> int:
    by_weight = lower_bound([w for w, _ in sizes], weight)
    return max(bool(sizes), by_weight, lower_bound([a for _, a in sizes], area))


def _fewest(sizes: Sequence[tuple[int, int]], weight: int, area: int) -> tuple[Bins, bool]:
    """Bins as few as found, and whether fewer are ruled out."""
    bound = _bound(sizes, weight, area)
    best = quick_bins(sizes, weight, area)
    proved = True
    for count in range(bound, max(best) + 1):
        even = balanced(sizes, count, area, enough=weight)
        if even is not None:
            even = paired(sizes, even, area, enough=weight)
            if heaviest(sizes, even) <= weight:
                return even, proved
        found = search(sizes, count, weight, area)
        if found.bins is not None:
            return found.bins, proved
        proved = proved and not found.stopped
    return best, proved


def _evened(
    sizes: Sequence[tuple[int, int]], bins: Bins, weight: int, area: int
) -> tuple[Bins, int]:
    """The same number of bins with the heaviest as light as found, and its proved bound."""
    weights = [w for w, _ in sizes]
    count, step = max(bins) + 1, math.gcd(*weights) or 1
    low = max(-(-sum(weights) // (count * step)) * step, *weights)
    binding = sum(a for _, a in sizes) > area
    even = balanced(sizes, count, area, enough=low if binding else weight)
    better = bins if even is None else paired(sizes, even, area, low)
    if heaviest(sizes, better) > heaviest(sizes, bins):
        better = paired(sizes, bins, area, low)
    bins = better
    bound, high, left = low, heaviest(sizes, bins), EVENING_NODES
    if count == PAIR and not binding:
        return bins, high
    while low < high and left > 0:
        middle = (low + high) // 2 // step * step
        found = search(sizes, count, middle, area, limit=left)
        left -= found.nodes
        if found.bins is not None:
            bins, high = found.bins, heaviest(sizes, found.bins)
            continue
        low = middle + step
        bound = bound if found.stopped else low
    return bins, bound


def _trays(units: Sequence[Unit], bins: Bins, with_area: bool) -> tuple[Tray, ...]:
    trays = []
    for bin_ in sorted(set(bins)):
        inside = [unit for unit, own in zip(units, bins, strict=True) if own == bin_]
        area = sum(unit.area_mm2 or 0.0 for unit in inside) if with_area else None
        weight = sum(unit.upper_g or 0.0 for unit in inside)
        trays.append(Tray(tuple(unit.name for unit in inside), weight, area))
    return tuple(sorted(trays, key=lambda tray: -tray.weight_g))

"""Which unit a column of bare numbers is in, and whether a size can be right.

A bare number without a unit in its heading is never read by habit. The column as a whole is
judged: by its cells that carry a unit, and by the sizes that stand in the names. Both kinds
of evidence compare middles (medians) on a log scale, because units differ by factors. What
is not clear stays unread. All limits here are common practice and ours, with no source.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from catalog.spreadsheets.cells.named_sizes import size_in_name
from catalog.spreadsheets.cells.number_formats import unit_in_format
from catalog.spreadsheets.cells.typed import plain_text
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import (
    LENGTH_UNITS,
    WEIGHT_UNITS,
    UnitError,
    decimal_mark,
    read_length,
    read_weight,
    show_length,
    show_weight,
)

LEAST_EVIDENCE = 3
"""Cells with a unit, or names with a size, below which there is no evidence."""
LEAST_IN_GROUP = 5
"""Sizes of a group below which it has no middle of its own."""
POSSIBLE = Decimal("0.95")
"""A unit is possible where this share of a column, read in it, can be a size of an instrument."""
NEAR = math.log(2)
"""The middles may differ by this factor at the most."""
CLEAR = math.log(1.5)
"""The next best unit must be worse by this factor; cm and in differ by 2.54."""

LENGTH_CANDIDATES = ("mm", "cm", "in")
WEIGHT_CANDIDATES = ("g", "kg", "oz", "lb")

BOUNDS: Mapping[str, tuple[Decimal, Decimal]] = {
    "length": (Decimal(5), Decimal(1500)),
    "width": (Decimal("0.3"), Decimal(800)),
    "height": (Decimal("0.2"), Decimal(600)),
    "weight": (Decimal("0.5"), Decimal(15000)),
    "tip_across": (Decimal("0.1"), Decimal(200)),
    "tip_cover": (Decimal("0.5"), Decimal(400)),
    "width_open": (Decimal("0.3"), Decimal(800)),
    "lumen": (Decimal("0.1"), Decimal(100)),
    "lumen_length": (Decimal(1), Decimal(4000)),
}
"""Least and most of one instrument, both allowed: mm, and g for the weight."""
TIMES_MIDDLE: Mapping[str, int] = {
    "length": 20, "width": 20, "height": 20, "weight": 60,
    "width_open": 20, "tip_across": 60, "tip_cover": 60, "lumen": 60, "lumen_length": 20,
}  # fmt: skip
"""More than this many times the middle of its column is a question; weights, tips and bores
spread wider."""
JUDGED_BY_GROUP = ("length", "weight", "lumen_length")
"""Widths and heights of one group differ too much: a blade on edge, a frame lying flat."""
WITHIN: Mapping[str, tuple[str, ...]] = {
    "lumen": ("width", "height"),
    "tip_across": ("length",),
    "tip_cover": ("length",),
}
"""Sizes of the same instrument that a size cannot exceed (geometry). A coiled hose is longer
than it lies, so the length of a lumen is not among them."""
WORDS: Mapping[str, str] = {
    "tip_across": "size across the tip",
    "tip_cover": "tip length to cover",
    "width_open": "width open",
    "lumen": "lumen bore",
    "lumen_length": "lumen length",
}
"""Columns whose name in sentences is not their key."""
NAME_OVER_LENGTH = Decimal("1.5")
"""A size in the name this many times the length is a question: length is the longest size."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """The unit of a column's bare numbers, None when not clear, and the evidence for it."""

    unit: str | None
    bare: int
    evidence: str


@dataclass(frozen=True, slots=True)
class Middles:
    """The median of a column, None without one, and those of its groups, by folded name."""

    column: Decimal | None
    groups: Mapping[str, Decimal]

    def why_odd_in_group(self, key: str, value: Decimal, group: str) -> str | None:
        """The sentence to ask when a size is far from the others of its group, else None.

        >>> mallets = Middles(None, {"mallets": Decimal(450)})
        >>> mallets.why_odd_in_group("weight", Decimal(2), "Mallets")
        'This was read as 2 g, but the middle of the group Mallets is 450 g. Is the unit right?'
        """
        middle = self.groups.get(group.casefold()) if key in JUDGED_BY_GROUP else None
        if middle is None:
            return None
        times = TIMES_MIDDLE[key]
        if middle / times <= value <= middle * times:
            return None
        show = show_weight if key == "weight" else show_length
        return (
            f"This was read as {show(value)}, but the middle of the group {group} is "
            f"{show(middle)}. Is the unit right?"
        )


def known_middles(groups: Sequence[str], sizes: Sequence[object]) -> dict[str, Decimal]:
    """The median of each group that has enough sizes; the sizes stand beside the groups."""
    found: dict[str, list[Decimal]] = {}
    for group, size in zip(groups, sizes, strict=True):
        if group and isinstance(size, Decimal):
            found.setdefault(group.casefold(), []).append(size)
    return {group: median(each) for group, each in found.items() if len(each) >= LEAST_IN_GROUP}


NAMES_ASKED = 5_000
"""Names of a file that are asked for the size in them, which tells the unit of bare lengths."""


class Evidence:
    """What the cells of one column of sizes say about its unit, gathered a cell at a time.

    Sizes are counted, not kept: a list of 50,000 rows has a few hundred different ones.
    """

    def __init__(self, key: str) -> None:
        self.key = key
        self.bare: Counter[Decimal] = Counter()
        self.with_unit: Counter[Decimal] = Counter()
        self.marks: set[str] = set()
        self._ratios: Counter[Decimal] = Counter()
        self._asked = 0
        self._groups: dict[str, Counter[tuple[str, Decimal]]] = defaultdict(Counter)
        self._seen: dict[tuple[type, object, str], tuple[str, Decimal | None]] = {}

    def add(self, cell: Cell, name: str | Cell, group: str = "") -> tuple[str, Decimal] | None:
        """One more cell, the name beside it, and the group of its row. Its size comes back, as a
        number where it is bare."""
        sort = (cell.value.__class__, cell.value, cell.number_format)
        kind, size = self._seen.get(sort) or self._seen.setdefault(sort, self._look(cell))
        if size is None:
            return None
        self._groups[group.casefold()][kind, size] += 1
        if kind == "with unit":
            self.with_unit[size] += 1
            return kind, size
        self.bare[size] += 1
        if self.key == "length" and self._asked < NAMES_ASKED:
            self._asked += 1
            named = size_in_name(name if isinstance(name, str) else plain_text(name))
            if named is not None:
                self._ratios[size / named] += 1
        return kind, size

    def middles(self, unit: str | None, known: Mapping[str, Decimal]) -> Middles:
        """The medians of the column and of its groups with bare numbers in ``unit``.

        ``known`` are the catalog's, by group; they hold where this column has too few.
        """
        every = Counter({("with unit", size): count for size, count in self.with_unit.items()})
        every += Counter({("bare", size): count for size, count in self.bare.items()})
        groups = {
            group: middle
            for group, sizes in self._groups.items()
            if group and sizes.total() >= LEAST_IN_GROUP
            if (middle := self._middle(sizes, unit)) is not None
        }
        return Middles(self._middle(every, unit), {**known, **groups})

    def _middle(self, sizes: Counter[tuple[str, Decimal]], unit: str | None) -> Decimal | None:
        factors = _kind(self.key)[1]
        factor = factors.get(unit) if unit else None
        read: list[Decimal] = []
        for (kind, size), count in sizes.items():
            if kind == "with unit":
                read += [size] * count
            elif factor is not None:
                read += [size * factor] * count
        return median(read) if read else None

    def _look(self, cell: Cell) -> tuple[str, Decimal | None]:
        read, _, candidates, _ = _kind(self.key)
        if isinstance(cell.value, str) and (mark := decimal_mark(cell.value)):
            self.marks.add(mark)
        size = _try(read, cell, None)
        if isinstance(size, Decimal):
            return "with unit", size
        # The base unit has the factor 1: this is the number itself.
        number = _try(read, cell, candidates[0]) if size == "no_unit" else None
        return "bare", number if isinstance(number, Decimal) else None

    def judgement(self) -> Judgement | None:
        """The unit of the bare numbers with its evidence; None when there are none."""
        _, factors, candidates, show = _kind(self.key)
        numbers, with_unit = sorted(self.bare.elements()), sorted(self.with_unit.elements())
        if not numbers:
            return None
        ratios = list(self._ratios.elements())  # each number over the size in the name beside it
        by_cells = _fitting(numbers, with_unit, factors, candidates)
        by_names = _fitting(ratios, [Decimal(1)] * len(ratios), factors, candidates)
        only = self._only_possible(numbers, factors, candidates)
        agreed = {unit for unit in (by_cells, by_names, only) if unit}
        unit = agreed.pop() if len(agreed) == 1 else None
        evidence = _evidence(numbers, with_unit, unit, by_names, factors, show)
        if unit and unit == only:
            evidence += f", and in any other unit no instrument has such a {self.key}"
        return Judgement(unit, len(numbers), evidence)

    def _only_possible(
        self, numbers: Sequence[Decimal], factors: Mapping[str, Decimal], candidates: Sequence[str]
    ) -> str | None:
        """The one unit in which the lengths of a column can be those of instruments at all.

        Widths and weights spread too far: 78 may be g or oz.
        """
        if self.key != "length" or len(numbers) < LEAST_EVIDENCE:
            return None
        least, most = BOUNDS[self.key]
        possible = [
            unit
            for unit in candidates
            if sum(least <= number * factors[unit] <= most for number in numbers)
            >= POSSIBLE * len(numbers)
        ]
        return possible[0] if len(possible) == 1 else None


def units_by_likelihood(key: str, numbers: Counter[Decimal]) -> list[str]:
    """The units that a column of bare numbers may be in, the likeliest first: those in which the
    middle of them is a size of one instrument, and nearest to the middle of all such sizes.

    >>> units_by_likelihood("length", Counter({Decimal(17): 2, Decimal(21): 1}))
    ['cm', 'in', 'mm']
    """
    _, factors, candidates, _ = _kind(key)
    least, most = BOUNDS[key]
    middle, likely = median(numbers.elements()), math.sqrt(least * most)

    def unlikely(unit: str) -> tuple[bool, float]:
        size = middle * factors[unit]
        return not least <= size <= most, abs(math.log(float(size) / likely))

    return sorted(candidates, key=unlikely)


def read_and_shown(key: str, cell: Cell, unit: str | None) -> str:
    """A cell as it would be read with ``unit`` for bare numbers; "" where it cannot be.

    >>> read_and_shown("length", Cell(1, "C", 17), "cm")
    '170 mm'
    """
    read, _, _, show = _kind(key)
    size = _try(read, cell, unit)
    return show(size) if isinstance(size, Decimal) else ""


_Read = Callable[[object, str | None], Decimal]
_Show = Callable[[Decimal | None], str]


def _kind(key: str) -> tuple[_Read, Mapping[str, Decimal], tuple[str, ...], _Show]:
    if key == "weight":
        return read_weight, WEIGHT_UNITS, WEIGHT_CANDIDATES, show_weight
    return read_length, LENGTH_UNITS, LENGTH_CANDIDATES, show_length


def _try(read: _Read, cell: Cell, unit: str | None) -> Decimal | str:
    try:
        return read(cell.value, unit_in_format(cell.number_format) or unit)
    except (UnitError, KeyError) as error:
        return getattr(error, "code", "unknown_unit")


def _fitting(
    numbers: Sequence[Decimal],
    sizes: Sequence[Decimal],
    factors: Mapping[str, Decimal],
    candidates: Sequence[str],
) -> str | None:
    """The unit that brings the middle of the numbers to that of enough known sizes."""
    if len(sizes) < LEAST_EVIDENCE:
        return None
    middle, target = median(numbers), median(sizes)
    return _clearly_best({unit: _apart(middle * factors[unit], target) for unit in candidates})


def _apart(one: Decimal, other: Decimal) -> float:
    return abs(math.log(one / other))


def _clearly_best(apart: Mapping[str, float]) -> str | None:
    best, second = sorted(apart, key=lambda unit: apart[unit])[:2]
    clear = apart[best] <= NEAR and apart[second] - apart[best] >= CLEAR
    return best if clear else None


def _evidence(
    numbers: Sequence[Decimal],
    with_unit: Sequence[Decimal],
    unit: str | None,
    by_names: str | None,
    factors: Mapping[str, Decimal],
    show: _Show,
) -> str:
    told = ["no cell of the column has a unit"]
    if with_unit:
        middle = show(median(with_unit))
        told = [f"the {len(with_unit)} cells with a unit are typically {middle}"]
    if unit:
        told.append(
            f"these numbers, read as {unit}, typically {show(median(numbers) * factors[unit])}"
        )
    if by_names:
        told.append(f"the sizes in the names fit {by_names}")
    return ", ".join(told[:-1]) + (" and " if told[1:] else "") + told[-1]


def why_implausible(key: str, value: Decimal, middle: Decimal | None, name: str) -> str | None:
    """The sentence to ask when a size can hardly be right, None when it can.

    ``middle`` is the median of the column, None when there is none; ``name`` is the
    instrument's, compared with the length only.

    >>> why_implausible("length", Decimal(17), None, "Mayo scissors 170 mm")
    'The name says 170 mm, but the length was read as 17 mm. Which is right?'
    >>> why_implausible("weight", Decimal("0.5"), None, "") is None
    True
    """
    show = show_weight if key == "weight" else show_length
    least, most = BOUNDS[key]
    if not least <= value <= most:
        return (
            f"This was read as {show(value)}. A {WORDS.get(key, key)} of one instrument lies "
            f"between {show(least)} and {show(most)}. Is the unit right?"
        )
    if middle is not None and value > middle * TIMES_MIDDLE[key]:
        return (
            f"This was read as {show(value)}, more than {TIMES_MIDDLE[key]} times the middle of "
            f"the column ({show(middle)}). Is the unit right?"
        )
    named = size_in_name(name) if key == "length" else None
    if named is not None and named > value * NAME_OVER_LENGTH:
        return (
            f"The name says {show(named)}, but the length was read as {show(value)}. "
            "Which is right?"
        )
    return None


def why_too_large(key: str, value: Decimal, sizes: Mapping[str, object]) -> str | None:
    """The sentence to ask when a part is larger than the whole, None when it is not.

    ``sizes`` are the others of the same instrument, by column; unknown ones say nothing.

    >>> why_too_large("lumen", Decimal(12), {"width": Decimal(8), "height": None})
    'The lumen bore was read as 12 mm, but the width is 8 mm. Which is right?'
    """
    for other in WITHIN.get(key, ()):
        whole = sizes.get(other)
        if isinstance(whole, Decimal) and value > whole:
            return (
                f"The {WORDS[key]} was read as {show_length(value)}, but the {other} is "
                f"{show_length(whole)}. Which is right?"
            )
    return None

"""Which unit a column of bare numbers is in, and whether a size can be right.

A bare number without a unit in its heading is never read by habit. The column as a whole is
judged: by its cells that carry a unit, and by the sizes that stand in the names. Both kinds
of evidence compare middles (medians) on a log scale, because units differ by factors. What
is not clear stays unread. All limits here are common practice and ours, with no source.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from catalog.spreadsheets.cells import unit_in_format
from catalog.spreadsheets.reading import Cell
from catalog.units import (
    LENGTH_UNITS,
    WEIGHT_UNITS,
    UnitError,
    read_length,
    read_weight,
    show_length,
    show_weight,
)

LEAST_EVIDENCE = 3
"""Cells with a unit, or names with a size, below which there is no evidence."""
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
}
"""Least and most of one instrument, both allowed: mm, and g for the weight."""
TIMES_MIDDLE: Mapping[str, int] = {"length": 20, "width": 20, "height": 20, "weight": 60}
"""More than this many times the middle of its column is a question; weights spread wider."""
NAME_OVER_LENGTH = Decimal("1.5")
"""A size in the name this many times the length is a question: length is the longest size."""

_SIZE_IN_NAME = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?(mm|cm)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The unit of a column's bare numbers, None when not clear, and the evidence for it."""

    unit: str | None
    bare: int
    evidence: str


def size_in_name(name: str) -> Decimal | None:
    """The largest size in mm or cm that stands in a name, as mm.

    >>> size_in_name("Laparoscopic grasper 5 mm, 330 mm"), size_in_name("Light cable 2.5 m")
    (Decimal('330.000'), None)
    """
    sizes = []
    for number, unit in _SIZE_IN_NAME.findall(name):
        try:
            sizes.append(read_length(f"{number} {unit}"))
        except UnitError:
            continue
    return max(sizes, default=None)


def judge_unit(key: str, cells: Sequence[Cell], names: Sequence[str]) -> Judgement | None:
    """The unit of the bare numbers in ``cells``; None when there are no bare numbers.

    ``names`` stand beside the cells; they are evidence for the column "length" only.
    """
    read, factors, candidates, show = _kind(key)
    bare: list[tuple[Decimal, str]] = []
    with_unit: list[Decimal] = []
    for cell, name in zip(cells, names, strict=True):
        size = _try(read, cell, None)
        if size == "no_unit":
            # The base unit has the factor 1: this is the number itself.
            number = _try(read, cell, candidates[0])
            if isinstance(number, Decimal):
                bare.append((number, name))
        elif isinstance(size, Decimal):
            with_unit.append(size)
    if not bare:
        return None
    numbers = [number for number, _ in bare]
    by_cells = _by_cells(numbers, with_unit, factors, candidates)
    by_names = _by_names(bare, factors, candidates) if key == "length" else None
    agreed = {unit for unit in (by_cells, by_names) if unit}
    unit = agreed.pop() if len(agreed) == 1 else None
    evidence = _evidence(numbers, with_unit, unit, by_names, factors, show)
    return Judgement(unit, len(bare), evidence)


_Read = Callable[[object, str | None], Decimal]
_Show = Callable[[Decimal | None], str]


def _kind(key: str) -> tuple[_Read, Mapping[str, Decimal], tuple[str, ...], _Show]:
    if key == "weight":
        return read_weight, WEIGHT_UNITS, WEIGHT_CANDIDATES, show_weight
    return read_length, LENGTH_UNITS, LENGTH_CANDIDATES, show_length


def _try(read: _Read, cell: Cell, unit: str | None) -> Decimal | str:
    if cell.formula is not None:
        return "formula"
    try:
        return read(cell.value, unit_in_format(cell.number_format) or unit)
    except (UnitError, KeyError) as error:
        return getattr(error, "code", "unknown_unit")


def _by_cells(
    numbers: Sequence[Decimal],
    with_unit: Sequence[Decimal],
    factors: Mapping[str, Decimal],
    candidates: Sequence[str],
) -> str | None:
    if len(with_unit) < LEAST_EVIDENCE:
        return None
    middle, target = median(numbers), median(with_unit)
    return _clearly_best({unit: _apart(middle * factors[unit], target) for unit in candidates})


def _by_names(
    bare: Sequence[tuple[Decimal, str]],
    factors: Mapping[str, Decimal],
    candidates: Sequence[str],
) -> str | None:
    ratios = [number / size for number, name in bare if (size := size_in_name(name))]
    if len(ratios) < LEAST_EVIDENCE:
        return None
    middle = median(ratios)
    return _clearly_best({unit: _apart(middle * factors[unit], Decimal(1)) for unit in candidates})


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
    told = []
    if with_unit:
        told.append(
            f"the {len(with_unit)} cells with a unit have their middle at {show(median(with_unit))}"
        )
    else:
        told.append("no cell of the column has a unit")
    if unit:
        told.append(f"these numbers, read as {unit}, at {show(median(numbers) * factors[unit])}")
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
            f"This was read as {show(value)}. A {key} of one instrument lies between "
            f"{show(least)} and {show(most)}. Is the unit right?"
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

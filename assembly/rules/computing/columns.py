"""The facts of a whole catalog as arrays, for :mod:`assembly.rules.computing.catalogue`."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from assembly.rules.facts.checks import derived
from assembly.rules.facts.declared import declared
from assembly.rules.facts.instruments import Instrument
from assembly.rules.kinds.lying import may_be_turned
from catalog.vocabulary import Kind

Floats = NDArray[np.float64]
Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True)
class Columns:
    """The facts of instruments as arrays: mm and g as float64, NaN where unknown.

    ``turns`` is true of what may lie on its side, ``opens`` of what lies open.
    ``cases`` numbers the distinct cases of what is no arithmetic, ``examples`` holds one
    instrument of each, from which those rules are asked.
    """

    length_mm: Floats
    width_mm: Floats
    height_mm: Floats
    weight_g: Floats
    round_section: NDArray[np.bool_]
    width_open_mm: Floats
    opens: NDArray[np.bool_]
    turns: NDArray[np.bool_]
    pieces: Floats
    cases: NDArray[np.intp]
    examples: tuple[Instrument, ...]

    def __len__(self) -> int:
        return len(self.length_mm)


def columns_from(instruments: Iterable[Instrument]) -> Columns:
    """The instruments as arrays, in their order."""
    return catalog_from(instruments).columns


SIZES = ("length_mm", "width_mm", "height_mm", "weight_g", "width_open_mm")
"""What is an array of its own; all else of an instrument is its kind."""
KIND = tuple(one.name for one in declared(Instrument) if one.name not in (*SIZES, "name"))


@dataclass(frozen=True, slots=True)
class Catalog:
    """Instruments as arrays, of which each can still be had as facts (without its name).

    ``kinds`` numbers what is no size, ``examples`` holds one instrument of each kind.
    """

    columns: Columns
    kinds: NDArray[np.intp]
    examples: tuple[Instrument, ...]

    def __len__(self) -> int:
        return len(self.kinds)

    def facts(self, row: int) -> Instrument:
        """The facts of one row (mm, g)."""
        sizes = {name: float(getattr(self.columns, name)[row]) for name in SIZES}
        known = {name: None if math.isnan(size) else size for name, size in sizes.items()}
        return derived(self.examples[self.kinds[row]], **known)


def catalog_from(instruments: Iterable[Instrument]) -> Catalog:
    """The instruments as arrays, in their order, with all that their sizes leave out."""
    rows = list(instruments)
    kinds, examples = grouped(rows, kind_of)
    sizes = {name: floats(getattr(row, name) for row in rows) for name in SIZES}
    return catalog_of(sizes, kinds, examples)


def kind_of(row: Instrument) -> Hashable:
    """All of an instrument but its sizes and its name, and whether its width open is known."""
    return (*(getattr(row, name) for name in KIND), row.width_open_mm is None)


def catalog_of(
    sizes: Mapping[str, Floats], kinds: NDArray[np.intp], examples: Sequence[Instrument]
) -> Catalog:
    """The arrays of instruments (mm, g, NaN unknown) whose kinds are numbered already."""
    cases, of_cases = grouped(examples, lambda row: (row.cycles, row.contents, handling_case(row)))

    def each(values: Iterable[object], make: type) -> NDArray[Any]:
        return np.array(list(values), dtype=make)[kinds]

    columns = Columns(
        **sizes,
        round_section=each((row.round_section for row in examples), bool),
        opens=each((row.opens for row in examples), bool),
        turns=each((may_be_turned(row) for row in examples), bool),
        pieces=each((row.pieces for row in examples), float),
        cases=cases[kinds],
        examples=tuple(of_cases),
    )
    return Catalog(columns, kinds, tuple(examples))


def handling_case(row: Instrument) -> Hashable:
    """What the rules about the instrument itself look at."""
    protector = row.protector if row.protector is None else bool(row.protector)
    return (row.sharp, protector, Kind.POUCH in row.forbids, bool(row.forbids))


def grouped(
    things: Sequence[Thing], key: Callable[[Thing], Hashable]
) -> tuple[NDArray[np.intp], list[Thing]]:
    """The number of each thing's group, and the first thing of each group."""
    numbers: dict[Hashable, int] = {}
    examples: list[Thing] = []
    found = np.empty(len(things), dtype=np.intp)
    for n, thing in enumerate(things):
        found[n] = numbers.setdefault(key(thing), len(numbers))
        if len(numbers) > len(examples):
            examples.append(thing)
    return found, examples


def floats(values: Iterable[float | None]) -> Floats:
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)

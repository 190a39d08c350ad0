"""The facts of a whole catalog as arrays, for :mod:`assembly.rules.computing.catalogue`."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

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
    rows = list(instruments)
    cases, examples = grouped(rows, lambda row: (row.cycles, handling_case(row)))
    return Columns(
        length_mm=floats(row.length_mm for row in rows),
        width_mm=floats(row.width_mm for row in rows),
        height_mm=floats(row.height_mm for row in rows),
        weight_g=floats(row.weight_g for row in rows),
        round_section=np.array([row.round_section for row in rows], dtype=bool),
        width_open_mm=floats(row.width_open_mm for row in rows),
        opens=np.array([row.opens for row in rows], dtype=bool),
        turns=np.array([may_be_turned(row) for row in rows], dtype=bool),
        pieces=floats(row.pieces for row in rows),
        cases=cases,
        examples=tuple(examples),
    )


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

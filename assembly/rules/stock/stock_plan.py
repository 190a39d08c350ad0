"""A plan of sizes told: what each is used for, what goes without it, material and money."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assembly.rules.stock.stock_sizes import Sizes, Wanted
from assembly.rules.stock.stocking import (
    CLOSE,
    WORK,
    Chosen,
    Floats,
    Found,
    Table,
    curve,
)

LARGEST = 3
"""So many of what a size is used for are named."""


@dataclass(frozen=True, slots=True)
class Use:
    """What one size is used for: packages, how much of it (pouches, or mm of a roll), material
    (mm2, laid flat), and the rows that it serves most often. ``money`` is None without its price.

    Without it the other sizes take ``more_mm2`` more, cost ``more_money`` more (None: a price is
    not on record, or some are lost), and leave ``lost`` packages without any.
    """

    code: str
    packages: int
    amount: float
    material_mm2: float
    money: float | None
    most: tuple[Wanted, ...]
    more_mm2: float
    more_money: float | None
    lost: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Some sizes and what they take, each package in the best of them.

    ``lost`` packages none of them serves. ``proved``: no ``k`` sizes that cover all take less, or
    where there are none, that none do; ``bound_mm2`` is what any ``k`` take at least.
    """

    k: int
    uses: tuple[Use, ...]
    lost: int
    proved: bool = False
    bound_mm2: float = 0.0

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(one.code for one in self.uses)

    @property
    def material_mm2(self) -> float | None:
        """What all packages take; None where some are lost."""
        return None if self.lost else sum(one.material_mm2 for one in self.uses)

    @property
    def money(self) -> float | None:
        """What all of it costs; None where a price is not on record, or some are lost."""
        costs = [one.money for one in self.uses if one.packages]
        return None if self.lost or None in costs else sum(cost or 0.0 for cost in costs)


def plans(sizes: Sizes, most: int, work: float = WORK) -> list[Plan]:
    """The least material for 1, 2, ... ``most`` sizes, as far as one more saves any; a size that
    nothing is packed in is left out. ValueError for fewer than one."""
    least = sizes.table.least(tuple(range(len(sizes.codes))))
    found: list[Plan] = []
    for one in curve(sizes.table, most, work):
        plan = told(sizes, one.chosen, one)
        found.append(replace(plan, uses=tuple(use for use in plan.uses if use.packages)))
        if one.cost <= least * (1 + CLOSE):
            break
    return found


def told(sizes: Sizes, chosen: Chosen, found: Found | None = None) -> Plan:
    """These sizes, whether or not they cover all."""
    every = (*sizes.wanted, *sizes.doubles)
    counts = np.array([one.count for one in every], dtype=np.intp)
    table = sizes.table
    least, own = _least(table, chosen), _own(sizes, table, chosen)
    covered, money = np.isfinite(least), _money(sizes, own)
    uses = []
    for size in chosen:
        rows = np.flatnonzero(own[:, size])
        amount, price = float(own[:, size].sum()), float(sizes.price[size])
        rest = tuple(one for one in chosen if one != size)
        other = _least(table, rest)
        kept = np.isfinite(other)
        without = _money(sizes, _own(sizes, table, rest))
        gone = int(counts[covered & ~kept].sum())
        uses.append(Use(
            sizes.codes[size], int(counts[rows].sum()), amount,
            amount * float(sizes.flat_mm2[size]), None if np.isnan(price) else amount * price,
            tuple(every[n] for n in rows[np.argsort(-counts[rows], kind="stable")][:LARGEST]),
            float((other[kept] - least[kept]).sum()),
            None if gone or money is None or without is None else without - money, gone,
        ))  # fmt: skip
    lost = int(counts[~covered].sum())
    if found is None:
        return Plan(len(chosen), tuple(uses), lost)
    return Plan(found.k, tuple(uses), lost, found.proved, found.bound)


def _least(table: Table, chosen: Chosen) -> Floats:
    """The least that each row takes, doubles last; infinite where none of the sizes serves."""
    alone = table.alone[:, list(chosen)].min(axis=1, initial=np.inf)
    held = table.held(chosen)
    return np.r_[alone, table.paired[:, held].min(axis=1, initial=np.inf)]


def _own(sizes: Sizes, table: Table, chosen: Chosen) -> Floats:
    """How much each row, doubles last, uses of each size."""
    own = np.zeros((len(sizes.wanted) + len(sizes.doubles), len(sizes.codes)))
    rows, columns = _best(table.alone, np.array(chosen, np.intp))
    own[rows, columns] = sizes.used[rows, columns]
    rows, columns = _best(table.paired, table.held(chosen))
    for side in np.array(table.pairs, np.intp).reshape(-1, 2)[columns].T:
        own[len(sizes.wanted) + rows, side] = sizes.used_double[rows, columns]
    return own


def _money(sizes: Sizes, own: Floats) -> float | None:
    """What so much of each size costs; None where a price is not on record."""
    used = own.sum(axis=0)
    costs = used[used > 0] * sizes.price[used > 0]
    return None if np.isnan(costs).any() else float(costs.sum())


def _best(costs: Floats, columns: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The rows that one of these columns serves, and which of them takes least."""
    if not len(columns) or not len(costs):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    best = columns[costs[:, columns].argmin(axis=1)]
    rows = np.flatnonzero(np.isfinite(costs[np.arange(len(costs)), best]))
    return rows, best[rows]

"""Which sizes to stock: at most ``k`` of them that cover everything with the least material.

A choice of facilities (k-median) in which a size that does not serve costs infinitely much. Rows
whose sizes serve in the same proportions are one pattern. Where the sizes can be put in an order
in which each next one serves all that the one before does (widths of a roll), the least is found
by dynamic programming over that order. Else by branch and bound: "each row is served once" is
relaxed with multipliers ``u``, so that ``sum(u)`` and the ``k`` least of ``rho_j = sum_i min(0,
cost_ij - u_i)`` are never more than the least there is. Source: the textbook method (Lagrangian
relaxation of the k-median). A double pouch takes two sizes; its bound takes the best outer one
for granted, its cost does not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Chosen = tuple[int, ...]

WORK, A_STEP = 1e10, 5_000
"""Rows by sizes that are gone over for a whole curve, a minute or two of a processor; each step
counts so many more. Beyond them the least found is not proved."""
AT_ROOT, AT_NODE = 800, 150
"""Steps in which the bound is raised, at first and at each branch."""
CLOSE = 1e-6
"""A bound so near to what was found, as a share of it, proves it."""
IDLE, STEP, LEAST_STEP = 15, 1.5, 1e-3
"""The step of the multipliers, halved after so many that raised nothing, and when it ends."""
PLACES = 9


def no_rows() -> Floats:
    return np.empty((0, 0))


@dataclass(frozen=True, slots=True)
class Table:
    """What each row takes of each size: rows by sizes, its demand counted in, infinite where the
    size does not serve. ``paired`` has the rows that need a double pouch, by ``pairs``: the sizes
    of the inner and of the outer one, by number."""

    alone: Floats
    pairs: tuple[tuple[int, int], ...] = ()
    paired: Floats = field(default_factory=no_rows)

    @property
    def sizes(self) -> int:
        return int(self.alone.shape[1])

    def held(self, chosen: Chosen) -> NDArray[np.intp]:
        """The numbers of the pairs of which both sizes are chosen."""
        return np.array([n for n, pair in enumerate(self.pairs) if {*pair} <= {*chosen}], np.intp)

    def least(self, chosen: Chosen) -> float:
        """What all rows take with these sizes, each of its best; infinite: one is not covered."""
        alone = self.alone[:, list(chosen)].min(axis=1, initial=np.inf).sum()
        return float(alone) + self._doubles(chosen)

    def _doubles(self, chosen: Chosen) -> float:
        if not len(self.paired):
            return 0.0
        return float(self.paired[:, self.held(chosen)].min(axis=1, initial=np.inf).sum())

    def without(self, chosen: Chosen) -> list[float]:
        """What all rows take without each of the chosen sizes, the others as they are."""
        ranked = np.c_[self.alone[:, list(chosen)], np.full(len(self.alone), np.inf)]
        whose = ranked.argmin(axis=1)
        ranked.partition(1, axis=1)
        if not np.isfinite(least := ranked[:, 0]).all():
            return [np.inf] * len(chosen)
        losses = np.bincount(whose, ranked[:, 1] - least, len(chosen)) + least.sum()
        rest = (tuple(one for one in chosen if one != gone) for gone in chosen)
        return [float(loss) + self._doubles(some) for loss, some in zip(losses, rest, strict=True)]

    def patterns(self) -> Table:
        """The same with rows that are served in the same proportions added up."""
        return replace(self, alone=_added(self.alone), paired=_added(self.paired))


@dataclass(frozen=True, slots=True)
class Found:
    """The sizes found for one ``k``: none where no ``k`` sizes cover all.

    ``cost`` is what they take, ``bound`` what any ``k`` sizes take at least. ``proved``: no ``k``
    sizes take less, or cover all.
    """

    k: int
    chosen: Chosen
    cost: float
    bound: float
    proved: bool


def curve(table: Table, most: int, work: float = WORK) -> list[Found]:
    """The least for 1, 2, ... ``most`` sizes. ValueError for fewer than one.

    Each row has a size that serves it. No row: nothing to cover, and no size for it.

    >>> pouches = Table(np.array([[2.0, 6.0], [np.inf, 6.0]]))
    >>> [(found.chosen, found.cost) for found in curve(pouches, 2)]
    [((1,), 12.0), ((0, 1), 8.0)]
    """
    if most < 1:
        raise ValueError(f"{most} sizes: at least 1 is asked")
    table = table.patterns()
    if not len(table.alone) and not len(table.paired):
        return []
    order = _nested(table)
    if order is not None:
        return _along(table, order, min(most, table.sizes))
    starts = _one_by_one(table)
    most, found = min(most, table.sizes), list[Found]()
    for k in range(1, most + 1):
        search = _Search(table, k, starts[k], share := work / (most + 1 - k))
        found.append(search.found())
        work -= share - max(search.work, 0.0)
    return found


def _added(costs: Floats) -> Floats:
    """Rows of the same shape, whatever their size, added up."""
    if not costs.size:
        return costs
    finite = np.where(np.isinf(costs), np.nan, costs)
    shapes = np.nan_to_num(np.round(costs / np.nanmin(finite, axis=1)[:, None], PLACES), posinf=-1)
    _, first, whose = np.unique(shapes, axis=0, return_index=True, return_inverse=True)
    added = np.zeros((len(first), costs.shape[1]))
    np.add.at(added, whose.reshape(-1), costs)
    return added


# --- sizes in one order: dynamic programming ------------------------------------------------


def _nested(table: Table) -> NDArray[np.intp] | None:
    """The order in which each size serves all that the one before it does, and no row takes less
    of a later one; None where there is none."""
    if len(table.paired):
        return None
    serves = np.isfinite(table.alone)
    order = np.lexsort((np.where(serves, table.alone, 0.0).sum(axis=0), serves.sum(axis=0)))
    with np.errstate(invalid="ignore"):
        rises = np.diff(np.where(serves, table.alone, -1.0)[:, order], axis=1) >= 0
    return order if rises.all() else None


def _along(table: Table, order: NDArray[np.intp], most: int) -> list[Found]:
    """f[k][i] = min over p < i of f[k-1][p] + what the rows take of size i that no size up to p
    serves: the least for each number of sizes, proved."""
    costs = table.alone[:, order]
    first = np.isfinite(costs).argmax(axis=1)
    sizes, last = len(order), int(first.max())
    span = np.full((sizes + 1, sizes), np.inf)  # from after size p-1 up to size i, served by i
    for i in range(sizes):
        for p in range(i + 1):
            span[p, i] = costs[(first >= p) & (first <= i), i].sum()
    best, found, ways = np.r_[0.0, np.full(sizes, np.inf)], [], list[NDArray[np.intp]]()
    for k in range(1, most + 1):
        sums = best[:, None] + span
        ways.append(sums.argmin(axis=0))
        best = np.r_[np.inf, sums.min(axis=0)]
        end = last + 1 + int(best[last + 1 :].argmin())
        chosen = _back(ways, end) if np.isfinite(best[end]) else ()
        found.append(Found(k, tuple(sorted(int(order[n]) for n in chosen)), float(best[end]),
                           float(best[end]), proved=True))  # fmt: skip
    return [one if n == 0 or one.cost < found[n - 1].cost else replace(found[n - 1], k=one.k)
            for n, one in enumerate(found)]  # fmt: skip


def _back(ways: Sequence[NDArray[np.intp]], end: int) -> Iterator[int]:
    for way in reversed(ways):
        yield end - 1
        end = int(way[end - 1])


# --- any sizes: branch and bound ------------------------------------------------------------


def _one_by_one(table: Table) -> list[Chosen]:
    """Of all sizes the one that is missed least is left out, again and again: sets by their
    number of sizes."""
    found = [tuple(range(table.sizes))]
    while found[-1]:
        losses = table.without(found[-1])
        gone = found[-1][int(np.argmin(losses))]
        found.append(tuple(one for one in found[-1] if one != gone))
    return found[::-1]


@dataclass(frozen=True, slots=True)
class _Branch:
    """Sizes that are in, sizes that are open, and the multipliers to begin with."""

    inside: frozenset[int]
    open: frozenset[int]
    u: Floats


class _Search:
    """The least for one ``k``, and what proves it."""

    def __init__(self, table: Table, k: int, start: Chosen, work: float) -> None:
        self.table, self.k, self.work = table, k, work
        self.relaxed = np.vstack((table.alone, _inner(table)))
        finite = np.where(np.isinf(self.relaxed), 0.0, self.relaxed)
        self.best, self.cost, self.tried = start, table.least(start), {start}
        self.most = float(finite.max(axis=1).sum()) * (1 + 10 * CLOSE)
        """More than any sizes take that cover all: a bound beyond it says that none do."""
        self._swapped()

    @property
    def ceiling(self) -> float:
        return min(self.cost, self.most)

    def found(self) -> Found:
        """Branches are looked at until none is left, or the work is over."""
        every = frozenset(range(self.table.sizes))
        root, waiting = self._look(_Branch(frozenset(), every, self._first()), AT_ROOT)
        while waiting and self.work > 0:
            waiting += self._look(waiting.pop(), AT_NODE)[1]
        proved = not waiting
        covered = np.isfinite(self.cost)
        bound = self.cost if proved else min(root, self.cost)
        return Found(self.k, self.best if covered else (), self.cost, bound, proved)

    def _first(self) -> Floats:
        """A row's sixth least cost, or its greatest: where multipliers begin."""
        ranked = np.sort(self.relaxed, axis=1)
        last = np.isfinite(ranked).sum(axis=1) - 1
        return ranked[np.arange(len(ranked)), np.minimum(last, 5)]

    def _look(self, branch: _Branch, steps: int) -> tuple[float, list[_Branch]]:
        """The bound of one branch, and the two that it is parted into unless that proves it."""
        room = self.k - len(branch.inside)
        if room <= 0 or len(branch.open) <= room:
            self._try(tuple(sorted(branch.inside | (branch.open if room > 0 else set()))))
            return self.cost, []
        bound, u, rho = self._raised(branch, steps)
        if bound >= self.ceiling * (1 - CLOSE):
            return bound, []
        inside, left = self._fixed(branch, bound, rho)
        if not left or len(inside) >= self.k:
            return bound, [_Branch(inside, left, u)]
        next_ = min(left, key=lambda j: rho[j])
        rest = left - {next_}
        return bound, [_Branch(inside, rest, u), _Branch(inside | {next_}, rest, u)]

    def _raised(self, branch: _Branch, steps: int) -> tuple[float, Floats, Floats]:
        """The highest bound found in so many steps, with its multipliers and ``rho``."""
        names = np.array([*branch.inside, *branch.open], np.intp)
        costs, known = self.relaxed[:, names], len(branch.inside)
        u, step, idle, last = branch.u, STEP, 0, self.k - known - 1
        best = (-np.inf, u, np.zeros(len(names)))
        for _ in range(steps):
            self.work -= costs.size + A_STEP
            gains = np.minimum(costs - u[:, None], 0.0)
            rho = gains.sum(axis=0)
            taken = np.r_[:known, known + np.argpartition(rho[known:], last)[: last + 1]]
            bound = float(u.sum() + rho[taken].sum())
            idle = 0 if bound > best[0] else idle + 1
            best = (bound, u, rho) if bound > best[0] else best
            self._try(tuple(sorted(names[taken].tolist())))
            slope = 1.0 - (gains[:, taken] < 0).sum(axis=1)
            steep = float(slope @ slope)
            if best[0] >= self.ceiling * (1 - CLOSE) or not steep or step < LEAST_STEP:
                break
            if idle == IDLE:
                step, idle = step / 2, 0
            u = u + step * max(self.ceiling - bound, 0.0) / steep * slope
        bound, u, some = best
        rho = np.zeros(self.table.sizes)
        rho[names] = some
        return bound, u, rho

    def _fixed(
        self, branch: _Branch, bound: float, rho: Floats
    ) -> tuple[frozenset[int], frozenset[int]]:
        """The sizes that are in, and open, once the bound has said which can be neither."""
        room = self.k - len(branch.inside)
        ranked = sorted(branch.open, key=lambda j: rho[j])
        last_in, first_out, most = rho[ranked[room - 1]], rho[ranked[room]], self.ceiling
        out = {j for j in ranked[room:] if bound + rho[j] - last_in > most}
        into = {j for j in ranked[:room] if bound - rho[j] + first_out > most}
        return branch.inside | into, branch.open - into - out

    def _try(self, chosen: Chosen) -> None:
        if chosen in self.tried:
            return
        self.tried.add(chosen)
        if (cost := self.table.least(chosen)) < self.cost:
            self.best, self.cost = chosen, cost

    def _swapped(self) -> None:
        """Change one size for another as long as that takes less."""
        before = np.inf
        while self.cost < before:
            before = self.cost
            for gone in self.best:
                self.work -= self.k * self.table.sizes * len(self.relaxed)
                rest = tuple(one for one in self.best if one != gone)
                for other in set(range(self.table.sizes)) - set(self.best):
                    self._try(tuple(sorted((*rest, other))))


def _inner(table: Table) -> Floats:
    """What a double takes at least by its inner size, whatever the outer one is."""
    least = np.full((len(table.paired), table.sizes), np.inf)
    for n, (inner, _) in enumerate(table.pairs):
        least[:, inner] = np.minimum(least[:, inner], table.paired[:, n])
    return least

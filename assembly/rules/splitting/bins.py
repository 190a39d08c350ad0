"""Packing units into the fewest bins of two capacities, and evening out the heaviest.

Integers throughout. A unit is a pair (weight, area); an answer is a tuple that holds each
unit's bin. Lower bounds prove an answer, a depth-first search with a limit finds what the
quick rules miss. The bound is Martello and Toth's L2; the rest is textbook bin packing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

NODE_LIMIT = 200_000
"""Steps after which a search stops without an answer."""

LAST_UNITS = 12
"""Of so many units, the last to be placed, every sum of weights is known."""

Unit = tuple[int, int]
Bins = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """An answer of a search: ``bins`` None and ``stopped`` False proves that there is none."""

    bins: Bins | None
    stopped: bool = False
    nodes: int = field(default=0, compare=False, repr=False)


def _up(part: int, whole: int) -> int:
    return -(-part // whole)


def lower_bound(sizes: Sequence[int], capacity: int) -> int:
    """Bins that the sizes need at the least (L2 of Martello and Toth); 0 for no size at all.

    >>> lower_bound([2834] * 6, 8500), lower_bound([60] * 4, 100)
    (3, 4)
    """
    if not any(sizes):
        return 0
    best = _up(sum(sizes), capacity)
    for small in {0, *(size for size in sizes if 2 * size <= capacity)}:
        huge = sum(1 for size in sizes if size > capacity - small)
        big = [size for size in sizes if capacity - small >= size and 2 * size > capacity]
        rest = sum(size for size in sizes if small <= size and 2 * size <= capacity)
        over = rest - (len(big) * capacity - sum(big))
        best = max(best, huge + len(big) + max(0, _up(over, capacity)))
    return best


def quick_bins(units: Sequence[Unit], weight: int, area: int) -> Bins:
    """The best of first fit and best fit, largest first, by four readings of "largest"."""
    keys = (
        lambda unit: (unit[0], unit[1]),
        lambda unit: (unit[1], unit[0]),
        lambda unit: max(unit[0] * area, unit[1] * weight),
        lambda unit: unit[0] * area + unit[1] * weight,
    )
    answers = [
        _fit(units, sorted(range(len(units)), key=lambda n: key(units[n]), reverse=True),
             weight, area, best_fit)
        for key in keys
        for best_fit in (False, True)
    ]  # fmt: skip
    return min(answers, key=lambda bins: max(bins, default=-1))


def _fit(
    units: Sequence[Unit], order: Sequence[int], weight: int, area: int, best_fit: bool
) -> Bins:
    free: list[list[int]] = []
    bins = [0] * len(units)
    for n in order:
        w, a = units[n]
        open_ = [b for b, (fw, fa) in enumerate(free) if w <= fw and a <= fa]
        if not open_:
            free.append([weight, area])
            chosen = len(free) - 1
        elif best_fit:
            chosen = min(open_, key=lambda b: (free[b][0] * area + free[b][1] * weight, b))
        else:
            chosen = open_[0]
        bins[n] = chosen
        free[chosen][0] -= w
        free[chosen][1] -= a
    return tuple(bins)


def search(
    units: Sequence[Unit], count: int, weight: int, area: int, limit: int = NODE_LIMIT
) -> Found:
    """Depth-first: all units into ``count`` bins of the given capacities, or proof that not.

    Units in decreasing size, fullest bin first; of bins equally full one is tried, equal
    units keep their bins in order, what is too small for any unit left is written off, and so is
    of each bin what no sum of the last units fills.

    >>> search([(4500, 1), (3000, 1), (3000, 1), (2500, 1), (2000, 1), (2000, 1)], 2, 8500, 9)
    Found(bins=(0, 1, 1, 1, 0, 0), stopped=False)
    """
    if any(w > weight or a > area for w, a in units):
        return Found(None)
    return _Search(units, count, weight, area).run(limit)


class _Search:
    def __init__(self, units: Sequence[Unit], count: int, weight: int, area: int) -> None:
        def size(n: int) -> tuple[int, Unit]:
            w, a = units[n]
            return (max(w * area, a * weight), units[n])

        self.order = sorted(range(len(units)), key=size, reverse=True)
        self.units = [units[n] for n in self.order]
        self.free = [[weight, area] for _ in range(count)]
        self.weight, self.area = weight, area
        self.left = self._left()
        self.sums = self._sums()

    def _left(self) -> list[tuple[int, int, int, int]]:
        """From each unit on: sum and least of the weights, sum and least of the areas."""
        sums = [(0, 0, 0, 0)]
        for place, (w, a) in enumerate(reversed(self.units)):
            all_w, least_w, all_a, least_a = sums[-1]
            if place == 0:
                least_w, least_a = w, a
            sums.append((all_w + w, min(least_w, w), all_a + a, min(least_a, a)))
        return sums[::-1]

    def _sums(self) -> list[list[int]]:
        """From each of the last units on: every weight that some of them make, rising."""
        sums: list[list[int]] = [[0]]
        for w, _ in self.units[: -LAST_UNITS - 1 : -1]:
            sums.append(sorted({one + more for one in sums[-1] for more in (0, w)}))
        return sums

    def _fills(self, place: int, usable: Sequence[Sequence[int]]) -> int:
        """The most that the units from a place on can weigh in what is free in the bins."""
        if len(self.units) - place >= len(self.sums):
            return sum(free[0] for free in usable)
        sums = self.sums[len(self.units) - place]
        return sum(sums[bisect_right(sums, free[0]) - 1] for free in usable)

    def run(self, limit: int) -> Found:
        """Without recursion, so that no set is too long."""
        chosen: list[int] = []
        stack: list[Iterator[int]] = []
        nodes = 0
        while len(chosen) < len(self.units):
            if len(stack) == len(chosen):
                nodes += 1
                if nodes > limit:
                    return Found(None, True, nodes)
                stack.append(self._tries(chosen))
            bin_ = next(stack[-1], None)
            if bin_ is not None:
                self._put(len(chosen), bin_, -1)
                chosen.append(bin_)
                continue
            stack.pop()
            if not chosen:
                return Found(None, nodes=nodes)
            self._put(len(chosen) - 1, chosen.pop(), 1)
        bins = [0] * len(self.units)
        for n, bin_ in zip(self.order, chosen, strict=True):
            bins[n] = bin_
        return Found(tuple(bins), nodes=nodes)

    def _put(self, place: int, bin_: int, sign: int) -> None:
        w, a = self.units[place]
        self.free[bin_][0] += sign * w
        self.free[bin_][1] += sign * a

    def _tries(self, chosen: Sequence[int]) -> Iterator[int]:
        place = len(chosen)
        all_w, least_w, all_a, least_a = self.left[place]
        usable = [free for free in self.free if free[0] >= least_w and free[1] >= least_a]
        if self._fills(place, usable) < all_w or sum(f[1] for f in usable) < all_a:
            return iter(())
        w, a = self.units[place]
        same = place > 0 and self.units[place] == self.units[place - 1]
        start = chosen[-1] if same else 0
        first_of: dict[tuple[int, int], int] = {}
        for bin_ in range(start, len(self.free)):
            free_w, free_a = self.free[bin_]
            if w <= free_w and a <= free_a:
                first_of.setdefault((free_w, free_a), bin_)
        ranked = sorted(
            first_of.items(), key=lambda f: (f[0][0] * self.area + f[0][1] * self.weight, f[1])
        )
        return iter([bin_ for _, bin_ in ranked])


def balanced(units: Sequence[Unit], count: int, area: int, enough: int = 0) -> Bins | None:
    """Heaviest first into the lightest bin, then moved and swapped out of the heaviest one.

    The weight has no limit here, the area has; None where this rule finds no place by area.
    Stops as soon as the heaviest weighs no more than ``enough``.
    """
    loads = [[0, 0] for _ in range(count)]
    bins = [0] * len(units)
    for n in sorted(range(len(units)), key=lambda n: units[n], reverse=True):
        w, a = units[n]
        open_ = [b for b in range(count) if loads[b][1] + a <= area]
        if not open_:
            return None
        chosen = min(open_, key=lambda b: (loads[b], b))
        bins[n] = chosen
        loads[chosen][0] += w
        loads[chosen][1] += a
    while max(loads)[0] > enough and _improve(units, bins, loads, area):
        pass
    return tuple(bins)


def _improve(units: Sequence[Unit], bins: list[int], loads: list[list[int]], area: int) -> bool:
    """The best move or swap out of the heaviest bin; False when none makes the pair lighter."""
    heavy = max(range(len(loads)), key=lambda b: (loads[b][0], -b))
    top = loads[heavy][0]
    best: tuple[int, int, int, int] | None = None
    outs = _first_of_each(units, [n for n in range(len(units)) if bins[n] == heavy])
    for other in range(len(loads)):
        if other == heavy:
            continue
        inside = _first_of_each(units, [n for n in range(len(units)) if bins[n] == other])
        for n in outs:
            for m in (-1, *inside):
                w, a = units[n]
                back_w, back_a = units[m] if m >= 0 else (0, 0)
                if back_w >= w or loads[other][1] + a - back_a > area:
                    continue
                if loads[heavy][1] - a + back_a > area:
                    continue
                worst = max(top - w + back_w, loads[other][0] + w - back_w)
                if worst < top and (best is None or (worst, n, other, m) < best):
                    best = (worst, n, other, m)
    if best is None:
        return False
    _, n, other, m = best
    _move(units, bins, loads, n, other)
    if m >= 0:
        _move(units, bins, loads, m, heavy)
    return True


def _first_of_each(units: Sequence[Unit], places: Sequence[int]) -> list[int]:
    first: dict[Unit, int] = {}
    for n in places:
        first.setdefault(units[n], n)
    return list(first.values())


def _move(units: Sequence[Unit], bins: list[int], loads: list[list[int]], n: int, to: int) -> None:
    for part in (0, 1):
        loads[bins[n]][part] -= units[n][part]
        loads[to][part] += units[n][part]
    bins[n] = to


def heaviest(units: Sequence[Unit], bins: Bins) -> int:
    """The weight of the heaviest bin."""
    loads: dict[int, int] = {}
    for (w, _), bin_ in zip(units, bins, strict=True):
        loads[bin_] = loads.get(bin_, 0) + w
    return max(loads.values(), default=0)

"""What to stock: 5,000 singles against 24 and 200 sizes, the curve to 8, against HiGHS (scipy).

Run as ``PYTHONPATH=. python tests/bench/rules/stock.py`` after ``pip install -e '.[bench]'``. Both
are given the same patterns, and HiGHS for each number of sizes the textbook model: a size held or
not, each pattern served by sizes that are held. It ends with 1 where the two differ.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from assembly.rules.stock.stocking import Table, curve

SINGLES, MOST, WAITED_S = 5_000, 8, 100
WIDTHS, LENGTHS = np.linspace(60, 320, 20), np.linspace(120, 570, 10)


def singles(sizes: np.ndarray) -> Table:
    """So many singles by chance: lengths normal, widths lognormal, each needed up to 100 times."""
    chance = np.random.default_rng(17)
    length = chance.normal(175, 60, SINGLES).clip(40, 480) + 60
    width = chance.lognormal(3.6, 0.5, SINGLES).clip(5, 220) + 40
    times = chance.integers(1, 100, SINGLES)
    fits = (sizes[None, :, 0] >= width[:, None]) & (sizes[None, :, 1] >= length[:, None])
    costs = np.where(fits, times[:, None] * sizes.prod(axis=1), np.inf)
    return Table(costs[fits.any(axis=1)])


def by_highs(table: Table, k: int) -> tuple[float, bool]:
    """The least for at most ``k`` sizes, and whether it was proved in time."""
    rows, columns = np.nonzero(np.isfinite(table.alone))
    pairs, held, count = len(rows), table.sizes, len(table.alone)
    each = np.arange(pairs)
    once = coo_matrix((np.ones(pairs), (rows, each)), (count, pairs + held))
    within = coo_matrix(
        (np.r_[np.ones(pairs), -np.ones(pairs)], (np.r_[each, each], np.r_[each, pairs + columns])),
        (pairs, pairs + held),
    )
    few = coo_matrix((np.ones(held), (np.zeros(held, int), pairs + np.arange(held))))
    scale = table.alone[np.isfinite(table.alone)].max()
    found = milp(
        np.r_[table.alone[rows, columns] / scale, np.zeros(held)],
        integrality=np.r_[np.zeros(pairs), np.ones(held)],
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once.tocsr(), 1, 1), LinearConstraint(within.tocsr(), ub=0),
                     LinearConstraint(few.tocsr(), ub=k)],
        options={"time_limit": WAITED_S, "mip_rel_gap": 1e-6},
    )  # fmt: skip
    return (float(found.fun) * scale if found.x is not None else np.inf), found.status == 0


def main() -> None:
    grid = np.array([(width, length) for width in WIDTHS for length in LENGTHS])
    held = [(w, h) for w in (75, 100, 120, 150, 200, 300) for h in (200, 300, 400, 570)]
    sys.exit(any([_compared(np.array(held)), _compared(grid)]))


def _compared(sizes: np.ndarray) -> bool:
    """Both, said; whether any of what both proved differs."""
    table = singles(sizes)
    start = time.process_time()
    ours = curve(table, MOST)
    took = time.process_time() - start
    patterns, differ, waited, theirs = table.patterns(), False, 0.0, 0
    for one in ours:
        start = time.process_time()
        cost, proved = by_highs(patterns, one.k)
        waited += time.process_time() - start
        theirs += proved
        differ |= proved and one.proved and abs(cost - one.cost) > 1e-5 * one.cost
    print(f"{len(sizes)} sizes, {len(patterns.alone)} patterns, 1 to {len(ours)} sizes: "
          f"{took:.2f} s, {sum(one.proved for one in ours)} proved; HiGHS {waited:.2f} s, {theirs} "
          f"proved: {took / waited:.2f}{'; THEY DIFFER' if differ else ''}")  # fmt: skip
    return differ


if __name__ == "__main__":
    main()

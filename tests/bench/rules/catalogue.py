"""100,000 instruments x 60 pouches: equality with the scalar rules, time, ratio to bare numpy.

Run as ``PYTHONPATH=. python tests/bench/rules/catalogue.py``; ``--equal N`` sets how many
instruments are held against the scalar rules (100,000 x 3 pouches by default).
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from datetime import date
from random import Random

import numpy as np

from assembly.rules.computing.catalogue import CHUNK, evaluate
from assembly.rules.computing.columns import Columns, columns_from
from assembly.rules.facts.supplies import Pouch
from assembly.rules.kinds.pouches import pouch_candidate
from assembly.rules.methods.routes import routes_for
from assembly.rules.policy.values import default_policy
from tests.rules.computing.catalogue_facts import PROGRAMMES, instrument, pouches

POLICY = default_policy(date(2026, 1, 1))
ROWS, PAIRED, RUNS = 100_000, 60, 7


def bare(columns: Columns, stock: tuple[Pouch, ...]) -> np.ndarray:
    """The same comparisons and the same first fit, without reasons: the floor."""
    width = np.array([p.opened_width_mm or np.nan for p in stock]) + 0.01
    length = np.array([p.inner_length_mm or np.nan for p in stock]) + 0.01
    area = np.array([(p.inner_width_mm or np.nan) * (p.inner_length_mm or np.nan) for p in stock])
    rated = np.array([p.rated_g or np.nan for p in stock]) + 0.05
    across, along = columns.width_mm + columns.height_mm, columns.length_mm + columns.height_mm
    covered = across * along
    best = np.empty(len(columns), np.int32)
    for start in range(0, len(columns), CHUNK):
        rows = slice(start, start + CHUNK)
        fits = across[rows, None] + 50 <= width
        fits &= along[rows, None] + 55 <= length
        fits &= covered[rows, None] / area <= 0.750001
        fits &= columns.weight_g[rows, None] <= rated
        first = fits.argmax(axis=1)
        best[rows] = np.where(fits[np.arange(len(fits)), first], first, -1)
    return best


def in_turns(*works: Callable[[], object]) -> list[float]:
    """Seconds of processor time of each, the least of several runs, one after the other."""
    took: list[list[float]] = [[] for _ in works]
    for _ in range(RUNS):
        for times, work in zip(took, works, strict=True):
            start = time.process_time()
            work()
            times.append(time.process_time() - start)
    return [*map(min, took)]


def differences(rows: int) -> int:
    """Pairs on which the arrays and the scalar rules differ; 0 is the only good answer."""
    random = Random(11)
    stock = pouches(random, 3, unknown=0.1)
    items = [instrument(random, stock) for _ in range(rows)]
    found = evaluate(columns_from(items), stock, PROGRAMMES, POLICY)
    routes = {
        (i.cycles, i.contents): routes_for(i.cycles, PROGRAMMES, POLICY, i.contents) for i in items
    }
    return sum(
        found.reasons(row, column)
        != tuple(
            (f.rule, f.status)
            for f in pouch_candidate(
                item, pouch, routes[item.cycles, item.contents], POLICY
            ).reasons
        )
        for row, item in enumerate(items)
        for column, pouch in enumerate(found.pouches)
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--equal", type=int, default=ROWS)
    rows = parser.parse_args().equal
    print(f"differences on {rows:,} instruments x 3 pouches: {differences(rows)}")
    random = Random(12)
    stock = pouches(random, PAIRED, unknown=0)
    start = time.perf_counter()
    columns = columns_from([instrument(random, stock, unknown=0.02) for _ in range(ROWS)])
    print(f"making the facts and columns: {time.perf_counter() - start:.2f} s")
    ranked = evaluate(columns, stock, PROGRAMMES, POLICY).pouches
    full, floor = in_turns(
        lambda: evaluate(columns, stock, PROGRAMMES, POLICY), lambda: bare(columns, ranked)
    )
    print(f"{ROWS:,} x {PAIRED}, with reasons: {full:.3f} s (goal under 0.5)")
    print(f"bare comparisons: {floor:.3f} s; ratio {full / floor:.2f} (goal at most 2)")


if __name__ == "__main__":
    main()

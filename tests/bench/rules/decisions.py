"""One decision beside the bare comparisons, and many sets beside an older commit.

``python -m tests.bench.rules.decisions`` decides instruments against 60 pouches, each for the
first time, and compares with the same comparisons written out in bare Python. With ``--against``
a checkout (``git worktree add ../old ca2c330``), the sets of ``decided_sets`` are decided in both.
Processor time, least of several.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from random import Random

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch
from assembly.rules.policy.values import default_policy
from tests.rules.computing.catalogue_facts import PROGRAMMES, instrument, pouches

POLICY = default_policy(date(2026, 1, 1))
POUCHES, INSTRUMENTS, RUNS = 60, 100, 7
SINGLE_GOAL, SETS_GOAL = 150, 0.25


def bare(item: Instrument, stock: tuple[Pouch, ...]) -> list[str]:
    """All the same comparisons written out, without reasons, and what passes: the floor."""
    across = (item.width_mm or 0.0) + (item.height_mm or 0.0)
    along = (item.length_mm or 0.0) + (item.height_mm or 0.0)
    weight, covered = item.weight_g or 0.0, across * along
    found = []
    for pouch in stock:
        width, length = pouch.inner_width_mm or 0.0, pouch.inner_length_mm or 0.0
        fits = across + 50 <= width + 2 * pouch.gusset_mm + 0.01
        fits &= along + 55 <= length + 0.01
        fits &= covered <= 0.750001 * width * length
        fits &= weight <= (pouch.rated_g or 0.0) + 0.05
        if fits:
            found.append(pouch.code)
    return found


def in_turns(runs: int, *works: Callable[[], object]) -> list[float]:
    """Seconds of processor time of each, the least of several runs, one after the other so that
    what else the machine does falls on all."""
    took: list[list[float]] = [[] for _ in works]
    for _ in range(runs):
        for times, work in zip(took, works, strict=True):
            began = time.process_time()
            work()
            times.append(time.process_time() - began)
    return [*map(min, took)]


def single(instruments: int = INSTRUMENTS, runs: int = RUNS) -> float:
    """How many times the bare comparisons a decision takes; each instrument is new to it."""
    random = Random(12)
    made = pouches(random, POUCHES, unknown=0)
    stock = tuple(made)
    items = [instrument(random, made, unknown=0.02) for _ in range(instruments)]

    def decided() -> None:
        for item in items:
            # A copy: what is kept of an instrument is not found again.
            decide(
                Question(instrument=derived(item), supplies=stock, programmes=PROGRAMMES), POLICY
            )

    decided_s, bare_s = in_turns(
        runs, decided, lambda: [bare(item, stock) for item in items for _ in range(20)]
    )
    decided_s, bare_s = decided_s / instruments, bare_s / (20 * instruments)
    ratio = decided_s / bare_s
    print(f"a decision among {POUCHES} pouches: {decided_s * 1000:.2f} ms, {ratio:.0f} times the "
          f"bare comparisons ({bare_s * 1000:.4f} ms; goal {SINGLE_GOAL})")  # fmt: skip
    return ratio


def sets_in(checkout: Path, count: int) -> list[float]:
    """Seconds in which a checkout decides so many sets: the first time, and again."""
    script = Path(__file__).with_name("decided_sets.py")
    said = subprocess.run(
        [sys.executable, str(script), str(count)], cwd=checkout, check=True, text=True,
        env={**os.environ, "PYTHONPATH": str(checkout)}, stdout=subprocess.PIPE,
    ).stdout  # fmt: skip
    return [float(line.split()[0]) for line in said.splitlines()]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--against", type=Path)
    parser.add_argument("--sets", type=int, default=500)
    given = parser.parse_args()
    single()
    now = sets_in(Path.cwd(), given.sets)
    print(f"{given.sets} sets decided: {now[0]:.2f} s, again {now[1]:.2f} s")
    if given.against:
        before = sets_in(given.against.resolve(), given.sets)
        print(f"there: {before[0]:.2f} s, again {before[1]:.2f} s; {now[0] / before[0]:.2f} of "
              f"the time (goal {SETS_GOAL})")  # fmt: skip


if __name__ == "__main__":
    main()

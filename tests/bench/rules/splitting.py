"""The split of sets of several sizes: its time, how often it is proved, and the referee beside it.

Run as ``python -m tests.bench.rules.splitting``; ``--referee`` has OR-tools prove each case too
(``pip install -e '.[bench]'``) and ends with 1 where it proved another number of trays. Times are
of the processor, so that what else the machine does changes them little.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from random import Random
from statistics import median
from typing import Any

from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.splitting.set_split import split_set
from assembly.rules.splitting.trays import TraySplit, Unit, split
from tests.rules.given import policy
from tests.rules.splitting.test_set_split import CYCLES, asked, line

RUNS = 6
CAPACITY_G, LAYER_MM2 = 8500, 480 * 250 * 0.7
AREA_MM2 = LAYER_MM2 * 4


def general(random: Random, lines: int) -> list[Unit]:
    """Lines of one to five equal pieces, most of them light."""
    found = []
    for n in range(lines):
        weight = round(random.lognormvariate(4, 0.8), 1)
        area = round(random.uniform(500, 4000))
        found += [Unit(name=f"n{n}", weight_g=weight, area_mm2=area)] * random.choice([1, 1, 2, 5])
    return found


def heavy(random: Random, lines: int) -> list[Unit]:
    """Single heavy pieces."""
    return [
        Unit(name=f"n{n}", weight_g=round(min(2500, random.lognormvariate(5.6, 0.8)), 1),
             area_mm2=1000)
        for n in range(lines)
    ]  # fmt: skip


def filled(random: Random, lines: int, trays: int, share: float) -> list[Unit]:
    """Lines that stay whole and fill the trays to a share of their capacity, to 0.01 g."""
    cuts = [random.uniform(0.2, 1) for _ in range(lines)]
    scale = trays * CAPACITY_G * share / sum(cuts)
    return [
        Unit(name=f"n{n}", weight_g=int(cut * scale * 100) / 100, area_mm2=1000)
        for n, cut in enumerate(cuts)
    ]


def sections(random: Random, count: int) -> list[Unit]:
    """Whole sections of up to half a tray and of very different room, both to be watched."""
    return [
        Unit(name=f"n{n}", weight_g=random.randint(20_000, 425_000) / 100,
             area_mm2=random.randint(5_000, int(AREA_MM2 / 2)))
        for n in range(count)
    ]  # fmt: skip


KINDS: dict[str, Callable[[Random], list[Unit]]] = {
    **{f"general, {n} lines": lambda r, n=n: general(r, n) for n in (30, 100, 150)},
    **{f"heavy, {n} lines": lambda r, n=n: heavy(r, n) for n in (30, 100)},
    **{f"{n} lines, {trays} trays, {share:.1%} full":
       lambda r, n=n, trays=trays, share=share: filled(r, n, trays, share)
       for n, trays in ((30, 2), (90, 4), (150, 6))
       for share in (0.9, 0.98, 0.995, 1.0)},
    **{f"{n} sections": lambda r, n=n: sections(r, n) for n in (8, 12, 16, 20)},
}  # fmt: skip


LINES, TRAYS, FULL, A_SECTION = 150, 6, 0.995, 8
WHOLE = {
    "in sections": (True, CYCLES[:1]),
    "in sections, of two cycles": (True, CYCLES[:3]),
    "without sections": (False, CYCLES[:1]),
    "without sections, of two cycles": (False, CYCLES[:3]),
}
"""What a whole set is: whether in sections, and which cycles its instruments may have."""


def whole_set(random: Random, titled: bool, cycles: Sequence[Any]) -> SetQuestion:
    """A set of 150 lines that fills six containers of the tests to 99.5 %."""
    cuts = [(random.uniform(0.2, 1), random.choice([1, 1, 2, 4])) for _ in range(LINES)]
    scale = TRAYS * 7000 * FULL / sum(cut * count for cut, count in cuts)
    return asked(*(
        line(f"n{n}", int(cut * scale * 100) / 100, count,
             section=f"s{n // A_SECTION}" if titled else "", cycles=random.choice(cycles))
        for n, (cut, count) in enumerate(cuts)
    ))  # fmt: skip


def whole_sets(runs: int) -> None:
    """The time of the whole answer, as a page and the command ask it."""
    for name, (titled, cycles) in WHOLE.items():
        times, proved = [], 0
        for seed in range(runs):
            question = whole_set(Random(seed), titled, cycles)
            start = time.process_time()
            found = split_set(question, question.packed_in, policy())
            times.append(time.process_time() - start)
            proved += found.proved
        print(f"{f'whole set {name}':42} {median(times) * 1000:6.1f} ms, at most "
              f"{max(times) * 1000:6.1f}; proved {proved} of {runs}", flush=True)  # fmt: skip


@dataclass(slots=True)
class Counted:
    """What the runs of one kind came to."""

    ours_s: list[float] = field(default_factory=list)
    its_s: list[float] = field(default_factory=list)
    proved: int = 0
    proved_by_it: int = 0
    other: int = 0
    heaviest_by_it: int = 0
    heavier_g: list[float] = field(default_factory=list)


def judged(units: list[Unit], found: TraySplit, so_far: Counted, seconds: float) -> None:
    """The referee's answer to the same question: how many trays, which is timed, then how heavy
    the heaviest, which it seldom proves in the time that it has."""
    from tests.bench.rules import referee

    sizes = [(round((u.weight_g or 0) * 100), round(u.area_mm2 or 0)) for u in units]
    tray, trays = (CAPACITY_G * 100, int(AREA_MM2)), len(found.trays)
    start = time.process_time()
    fewest = referee.fewest(sizes, *tray, trays, seconds=seconds)
    so_far.its_s.append(time.process_time() - start)
    lightest = referee.lightest(sizes, *tray, trays, seconds)
    so_far.proved_by_it += fewest.proved
    so_far.other += fewest.proved and fewest.value != trays
    if lightest.value is not None and lightest.proved:
        so_far.heaviest_by_it += 1
        so_far.heavier_g.append(found.trays[0].weight_g - lightest.value / 100)


def main() -> int:
    options_of = argparse.ArgumentParser(description=__doc__)
    options_of.add_argument("--referee", action="store_true", help="OR-tools proves each case too")
    options_of.add_argument("--runs", type=int, default=RUNS)
    options_of.add_argument(
        "--seconds", type=float, default=10.0, help="the referee's for one answer"
    )
    options, other = options_of.parse_args(), 0
    whole_sets(options.runs)
    for name, make in KINDS.items():
        so_far = Counted()
        for seed in range(options.runs):
            units = make(Random(seed))
            start = time.process_time()
            found = split(units, CAPACITY_G, AREA_MM2)
            so_far.ours_s.append(time.process_time() - start)
            so_far.proved += found.proved
            if options.referee:
                judged(units, found, so_far, options.seconds)
        words = f"{name:32} {median(so_far.ours_s) * 1000:7.1f} ms, at most "
        words += f"{max(so_far.ours_s) * 1000:6.1f}; proved {so_far.proved} of {options.runs}"
        if options.referee:
            ratio = median(so_far.its_s) / median(so_far.ours_s)
            words += f"; referee for the number alone {ratio:6.1f} times as long, proved "
            words += f"{so_far.proved_by_it}, other {so_far.other}; heaviest proved "
            words += f"{so_far.heaviest_by_it}, "
            words += f"ours heavier by at most {max(so_far.heavier_g, default=0):.2f} g"
        print(words, flush=True)
        other += so_far.other
    return bool(other)


if __name__ == "__main__":
    sys.exit(main())

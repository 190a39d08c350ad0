"""Time of splitting sets of several sizes, and how often the number of trays is proved.

Run as ``PYTHONPATH=. python tests/bench/bench_splitting.py``.
"""

from __future__ import annotations

import time
from random import Random

from assembly.rules.computing.splitting import Unit, split

RUNS = 6


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


def filled(random: Random, pieces: int, trays: int, share: float) -> list[Unit]:
    """Pieces that fill the trays to a share of their capacity."""
    cuts = [random.uniform(0.2, 1) for _ in range(pieces)]
    scale = trays * 8500 * share / sum(cuts)
    return [
        Unit(name=f"n{n}", weight_g=int(cut * scale * 10) / 10, area_mm2=1000)
        for n, cut in enumerate(cuts)
    ]


def main() -> None:
    kinds = [
        *((f"general {n}", lambda r, n=n: general(r, n)) for n in (30, 100, 300)),
        *((f"heavy {n}", lambda r, n=n: heavy(r, n)) for n in (30, 100, 150)),
        *(
            (f"90 pieces, 4 trays, {share:.1%} full", lambda r, s=share: filled(r, 90, 4, s))
            for share in (0.9, 0.98, 0.995, 1.0)
        ),
    ]
    for name, make in kinds:
        times, proved = [], 0
        for seed in range(RUNS):
            units = make(Random(seed))
            start = time.perf_counter()
            found = split(units, 8500, 480 * 250 * 0.7 * 4)
            times.append(time.perf_counter() - start)
            proved += found.proved
        print(f"{name:32} {max(times) * 1000:8.1f} ms at most, proved {proved} of {RUNS}")


if __name__ == "__main__":
    main()

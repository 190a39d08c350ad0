"""Time of the weigh-check against trying every combination, which finds the same.

Run as ``PYTHONPATH=. python tests/bench/rules/weighing.py``. Processor seconds; one piece of an
invented set is missing, a scale of 1 g, copies that differ by 1 %.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date
from random import Random
from typing import Any

from assembly.rules.computing.weigh_check import (
    LINES_FOR_MOST,
    Piece,
    Scale,
    Values,
    explain,
    from_baseline,
)
from assembly.rules.policy.values import default_policy
from tests.rules.computing.weigh_by_enumeration import by_enumeration

RUNS, REFEREED = 3, 60
SCALE = Scale(1, 0.5)


def invented(random: Random, lines: int) -> list[Piece]:
    """Lines of one to four pieces with a median of 55 g, a third of them alike."""
    found: list[Piece] = []
    for n in range(lines):
        alike = found and random.random() < 0.3
        each = found[-1].each_g if alike else round(random.lognormvariate(4, 0.6), 1)
        many = random.choice((1, 2, 2, 4))
        found.append(Piece(f"n{n}", each, many, many))
    return found


def timed(call: Callable[..., Any], *asked: Any) -> tuple[float, Any]:
    start = time.process_time()
    answer = call(*asked)
    return time.process_time() - start, answer


def main() -> None:
    values = Values.of(default_policy(date(2026, 11, 27)))
    deviation = from_baseline(0, (), SCALE, SCALE, values.spread).deviation
    for lines, changes in ((REFEREED, 1), (REFEREED, 2), (150, 2), (LINES_FOR_MOST, 3)):
        ours, referee, found = [], [], []
        for seed in range(RUNS):
            pieces = invented(Random(seed), lines)
            asked = (pieces, -(pieces[0].each_g or 0.0), deviation, values, changes)
            seconds, answer = timed(explain, *asked)
            ours.append(seconds)
            found.append(len(answer.found))
            if lines <= REFEREED:
                seconds, (shares, _) = timed(by_enumeration, *asked)
                referee.append(seconds)
                assert {one.changes for one in answer.found} == set(shares)
        words = (
            f"{lines:4} lines, {changes} changes: {max(ours) * 1000:8.1f} ms, {max(found):6} found"
        )
        print(words + (f"; every combination {max(referee) * 1000:.0f} ms" if referee else ""))


if __name__ == "__main__":
    main()

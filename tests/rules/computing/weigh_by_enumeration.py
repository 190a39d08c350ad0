"""The referee of the weigh-check: every combination of changes, one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from assembly.rules.computing.weigh_check import KEPT_Z, Piece, Values

Shares = dict[tuple[tuple[int, int], ...], float]


def by_enumeration(
    pieces: Sequence[Piece], difference: float, deviation: float, values: Values, changes: int
) -> tuple[Shares, float]:
    """The posterior of each hypothesis, and that of something else, by trying all of them."""
    weights: Shares = {}
    for counts in _counts(pieces, changes):
        mean, variance, odds = 0.0, deviation**2, 1.0
        for one, n in zip(pieces, counts, strict=True):
            each = one.each_g or 0.0
            mean += n * each
            variance += abs(n) * (values.spread * each) ** 2
            odds *= values.extra**n if n > 0 else math.comb(one.quantity, -n) * values.missing**-n
        z = abs(difference - mean) / math.sqrt(variance)
        if z <= KEPT_Z or not any(counts):
            density = math.exp(-z * z / 2) / math.sqrt(2 * math.pi * variance)
            weights[tuple((i, n) for i, n in enumerate(counts) if n)] = odds * density
    other = values.other / values.window_g
    total = math.fsum([*weights.values(), other])
    return {key: one / total for key, one in weights.items()}, other / total


def _counts(pieces: Sequence[Piece], left: int) -> Iterator[tuple[int, ...]]:
    """How many too many (negative: missing) of each line, with at most so many pieces in all."""
    if not pieces:
        yield ()
        return
    one = pieces[0]
    for n in range(-min(one.quantity, left), left + 1) if one.each_g else (0,):
        for rest in _counts(pieces[1:], left - abs(n)):
            yield (n, *rest)

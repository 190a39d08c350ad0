"""Evening out two trays exactly: of all their units, the split whose heavier half is lightest.

Every sum that some of the units make is a bit of one long integer (subset sum), which is exact and
takes milliseconds for trays weighed in hundredths of a gram. Textbook arithmetic; source: ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import gcd

from assembly.rules.splitting.bins import Bins, Unit

MOST_ROUNDS = 100
"""Pairs that are evened out before it stops, so that no set takes long."""


def half_of(weights: Sequence[int]) -> list[int]:
    """Places of the units that come nearest to half of the whole from below.

    >>> half_of([5, 8, 4, 6])
    [0, 3]
    """
    step = gcd(*weights) or 1
    small = [weight // step for weight in weights]
    half = sum(small) // 2
    room = (1 << (half + 1)) - 1
    sums = [1]
    for weight in small:
        sums.append((sums[-1] | sums[-1] << weight) & room)
    left, taken = sums[-1].bit_length() - 1, []
    for place in range(len(small) - 1, -1, -1):
        if not sums[place] >> left & 1:
            taken.append(place)
            left -= small[place]
    return taken[::-1]


def paired(units: Sequence[Unit], bins: Bins, area: int, enough: int) -> Bins:
    """The heaviest bin evened out with each other one, again and again, lightest first.

    No bin takes more than ``area``. Stops where the heaviest weighs no more than ``enough``, where
    no pair makes it lighter, or after so many rounds. Of two bins it is the best there is.
    """
    now = list(bins)
    for _ in range(MOST_ROUNDS):
        loads = [0] * (max(now) + 1)
        for (weight, _area), bin_ in zip(units, now, strict=True):
            loads[bin_] += weight
        order = sorted(range(len(loads)), key=lambda b: (loads[b], b))
        heavy = order.pop()
        if loads[heavy] <= enough:
            break
        if not any(_even(units, now, (heavy, other), loads[heavy], area) for other in order):
            break
    return tuple(now)


def _even(
    units: Sequence[Unit], now: list[int], pair: tuple[int, int], most: int, area: int
) -> bool:
    """Whether the pair was made lighter than ``most``, in place."""
    inside = [n for n, bin_ in enumerate(now) if bin_ in pair]
    taken = {inside[place] for place in half_of([units[n][0] for n in inside])}
    light = sum(units[n][0] for n in taken)
    first = sum(units[n][1] for n in taken)
    second = sum(units[n][1] for n in inside) - first
    if sum(units[n][0] for n in inside) - light >= most or max(first, second) > area:
        return False
    for n in inside:
        now[n] = pair[0] if n in taken else pair[1]
    return True

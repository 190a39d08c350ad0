"""Rectangles in one layer, held against every empty rectangle of a small grid."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest

from assembly.rules.layers.packing import Item, Laid, max_rects

LONG, WIDE = 7, 5


def cells(x: int, y: int, w: int, h: int) -> set[tuple[int, int]]:
    return {*product(range(x, x + w), range(y, y + h))}


EVERY = {
    (x, y, w, h): cells(x, y, w, h)
    for x, y in product(range(LONG), range(WIDE))
    for w, h in product(range(1, LONG - x + 1), range(1, WIDE - y + 1))
}


def by_grid(items: list[Item], turns: bool) -> list[Laid]:
    """The referee: each where the least is left beside it in an empty rectangle that can grow no
    further, by looking at every rectangle."""
    filled, found = set[tuple[int, int]](), list[Laid]()
    for which, length, width in items:
        empty = {one for one, inside in EVERY.items() if filled.isdisjoint(inside)}
        largest = [
            (x, y, w, h) for x, y, w, h in empty
            if empty.isdisjoint({(x - 1, y, w + 1, h), (x, y - 1, w, h + 1), (x, y, w + 1, h),
                                 (x, y, w, h + 1)})
        ]  # fmt: skip
        lies = [(length, width, False), *([(width, length, True)] if turns else [])]
        ways = [
            (min(w - a, h - b), max(w - a, h - b), y, x, across, a, b)
            for (a, b, across), (x, y, w, h) in product(lies, largest)
            if a <= w and b <= h
        ]
        if ways:
            *_, y, x, across, a, b = min(ways)
            found.append((which, x, y, across))
            filled |= cells(x, y, int(a), int(b))
    return found


@pytest.mark.parametrize("turns", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_each_lies_where_the_least_is_left_beside_it(seed: int, turns: bool) -> None:
    chance = Random(seed)
    items = [(n, chance.randint(1, 4), chance.randint(1, 3)) for n in range(9)]
    assert max_rects(items, LONG, WIDE, turns) == by_grid(items, turns)

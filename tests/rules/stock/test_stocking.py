"""The least-material sizes are those that trying all of them finds; that is the referee."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from assembly.rules.stock import stocking
from assembly.rules.stock.stocking import Found, Table, curve

NEEDED = [((80, 150), 10), ((80, 250), 20), ((120, 250), 30), ((120, 350), 5), ((180, 300), 8)]
SIZES = [(100, 200), (100, 300), (150, 300), (150, 400), (200, 400)]


def table_of(needed: list[tuple[tuple[int, int], int]], sizes: list[tuple[int, int]]) -> Table:
    """Outer areas (dm2) of what is needed so often, in each size that it fits."""
    return Table(np.array([
        [count * w * h / 1e4 if w >= width and h >= length else np.inf for w, h in sizes]
        for (width, length), count in needed
    ]).reshape(len(needed), len(sizes)))  # fmt: skip


def by_trying(table: Table, k: int) -> float:
    """The least of all sets of at most ``k`` sizes."""
    return min(table.least(one) for n in range(1, k + 1)
               for one in combinations(range(table.sizes), n))  # fmt: skip


def irregular(seed: int, rows: int, sizes: int, doubles: int = 0) -> Table:
    """Sizes and needs by chance; a pouch goes into another that is wider and longer by 2."""
    chance = np.random.default_rng(seed)
    has = chance.integers(5, 30, (sizes, 2))
    needs = np.minimum(chance.integers(1, 25, (rows, 2)), has[chance.integers(0, sizes, rows)])
    fits = (has[None] >= needs[:, None]).all(axis=2)
    costs = np.where(fits, chance.integers(1, 50, rows)[:, None] * has.prod(axis=1), np.inf)
    pairs = tuple((a, b) for a in range(sizes) for b in range(sizes) if (has[b] > has[a] + 1).all())
    both = np.array([[costs[row, a] + costs[row, a] / has[a].prod() * has[b].prod()
                      for a, b in pairs] for row in range(doubles)])  # fmt: skip
    both = both.reshape(doubles, len(pairs))
    return Table(costs[doubles:], pairs, both[np.isfinite(both).any(axis=1)])


def costs(found: list[Found]) -> list[float]:
    assert all(one.proved for one in found)
    return [round(one.cost, 6) for one in found]


def test_the_check_figures_worked_by_enumeration() -> None:
    found = curve(table_of(NEEDED, SIZES), 5)
    assert costs(found) == [584, 374, 329, 319, 309]
    assert [one.chosen for one in found[:3]] == [(4,), (2, 4), (1, 2, 4)]


@pytest.mark.parametrize("k", [0, -1])
def test_no_size_at_all_is_refused(k: int) -> None:
    with pytest.raises(ValueError, match="at least 1"):
        curve(table_of(NEEDED, SIZES), k)


def test_nothing_to_cover_needs_no_size() -> None:
    assert curve(table_of([], SIZES), 3) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_all_pairs_and_triples_take_no_less(seed: int) -> None:
    table = irregular(seed, rows=80, sizes=16)
    assert costs(curve(table, 3)[1:]) == [by_trying(table, 2), by_trying(table, 3)]


@pytest.mark.parametrize("seed", [4, 5, 6])
def test_a_double_pouch_takes_both_and_needs_both_in_stock(seed: int) -> None:
    table = irregular(seed, rows=25, sizes=9, doubles=4)
    assert len(table.paired)
    assert costs(curve(table, 6)) == [by_trying(table, k) for k in range(1, 7)]


def test_so_few_that_they_cover_not_all_are_proved_to_be_too_few() -> None:
    one, two = curve(table_of([((10, 90), 1), ((90, 10), 1)], [(20, 99), (99, 20)]), 2)
    assert (one.chosen, one.cost, one.proved) == ((), np.inf, True)
    assert (two.chosen, two.proved) == ((0, 1), True)


def test_what_was_not_searched_to_its_end_is_not_called_proved() -> None:
    table = irregular(7, rows=60, sizes=40)
    short = curve(table, 6, work=1)
    full = curve(table, 6)
    assert not all(one.proved for one in short)
    assert all(a.bound <= b.cost + 1e-6 <= a.cost + 2e-6 for a, b in zip(short, full, strict=True))


widths = some.lists(some.integers(5, 60), min_size=1, max_size=8, unique=True)
pieces = some.lists(some.tuples(some.integers(1, 60), some.integers(1, 500)), max_size=12)


@given(widths, pieces)
def test_widths_in_one_order_are_found_as_by_trying_and_by_branching(
    has: list[int], needs: list[tuple[int, int]]
) -> None:
    costs_ = [[w * long if w >= wide else np.inf for w in has] for wide, long in needs
              if wide <= max(has)]  # fmt: skip
    table = Table(np.array(costs_, dtype=float).reshape(len(costs_), len(has)))
    assert stocking._nested(table) is not None or not len(costs_)
    for one in curve(table, len(has)):
        branched = stocking._Search(table, one.k, tuple(range(one.k)), stocking.WORK).found()
        assert one.cost == by_trying(table, one.k) == pytest.approx(branched.cost)
        assert table.least(one.chosen) == one.cost and len(one.chosen) <= one.k


@given(some.integers(0, 10_000), some.integers(1, 20), some.integers(2, 8))
def test_one_size_more_never_takes_more(seed: int, rows: int, sizes: int) -> None:
    table = irregular(seed, rows, sizes)
    found = curve(table, sizes)
    assert all(b.cost <= a.cost for a, b in pairwise(found))
    fewer = Table(table.alone[:, 1:])
    covered = np.isfinite(fewer.alone).any(axis=1)
    if covered.all():
        without = curve(fewer, sizes)
        assert all(a.cost <= b.cost * (1 + 1e-6) for a, b in zip(found, without, strict=False))


@given(some.integers(0, 10_000), some.integers(2, 9))
def test_rows_twice_and_demand_threefold_change_no_choice(seed: int, times: int) -> None:
    table = irregular(seed, 12, 6)
    twice = Table(np.r_[table.alone, table.alone])
    many = Table(table.alone * times)
    for one, two, more in zip(*(curve(each, 4) for each in (table, twice, many)), strict=True):
        assert 2 * one.cost == pytest.approx(two.cost)
        assert times * one.cost == pytest.approx(more.cost)

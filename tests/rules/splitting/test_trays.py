"""Splitting into trays: worked cases, brute force on few units, properties."""

from __future__ import annotations

import tomllib
from collections import Counter
from datetime import date
from functools import cache
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.checks import FactsError
from assembly.rules.policy.values import default_policy
from assembly.rules.splitting import trays
from assembly.rules.splitting.bins import lower_bound, quick_bins, search
from assembly.rules.splitting.trays import (
    SplitOutcome,
    Unit,
    kept_together,
    least_trays,
    split,
    tray_area_mm2,
)

CASES = tomllib.loads((Path(__file__).parents[1] / "cases/splitting.toml").read_text("utf-8"))
SPLITS = [case for case in CASES["case"] if "trays" in case]
CAPACITY, AREA = CASES["capacity_g"], CASES["capacity_mm2"]


def units(weights, areas=None) -> list[Unit]:
    areas = areas or [None] * len(weights)
    return [
        Unit(name=f"n{n}", weight_g=w, area_mm2=a)
        for n, (w, a) in enumerate(zip(weights, areas, strict=True))
    ]


@pytest.mark.parametrize("case", SPLITS, ids=lambda case: case["id"])
def test_worked_splits(case):
    found = split(units(case["weights"], case["areas"]), CAPACITY, AREA)
    answer = (len(found.trays), found.trays[0].weight_g, found.proved)
    assert answer == (case["trays"], case["heaviest"], True)


def test_a_unit_that_is_too_big_is_named():
    case = CASES["case"][-1]
    found = split(units(case["weights"], case["areas"]), CAPACITY, AREA)
    assert (found.outcome, list(found.named)) == (SplitOutcome.TOO_BIG, case["too_big"])


def test_nothing_to_split():
    assert split([], CAPACITY).outcome is SplitOutcome.EMPTY


@pytest.mark.parametrize(("count", "words"), [(1, "1 tray,"), (2, "2 trays,"), (3, "3 trays,")])
def test_it_says_how_many_trays(count, words):
    assert split(units([5000] * count), CAPACITY).sentence().startswith(words)


@pytest.mark.parametrize(
    ("weights", "areas", "least"),
    [([60] * 4, [1] * 4, 4), ([1, 1], [60, 60], 2), ([40] * 4, [1] * 4, 2), ([], [], 0)],
)
def test_trays_are_no_fewer_than_weights_or_areas_need(weights, areas, least):
    """By hand, of 100 g and 100 mm²: two of 60 go in none, two of 40 go in one."""
    assert least_trays(units(weights, areas), 100, 100) == least


def test_exactly_full_is_one_tray():
    assert len(split(units([8500]), 8500).trays) == 1


def test_a_tenth_of_a_gram_over_is_too_big():
    assert split(units([8500.1]), 8500).outcome is SplitOutcome.TOO_BIG


def test_an_unknown_weight_is_not_nothing():
    found = split([Unit(name="rasp"), *units([100])], CAPACITY)
    assert found.sentence() == "Weigh or measure first: rasp."


def test_an_unknown_area_is_not_nothing():
    assert split(units([100]), CAPACITY, AREA).outcome is SplitOutcome.UNKNOWN


def test_an_unknown_area_is_no_matter_where_areas_are_not_asked():
    assert split(units([100]), CAPACITY).outcome is SplitOutcome.SPLIT


def test_a_weight_counted_at_its_most_is_provisional():
    found = split([Unit(name="rasp", most_g=400), *units([100])], CAPACITY)
    assert found.sentence() == ("1 tray, the heaviest 500 g. Provisional: not weighed are rasp.")


def test_units_kept_together_lie_in_one_tray():
    pair = kept_together("pair", units([3000, 3000]))
    found = split([pair, *units([2500, 4000])], 6500)
    assert sorted(tray.names for tray in found.trays) == [("n0", "n1"), ("pair",)]


def test_units_kept_together_with_an_unknown_are_unknown():
    assert kept_together("pair", [Unit(name="a"), *units([5])]).upper_g is None


def test_units_kept_together_count_at_their_most():
    pair = kept_together("pair", [Unit(name="a", most_g=60), *units([5])])
    assert (pair.weight_g, pair.upper_g) == (None, 65)


@pytest.mark.parametrize("weight", [-1, 0])
def test_a_weight_of_nothing_is_refused(weight):
    with pytest.raises(FactsError, match="weight_g"):
        Unit(name="n", weight_g=weight)


def test_a_weightless_accessory_may_weigh_nothing():
    assert Unit(name="tag", weight_g=0, weightless=True).upper_g == 0


@pytest.mark.parametrize("capacity", [0, -1])
def test_a_capacity_of_nothing_is_refused(capacity):
    with pytest.raises(FactsError, match="capacity_g"):
        split(units([1]), capacity)


def test_the_area_of_a_tray_counts_layers_and_the_policys_share():
    policy = default_policy(date(2026, 1, 1))
    assert tray_area_mm2(480, 250, 2, policy) == pytest.approx(168_000)


def test_a_tray_without_a_layer_is_refused():
    with pytest.raises(FactsError, match="layers"):
        tray_area_mm2(480, 250, 0, default_policy(date(2026, 1, 1)))


def test_a_search_that_stops_says_so():
    found = search([(30, 0)] * 10, 5, 60, 1, limit=3)
    assert (found.bins, found.stopped) == (None, True)


def test_a_thousand_units_are_no_trouble():
    found = split(units([55] * 1000), CAPACITY)
    assert (len(found.trays), found.proved) == (7, True)


# --- brute force and properties -----------------------------------------------------------


def by_trying(weights, areas, capacity, area) -> tuple[int, int]:
    """Fewest trays and the lightest heaviest one, by dynamic programming over subsets."""
    whole = (1 << len(weights)) - 1
    loads = [
        (
            sum(w for n, w in enumerate(weights) if mask >> n & 1),
            sum(a for n, a in enumerate(areas) if mask >> n & 1),
        )
        for mask in range(whole + 1)
    ]

    @cache
    def best(left: int) -> tuple[int, int]:
        if not left:
            return (0, 0)
        first = left & -left
        answers = []
        part = left
        while part:
            if part & first and loads[part][0] <= capacity and loads[part][1] <= area:
                count, top = best(left & ~part)
                answers.append((count + 1, max(top, loads[part][0])))
            part = (part - 1) & left
        return min(answers)

    count = best(whole)[0]

    @cache
    def lightest(left: int, trays: int) -> int:
        if not left:
            return 0
        if not trays:
            return capacity + 1
        first = left & -left
        top = capacity + 1
        part = left
        while part:
            if part & first and loads[part][0] <= capacity and loads[part][1] <= area:
                top = min(top, max(loads[part][0], lightest(left & ~part, trays - 1)))
            part = (part - 1) & left
        return top

    return count, lightest(whole, count)


pieces = st.lists(st.tuples(st.integers(1, 100), st.integers(1, 60)), min_size=1, max_size=7)


@given(pieces)
def test_trays_and_heaviest_are_those_that_trying_every_split_finds(sizes):
    weights, areas = zip(*sizes, strict=True)
    found = split(units(weights, areas), 100, 60)
    assert (len(found.trays), found.trays[0].weight_g) == by_trying(weights, areas, 100, 60)


many = st.lists(st.tuples(st.integers(1, 100), st.integers(1, 60)), min_size=1, max_size=20)


@given(many)
def test_every_unit_lies_in_one_tray(sizes):
    all_ = units(*zip(*sizes, strict=True))
    placed = Counter(name for tray in split(all_, 150, 100).trays for name in tray.names)
    assert placed == Counter(unit.name for unit in all_)


@given(many)
def test_no_tray_holds_more_than_it_may(sizes):
    found = split(units(*zip(*sizes, strict=True)), 150, 100)
    weights = {f"n{n}": w for n, (w, _) in enumerate(sizes)}
    areas = {f"n{n}": a for n, (_, a) in enumerate(sizes)}
    for tray in found.trays:
        load = (sum(weights[n] for n in tray.names), sum(areas[n] for n in tray.names))
        assert load == (tray.weight_g, tray.area_mm2) and load[0] <= 150 and load[1] <= 100


@given(many)
def test_the_heaviest_is_never_below_its_bound(sizes):
    found = split(units(*zip(*sizes, strict=True)), 150, 100)
    assert found.least_heaviest_g <= found.trays[0].weight_g <= 150


@given(pieces, st.tuples(st.integers(1, 100), st.integers(1, 60)))
def test_another_unit_never_saves_a_tray(sizes, more):
    fewer = split(units(*zip(*sizes, strict=True)), 100, 60)
    after = split(units(*zip(*sizes, more, strict=True)), 100, 60)
    assert len(after.trays) >= len(fewer.trays)


@given(pieces, st.integers(0, 80), st.integers(0, 80))
def test_larger_trays_are_never_more(sizes, weight, area):
    all_ = units(*zip(*sizes, strict=True))
    assert len(split(all_, 100 + weight, 60 + area).trays) <= len(split(all_, 100, 60).trays)


@given(st.lists(st.integers(1, 100), min_size=1, max_size=6))
def test_the_lower_bound_is_never_above_the_truth(weights):
    least = by_trying(weights, [1] * len(weights), 100, 60)[0]
    assert lower_bound(weights, 100) <= least


@given(st.lists(st.integers(1, 20), min_size=1, max_size=6), st.integers(1, 3))
def test_the_search_finds_an_answer_exactly_when_there_is_one(weights, count):
    possible = any(
        all(sum(w for w, b in zip(weights, bins, strict=True) if b == bin_) <= 20
            for bin_ in range(count))
        for bins in product(range(count), repeat=len(weights))
    )  # fmt: skip
    found = search([(w, 0) for w in weights], count, 20, 1)
    assert ((found.bins is not None), found.stopped) == (possible, False)


def test_what_fills_the_room_to_the_last_goes_in():
    assert quick_bins([(1, 5), (1, 5)], weight=9, area=10) == (0, 0)


def test_a_search_fills_weight_and_area_to_the_last():
    """By hand: two of 3 and two of 5 in two of 8, whichever of both is asked."""
    sizes = [5, 5, 3, 3]
    assert search([(one, one) for one in sizes], 2, 8, 8).bins == (0, 1, 0, 1)


@pytest.mark.parametrize("each", [(3, 0), (0, 3)])
def test_what_is_too_much_altogether_is_seen_at_the_first_step(each):
    """By hand: five of 3 are 15, and two of 7 hold 14."""
    assert search([each] * 5, 2, 7, 7).nodes == 1


def test_a_search_of_as_many_steps_as_it_takes_is_not_stopped():
    assert search([(1, 1)], 1, 9, 9, limit=1).bins == (0,)


@pytest.mark.parametrize("pieces", [23, 25])
@pytest.mark.parametrize(("steps", "proved"), [(trays.EVENING_NODES, True), (0, False)])
def test_the_last_grams_are_searched_for_and_told_as_open_without(
    monkeypatch, pieces, steps, proved
):
    """Pieces in two trays, one more in the first, as the room forces; the one that is heavier by a
    hundredth of a gram lies in the other."""
    monkeypatch.setattr(trays, "EVENING_NODES", steps)
    weights = [80.11] + [80.1] * (pieces - 1)
    found = split(units(weights, [1] * pieces), 8500, (pieces + 1) // 2)
    heaviest = found.trays[0].weight_g
    assert heaviest == pytest.approx(80.1 * (pieces + 1) / 2)
    assert (heaviest - found.least_heaviest_g < 0.01) is proved

"""When a supply is ordered again, and what is left of it.

The formula d L + z s sqrt(L) is the standard one of stock keeping for demand that varies over a
fixed delivery time (any textbook of inventory control); 12 × 5 + 1.645 × 4 × sqrt 5 = 74.7.
"""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as some

from assembly.rules.computing.on_hand import Lot, left_of
from assembly.rules.computing.reorder import Demand, reorder_point, z_of


def test_the_check_figure() -> None:
    assert reorder_point(12, 5, 4, 1.645) == pytest.approx(74.7, abs=0.05)


@pytest.mark.parametrize(
    ("service", "z"), [(0.5, 0), (0.9, 1.2816), (0.95, 1.6449), (0.99, 2.3263)]
)
def test_quantiles_as_any_table_of_the_normal_distribution_has_them(
    service: float, z: float
) -> None:
    assert z_of(service) == pytest.approx(z, abs=0.0001)


def test_use_that_never_varies_asks_for_the_days_alone() -> None:
    steady = Demand((12,) * 30)
    assert reorder_point(steady.a_day, 5, steady.deviation, 1.645) == 60


def test_days_of_nothing_count_and_the_deviation_is_of_a_sample() -> None:
    """2, 4, 4, 4, 5, 5, 7, 9: mean 5; squares 32, over 7 (a sample) is 4.571."""
    demand = Demand((2, 4, 4, 4, 5, 5, 7, 9))
    assert demand.a_day == 5 and demand.deviation == pytest.approx(math.sqrt(32 / 7))
    assert Demand((4, 0)).a_day == 2 and Demand((4, 0)).deviation == pytest.approx(math.sqrt(8))
    assert (Demand(()).a_day, Demand((3,)).deviation) == (0, 0)


def test_less_than_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        reorder_point(-1, 5, 4, 1.645)


EARLY, LATE = date(2026, 1, 1), date(2027, 1, 1)


def test_the_first_to_expire_goes_first_and_the_undated_last() -> None:
    came = [Lot(10, "U"), Lot(10, "L", LATE), Lot(10, "E", EARLY)]
    assert left_of(came, {"": 15}) == [Lot(5, "L", LATE), Lot(10, "U")]


def test_a_lot_that_is_named_goes_down_by_itself() -> None:
    came = [Lot(10, "L", LATE), Lot(10, "E", EARLY)]
    assert left_of(came, {"l": 4}) == [Lot(10, "E", EARLY), Lot(6, "L", LATE)]


def test_on_its_last_day_it_is_not_expired() -> None:
    assert not Lot(1, "E", EARLY).is_expired(EARLY)
    assert Lot(1, "E", EARLY).is_expired(date(2026, 1, 2))


@given(
    some.lists(some.tuples(some.integers(0, 50), some.sampled_from(["", "A", "B"])), max_size=4),
    some.dictionaries(some.sampled_from(["", "A", "B", "C"]), some.integers(0, 80)),
)
def test_nothing_is_lost_and_nothing_goes_below_nothing(
    came: list[tuple[int, str]], used: dict[str, int]
) -> None:
    left = left_of([Lot(*one) for one in came], used)
    total = sum(one for one, _ in came)
    assert sum(one.quantity for one in left) == max(0, total - sum(used.values()))

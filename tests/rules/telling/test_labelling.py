"""Lot numbers, use-by dates and where a label is stuck."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.telling.labelling import placement, use_by
from catalog.vocabulary import Kind

DAYS = st.dates(date(2000, 1, 1), date(2090, 1, 1))
MONTHS = st.integers(1, 120)


@given(day=DAYS, months=MONTHS)
def test_it_is_so_many_months_later(day: date, months: int) -> None:
    until = use_by(day, [months])
    assert until and (until.year - day.year) * 12 + until.month - day.month == months


@given(day=DAYS, months=MONTHS)
def test_it_is_never_a_later_day_of_the_month(day: date, months: int) -> None:
    until = use_by(day, [months])
    assert until and until.day <= day.day


@given(day=DAYS, months=st.lists(st.one_of(st.none(), MONTHS), min_size=1))
def test_the_shortest_known_counts(day: date, months: list[int | None]) -> None:
    known = [use_by(day, [one]) for one in months if one is not None]
    assert use_by(day, months) == min(filter(None, known), default=None)


def test_a_leap_day_ends_a_month() -> None:
    assert use_by(date(2027, 8, 31), [6]) == date(2028, 2, 29)


def test_every_kind_of_package_has_its_place() -> None:
    assert all(placement(kind) for kind in Kind)

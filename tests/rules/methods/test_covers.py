"""Smallest hitting sets and covers, against trying every one."""

from __future__ import annotations

import tomllib
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.methods.covers import smallest_cover, smallest_hitting_set
from assembly.rules.policy.values import default_policy

POLICY = default_policy(date(2026, 1, 1))
OPEN_POLICY = default_policy(date(2026, 1, 1), {"unknown_maximum": "open"})
CASES = tomllib.loads((Path(__file__).parents[1] / "cases/cycles.toml").read_text("utf-8"))


families = st.lists(st.integers(1, 127), min_size=1, max_size=7)


@given(families)
def test_hitting_set_against_trying_every_set(masks):
    sizes = {}
    for taken in range(128):
        if all(taken & mask for mask in masks):
            sizes.setdefault(taken.bit_count(), []).append(taken)
    least = min(sizes)
    hitting = smallest_hitting_set(masks)
    assert (len(hitting.members), hitting.count) == (least, len(sizes[least]))


@given(families)
def test_cover_against_trying_every_choice(masks):
    everything = 0
    for mask in masks:
        everything |= mask

    def whole(choice) -> bool:
        held = 0
        for n in choice:
            held |= masks[n]
        return held == everything

    least = next(
        k
        for k in range(1, len(masks) + 1)
        if any(whole(choice) for choice in combinations(range(len(masks)), k))
    )
    assert len(smallest_cover(everything, masks).chosen) == least


def test_a_search_that_stops_says_so():
    masks = [1 << a | 1 << b for a, b in combinations(range(9), 2)]
    assert not smallest_hitting_set(masks, limit=5).proved


def test_a_member_in_no_set_is_refused():
    with pytest.raises(ValueError, match="none of the sets"):
        smallest_cover(0b11, [0b01])


def test_a_set_that_another_holds_is_not_chosen():
    """The first holds one member, the last that and another."""
    assert smallest_cover(0b11111, [0b00001, 0b11110, 0b00011]).chosen == (1, 2)

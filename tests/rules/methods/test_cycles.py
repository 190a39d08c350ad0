"""Common cycles, conflicts and splits: worked cases, brute force on small sets, properties."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.checks import FactsError
from assembly.rules.methods.clashes import what_clashes
from assembly.rules.methods.cycle_options import Member, Option, common_cycles, meet, merged
from assembly.rules.methods.cycles import CycleSplit, smallest_conflict, smallest_split
from assembly.rules.methods.offers import free_offers
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Method

POLICY = default_policy(date(2026, 1, 1))
OPEN_POLICY = default_policy(date(2026, 1, 1), {"unknown_maximum": "open"})
CASES = tomllib.loads((Path(__file__).parents[1] / "cases/cycles.toml").read_text("utf-8"))


def named(options: Mapping[str, Sequence[Option]]) -> tuple[Member, ...]:
    """Members from options by name, equal ones merged."""
    return merged(Member((name,), tuple(found)) for name, found in options.items())


def option(raw: dict) -> Option:
    bounds = {name: tuple(raw[name]) for name in raw if name not in ("method", "class")}
    return Option(Method(raw["method"]), raw.get("class", ""), bounds)


def members(names) -> tuple[Member, ...]:
    return named({name: [option(raw) for raw in CASES["options"][name]] for name in names})


@pytest.fixture(params=CASES["case"], ids=lambda case: case["id"])
def case(request):
    return request.param


def test_common_cycles_of_the_worked_sets(case):
    found = [cycle.option for cycle in common_cycles(members(case["set"]))]
    assert found == [option(raw) for raw in case["common"]]


def test_smallest_conflict_of_the_worked_sets(case):
    set_ = members(case["set"])
    conflict = smallest_conflict(set_, free_offers(set_))
    answer = (conflict.names, conflict.count) if conflict else ((), None)
    assert answer == (tuple(case.get("conflict", ())), case.get("smallest"))


def test_fewest_groups_of_the_worked_sets(case):
    set_ = members(case["set"])
    split = smallest_split(set_, free_offers(set_))
    assert (len(split.groups), split.orphans, split.proved) == (case["groups"], (), True)


def test_every_pair_of_the_triple_that_conflicts_is_compatible():
    assert all(common_cycles(members(pair)) for pair in combinations("XYZ", 2))


def test_the_groups_of_the_largest_worked_set_have_their_own_cycles():
    set_ = members("ABCDF")
    groups = smallest_split(set_, free_offers(set_)).groups
    found = {group.names: (group.cycle.option.klass, group.cycle.point) for group in groups}
    assert found == {
        ("A", "B"): ("132-135", {"exposure": 4, "drying": 20}),
        ("C", "D"): ("", {"exposure": 28}),
        ("F",): ("121", {"exposure": 15, "drying": 15}),
    }


def test_the_bounds_name_who_sets_them():
    assert common_cycles(members("AB"))[0].set_by == {
        "exposure": ("A", "B"),
        "drying": ("A", ""),
    }


def test_the_reason_names_the_parameter_and_both_bounds():
    assert what_clashes(members("BC")) == ("B bears at most 4 min of exposure, C needs at least 5")


def test_the_reason_without_a_shared_class():
    assert what_clashes(members("BF")) == "B is for 132-135, F for 121"


def test_bounds_the_wrong_way_round_are_refused():
    with pytest.raises(FactsError, match="exposure"):
        Option(Method.STEAM, "121", {"exposure": (5, 4)})


def test_no_members_have_no_common_cycle():
    assert common_cycles(()) == ()


def test_no_members_have_no_conflict():
    assert smallest_conflict((), ()) is None


def test_134_does_not_serve_132():
    assert meet(Option(Method.STEAM, "134"), Option(Method.STEAM, "132")) is None


def test_equal_options_are_merged():
    same = Option(Method.EO, "", {"exposure": (60, 60)})
    assert [m.names for m in named({"A": [same], "B": [same]})] == [("A", "B")]


# --- properties and brute force -------------------------------------------------------

CLASSES = [(Method.STEAM, "121"), (Method.STEAM, "134"), (Method.EO, ""), (Method.H2O2, "long")]


@st.composite
def options(draw) -> Option:
    method, klass = draw(st.sampled_from(CLASSES))
    low = draw(st.integers(1, 6))
    bounds = {"exposure": (low, low + draw(st.integers(0, 3)))}
    if draw(st.booleans()):
        bounds["drying"] = (draw(st.integers(0, 3)), math.inf)
    return Option(method, klass, bounds)


sets = st.lists(st.lists(options(), min_size=1, max_size=3), min_size=1, max_size=6).map(
    lambda lists: named({f"i{n}": found for n, found in enumerate(lists)})
)


def fits(group) -> bool:
    return bool(common_cycles(group))


@given(sets)
def test_the_conflict_is_as_small_as_trying_every_group_finds(set_):
    conflict = smallest_conflict(set_, free_offers(set_))
    sizes = range(1, len(set_) + 1)
    apart_ = {k: [g for g in combinations(set_, k) if not fits(g)] for k in sizes}
    least = next((k for k in sizes if apart_[k]), None)
    expected = (least, len(apart_[least])) if least else None
    assert (conflict and (len(conflict.names), conflict.count)) == expected


@given(sets)
def test_the_groups_are_as_few_as_trying_every_split_finds(set_):
    split = smallest_split(set_, free_offers(set_))
    assert len(split.groups) == fewest(set_)


def fewest(set_) -> int:
    """Fewest groups by dynamic programming over all subsets."""
    best = {0: 0}
    whole = (1 << len(set_)) - 1
    good = [
        mask
        for mask in range(1, whole + 1)
        if fits([member for n, member in enumerate(set_) if mask >> n & 1])
    ]
    for mask in range(1, whole + 1):
        best[mask] = min(1 + best[mask & ~part] for part in good if part & mask == part)
    return best[whole]


@given(sets)
def test_every_corner_of_a_common_cycle_is_allowed_by_all(set_):
    for cycle in common_cycles(set_):
        for pick in (0, 1):
            corner = {
                name: (bounds[pick], bounds[pick])
                for name, bounds in cycle.option.bounds.items()
                if math.isfinite(bounds[pick])
            }
            point = Option(cycle.option.method, cycle.option.klass, corner)
            assert all(any(meet(point, option) for option in member.options) for member in set_)


@given(sets, st.randoms(use_true_random=False))
def test_the_order_of_the_set_changes_no_common_cycle(set_, random):
    mixed = list(set_)
    random.shuffle(mixed)
    assert [c.option for c in common_cycles(mixed)] == [c.option for c in common_cycles(set_)]


@given(sets)
def test_another_instrument_never_enlarges_what_is_common(set_):
    fewer = common_cycles(set_[:-1]) if len(set_) > 1 else common_cycles(set_)
    assert all(
        any(wide.option.holds(narrow.option) for wide in fewer) for narrow in common_cycles(set_)
    )


@given(sets)
def test_without_one_of_its_members_a_smallest_conflict_is_none(set_):
    conflict = smallest_conflict(set_, free_offers(set_))
    group = [member for member in set_ if conflict and member.name in conflict.names]
    assert all(fits([m for m in group if m is not gone]) for gone in group if len(group) > 1)


@given(sets)
def test_one_group_exactly_when_something_is_common(set_):
    assert (len(smallest_split(set_, free_offers(set_)).groups) == 1) == fits(set_)


@given(sets)
def test_every_bound_has_somebody_who_sets_it(set_):
    for cycle in common_cycles(set_):
        for name, (low, high) in cycle.option.bounds.items():
            least, most = cycle.set_by[name]
            assert (bool(least), bool(most)) == (math.isfinite(low), math.isfinite(high))


@pytest.mark.parametrize(("names", "said"), [("a", "a"), ("ab", "a and b"), ("abc", "a, b and c")])
def test_whatever_no_cycle_serves_is_named(names, said):
    assert CycleSplit((), tuple(names)).sentences()[0] == f"No cycle serves {said}."

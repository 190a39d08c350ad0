"""Common cycles, conflicts and splits: worked cases, brute force on small sets, properties."""

from __future__ import annotations

import math
import tomllib
from datetime import date
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.packing.covers import smallest_cover, smallest_hitting_set
from assembly.packing.cycle_options import Member, Option, common_cycles, meet, option_from
from assembly.packing.cycles import (
    apart,
    common_cycle_finding,
    free_offers,
    named,
    smallest_conflict,
    smallest_split,
    split_by_cycle,
)
from assembly.packing.facts import CycleOption, FactsError, Instrument, Method, Programme
from assembly.packing.findings import Status
from assembly.packing.policy import default_policy
from assembly.packing.routes import accepts

POLICY = default_policy(date(2026, 1, 1))
OPEN_POLICY = default_policy(date(2026, 1, 1), {"unknown_maximum": "open"})
CASES = tomllib.loads((Path(__file__).parent / "cases/cycles.toml").read_text("utf-8"))


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
    assert apart(*members("BC")) == (
        "in steam 132-135 °C, B allows at most 4 min of exposure and C needs at least 5 min"
    )


def test_the_reason_without_a_shared_class():
    assert apart(*members("BF")) == "they share no method with the same class"


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


# --- from an instrument's instructions ------------------------------------------------


def steam(low=None, high=None, drying=None, at=134.0) -> CycleOption:
    return CycleOption(
        method=Method.STEAM,
        temperature_c=at,
        exposure_min=low,
        exposure_max=high,
        drying_min=drying,
    )


def test_a_missing_longest_exposure_is_read_strictly():
    assert option_from(steam(4), POLICY).bounds["exposure"] == (4, 4)


def test_a_missing_longest_exposure_may_be_read_as_open():
    assert option_from(steam(4), OPEN_POLICY).bounds["exposure"] == (4, math.inf)


def test_a_missing_least_exposure_is_unknown():
    assert option_from(steam(None, 18), POLICY).missing == ("exposure_min",)


def test_a_missing_temperature_of_steam_is_unknown():
    assert option_from(steam(4, at=None), POLICY).missing == ("temperature_c",)


def test_a_missing_temperature_of_another_method_is_no_lack():
    cycle = CycleOption(method=Method.H2O2, exposure_min=28)
    assert option_from(cycle, POLICY).missing == ()


def piece(name: str, *cycles: CycleOption) -> Instrument:
    return Instrument(name=name, cycles=cycles)


P134 = Programme(code="P134", method=Method.STEAM, temperature_c=134, exposure_min=4, drying_min=20)
P121 = Programme(
    code="P121", method=Method.STEAM, temperature_c=121, exposure_min=30, drying_min=30
)


def test_a_cycle_that_all_allow_is_met():
    pieces = [piece("clamp", steam(3, 18)), piece("probe", steam(4, 6, 20))]
    finding = common_cycle_finding(pieces, None, POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.MET,
        "One cycle serves all: steam 134 °C, drying at least 20 min (set: the least by probe), "
        "exposure 4 to 6 min (set: the least by probe and the most by probe).",
    )


def test_a_conflict_is_not_met_and_names_both():
    pieces = [piece("clamp", steam(3, 4)), piece("probe", steam(5, 6))]
    finding = common_cycle_finding(pieces, None, POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.NOT_MET,
        "clamp and probe have no cycle in common: in steam 134 °C, clamp allows at most 4 min "
        "of exposure and probe needs at least 5 min.",
    )


def test_an_instrument_without_cycles_cannot_be_told():
    finding = common_cycle_finding([piece("clamp", steam(3, 4)), piece("odd")], None, POLICY)
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("cycles",))


def test_a_missing_exposure_cannot_be_told():
    pieces = [piece("clamp", steam(3, 4)), piece("odd", steam())]
    finding = common_cycle_finding(pieces, None, POLICY)
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("exposure_min",))


def test_a_proved_conflict_stays_one_beside_an_unknown_instrument():
    pieces = [piece("clamp", steam(3, 4)), piece("probe", steam(5, 6)), piece("odd")]
    assert common_cycle_finding(pieces, None, POLICY).status is Status.NOT_MET


def test_an_empty_set_cannot_be_told():
    assert common_cycle_finding([], None, POLICY).status is Status.CANNOT_TELL


def test_a_set_of_which_nothing_is_known_cannot_be_told():
    assert common_cycle_finding([piece("odd")], None, POLICY).status is Status.CANNOT_TELL


def test_a_programme_that_all_accept_is_met():
    pieces = [piece("clamp", steam(3, 18)), piece("probe", steam(4, 6, 20))]
    finding = common_cycle_finding(pieces, (P121, P134), POLICY)
    assert finding.sentence() == ("P134 (steam 134 °C, 4 min, dry 20 min) serves every instrument.")


def test_a_department_without_programmes_is_not_met():
    finding = common_cycle_finding([piece("clamp", steam(3, 18))], (), POLICY)
    assert finding.status is Status.NOT_MET


def test_programmes_that_serve_only_parts_are_not_met():
    pieces = [piece("clamp", steam(3, 18)), piece("cup", steam(20, 40, at=121))]
    finding = common_cycle_finding(pieces, (P121, P134), POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.NOT_MET,
        "clamp and cup have no cycle in common: between them they refuse P121 and P134.",
    )


def test_one_instrument_that_refuses_every_programme_is_named_alone():
    pieces = [piece("clamp", steam(3, 18)), piece("cup", steam(50, 60, at=121))]
    finding = common_cycle_finding(pieces, (P121, P134), POLICY)
    assert finding.sentence() == ("cup alone rules out every cycle: it refuses P121 and P134.")


def test_a_programme_and_an_unknown_exposure_cannot_be_told():
    pieces = [piece("clamp", steam(3, 18)), piece("odd", steam())]
    finding = common_cycle_finding(pieces, (P134,), POLICY)
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("exposure_min",))


def test_strict_reading_refuses_a_longer_programme():
    finding = common_cycle_finding([piece("clamp", steam(3))], (P134,), POLICY)
    assert finding.status is Status.NOT_MET


def test_open_reading_accepts_a_longer_programme():
    finding = common_cycle_finding([piece("clamp", steam(3))], (P134,), OPEN_POLICY)
    assert finding.status is Status.MET


def test_orphans_are_named_first():
    pieces = [piece("odd"), piece("clamp", steam(3, 4)), piece("probe", steam(5, 6))]
    assert split_by_cycle(pieces, None, POLICY).sentences() == (
        "No cycle serves odd.",
        "clamp: steam 134 °C, exposure 3 to 4 min (set: the least by clamp and the most by clamp).",
        "probe: steam 134 °C, exposure 5 to 6 min (set: the least by probe and the most by probe).",
    )


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


programmes = st.lists(
    st.builds(
        lambda temperature, exposure: (temperature, exposure),
        st.sampled_from([121.0, 134.0]),
        st.integers(1, 9),
    ),
    min_size=1,
    max_size=5,
).map(
    lambda pairs: [
        Programme(code=f"P{n}", method=Method.STEAM, temperature_c=t, exposure_min=e)
        for n, (t, e) in enumerate(pairs)
    ]
)
pieces = st.lists(
    st.builds(
        lambda t, low, more: steam(low, low + more, at=t),
        st.sampled_from([121.0, 134.0]),
        st.integers(1, 6),
        st.integers(0, 4),
    ),
    min_size=1,
    max_size=5,
).map(lambda cycles: [piece(f"i{n}", cycle) for n, cycle in enumerate(cycles)])


@given(pieces, programmes)
def test_another_programme_never_splits_further_those_served_before(found, run):
    fewer = split_by_cycle(found, run[:-1], POLICY)
    more = split_by_cycle(found, run, POLICY)
    assert len(more.groups) + len(more.orphans) <= len(fewer.groups) + len(fewer.orphans)


@given(pieces, programmes)
def test_a_group_accepts_its_programme(found, run):
    cycles = {p.name: p.cycles for p in found}
    for group in split_by_cycle(found, run, POLICY).groups:
        answers = [accepts(cycles[name][0], group.cycle, POLICY)[0] for name in group.names]
        assert set(answers) == {"yes"}


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

"""A set's common cycle as a finding: unknowns, strict reading, the department's programmes."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Status
from assembly.rules.methods.accepting import Says, accepts
from assembly.rules.methods.cycle_options import option_from
from assembly.rules.methods.cycles import common_cycle_finding, split_by_cycle
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import AirRemoval, Method

POLICY = default_policy(date(2026, 12, 1), {"unknown_maximum": "same as the minimum"})
OPEN_POLICY = default_policy(date(2026, 12, 1))
CASES = tomllib.loads((Path(__file__).parents[1] / "cases/cycles.toml").read_text("utf-8"))


def steam(low=None, high=None, drying=None, at=134.0) -> CycleOption:
    return CycleOption(
        method=Method.STEAM,
        temperature_c=at,
        air_removal=AirRemoval.DYNAMIC,
        exposure_min=low,
        exposure_max=high,
        drying_min=drying,
    )


def test_a_missing_longest_exposure_is_read_strictly():
    assert option_from(steam(4), POLICY).bounds["exposure"] == (4, 4)


def test_a_missing_longest_exposure_may_be_read_as_open():
    assert option_from(steam(4), OPEN_POLICY).bounds["exposure"] == (4, 18)


def test_a_missing_least_exposure_is_unknown():
    assert option_from(steam(None, 18), POLICY).missing == ("exposure_min",)


def test_a_missing_temperature_of_steam_is_unknown():
    assert option_from(steam(4, at=None), POLICY).missing == ("temperature_c",)


def test_a_missing_temperature_of_another_method_is_no_lack():
    cycle = CycleOption(method=Method.EO, exposure_min=60)
    assert option_from(cycle, POLICY).missing == ()


def piece(name: str, *cycles: CycleOption) -> Instrument:
    return Instrument(name=name, cycles=cycles)


def run(code: str, at: float, exposure: float, drying: float = 20) -> Programme:
    return Programme(
        code=code, method=Method.STEAM, temperature_c=at, exposure_min=exposure,
        drying_min=drying, air_removal=AirRemoval.DYNAMIC,
    )  # fmt: skip


P134, P121 = run("P134", 134, 4), run("P121", 121, 30, 30)


def test_a_cycle_that_all_allow_is_met():
    pieces = [piece("clamp", steam(3, 18)), piece("probe", steam(4, 6, 20))]
    finding = common_cycle_finding(pieces, None, POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.MET,
        "One cycle serves all: dynamic air removal steam, 134 °C, "
        "drying at least 20 min (set: the least by probe), "
        "exposure 4 to 6 min (set: the least by probe and the most by probe).",
    )


def test_a_conflict_is_not_met_and_names_both():
    pieces = [piece("clamp", steam(3, 4)), piece("probe", steam(5, 6))]
    finding = common_cycle_finding(pieces, None, POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.NOT_MET,
        "clamp bears at most 4 min of exposure, probe needs at least 5, and no cycle serves both.",
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
    assert finding.sentence() == (
        "P134 (dynamic air removal steam 134 °C, 4 min, dry 20 min) serves every instrument."
    )


def test_a_department_without_programmes_is_not_met():
    finding = common_cycle_finding([piece("clamp", steam(3, 18))], (), POLICY)
    assert finding.status is Status.NOT_MET


def test_programmes_that_serve_only_parts_are_not_met():
    pieces = [piece("clamp", steam(3, 18)), piece("cup", steam(20, 40, at=121))]
    finding = common_cycle_finding(pieces, (P121, P134), POLICY)
    assert (finding.status, finding.sentence()) == (
        Status.NOT_MET,
        "clamp is for 134 °C, cup for 121 °C, and no cycle serves both.",
    )


def test_one_instrument_that_refuses_every_programme_is_named_alone():
    pieces = [piece("clamp", steam(3, 18)), piece("cup", steam(50, 60, at=121))]
    finding = common_cycle_finding(pieces, (P121, P134), POLICY)
    assert finding.sentence() == (
        "cup alone rules out every cycle: it needs at least 50 min, this gives 30 (P121)."
    )


def test_groups_that_clash_are_counted_with_an_example():
    low = [piece(f"cup {n}", steam(20, 40, at=121)) for n in range(3)]
    high = [piece(f"clamp {n}", steam(3, 18)) for n in range(2)]
    finding = common_cycle_finding([*high, *low], (P121, P134), POLICY)
    assert finding.sentence() == (
        "2 instruments, such as clamp 0, are for 134 °C, 3, such as cup 0, for 121 °C, "
        "and no cycle serves both."
    )


def test_one_instrument_that_all_others_can_do_without_is_named():
    pieces = [piece("clamp", steam(3, 18)), piece("probe", steam(4, 6, 20)),
              piece("cup", steam(20, 40, at=121))]  # fmt: skip
    finding = common_cycle_finding(pieces, (P134,), POLICY)
    assert finding.sentence() == (
        "P134 would serve all but cup, which is for dynamic air removal steam 121 °C."
    )


BANDED = [piece("clamp", steam(3, 18, at=132)), piece("cup", steam(3, 18, at=134))]


def test_the_band_that_the_policy_leaves_out_is_named_where_it_would_free_a_set():
    finding = common_cycle_finding(BANDED, (P134,), POLICY)
    assert finding.sentence().endswith(
        "With the policy's temperature band, which is off, P134 would serve all."
    )


def test_no_band_is_named_where_it_would_not_help():
    pieces = [BANDED[0], piece("cup", steam(20, 40, at=121))]
    assert "band" not in common_cycle_finding(pieces, (P134,), POLICY).sentence()


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
        "clamp: dynamic air removal steam, 134 °C, "
        "exposure 3 to 4 min (set: the least by clamp and the most by clamp).",
        "probe: dynamic air removal steam, 134 °C, "
        "exposure 5 to 6 min (set: the least by probe and the most by probe).",
    )


# --- properties --------------------------------------------------------------------

programmes = st.lists(
    st.builds(
        lambda temperature, exposure: (temperature, exposure),
        st.sampled_from([121.0, 134.0]),
        st.integers(1, 9),
    ),
    min_size=1,
    max_size=5,
).map(lambda pairs: [run(f"P{n}", t, e) for n, (t, e) in enumerate(pairs)])
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
def test_another_programme_never_splits_further_those_served_before(found, runs):
    fewer = split_by_cycle(found, runs[:-1], POLICY)
    more = split_by_cycle(found, runs, POLICY)
    assert len(more.groups) + len(more.orphans) <= len(fewer.groups) + len(fewer.orphans)


@given(pieces, programmes)
def test_a_group_accepts_its_programme(found, runs):
    cycles = {p.name: p.cycles for p in found}
    for group in split_by_cycle(found, runs, POLICY).groups:
        answers = [accepts(cycles[name][0], group.cycle, POLICY).says for name in group.names]
        assert set(answers) == {Says.YES}

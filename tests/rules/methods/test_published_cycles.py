"""Published least times: the rule's four states, and a loader that reads strictly."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.findings import Status
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.published import (
    Basis,
    load,
    published_for,
    published_rows,
)
from assembly.rules.policy.values import default_policy
from catalog.data_files import DataError
from catalog.vocabulary import AirRemoval, ItemClass, Method

POLICY = default_policy(date(2026, 12, 1))
DYNAMIC = AirRemoval.DYNAMIC


def programme(
    at=132.0, exposure=4.0, drying=20.0, method=Method.STEAM, air_removal=DYNAMIC
) -> Programme:
    return Programme(
        code="P", method=method, temperature_c=at, exposure_min=exposure, drying_min=drying,
        air_removal=air_removal,
    )  # fmt: skip


def ifu(at=132.0, low=3.0, high=18.0, drying=15.0) -> CycleOption:
    return CycleOption(
        method=Method.STEAM,
        temperature_c=at,
        air_removal=DYNAMIC,
        exposure_min=low,
        exposure_max=high,
        drying_min=drying,
    )


def asked(cycle, stated=()):
    return published_minimum_finding(cycle, Contents(), POLICY, stated=stated)


def test_exactly_the_published_times_are_met():
    assert asked(programme()).status is Status.MET


@pytest.mark.parametrize("change", [{"exposure": 3.9}, {"drying": 19.9}])
def test_a_shorter_cycle_is_not_met(change):
    assert asked(programme(**change)).status is Status.NOT_MET


def test_a_shorter_cycle_that_the_ifu_states_is_met():
    assert asked(programme(exposure=3), stated=(ifu(),)).status is Status.MET


def test_the_sentence_says_that_the_ifu_rules():
    assert asked(programme(exposure=3), stated=(ifu(),)).sentence() == (
        "Its exposure of 3 min is below the published 4 min, but the instrument's IFU states "
        "this shorter cycle, and the IFU rules. Published: dynamic air removal, instruments: "
        "132 °C, 4 min, dry 20 to 30 min."
    )


def test_an_ifu_with_a_longer_exposure_does_not_excuse_a_shorter_cycle():
    assert asked(programme(exposure=3), stated=(ifu(low=4),)).status is Status.NOT_MET


def test_an_ifu_silent_on_drying_does_not_excuse_short_drying():
    finding = asked(programme(drying=15), stated=(ifu(drying=None),))
    assert finding.status is Status.NOT_MET


def test_an_ifu_silent_on_drying_may_still_state_a_short_exposure():
    assert asked(programme(exposure=3), stated=(ifu(drying=None),)).status is Status.MET


def test_an_ifu_with_a_missing_exposure_cannot_be_told():
    finding = asked(programme(exposure=3), stated=(ifu(low=None),))
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("cycles",))


def test_an_ifus_own_shorter_cycle_is_met():
    assert asked(ifu()).status is Status.MET


@pytest.mark.parametrize(
    ("change", "field"),
    [({"exposure": None}, "exposure_min"), ({"drying": None}, "drying_min")],
)
def test_a_missing_time_cannot_be_told(change, field):
    finding = asked(programme(**change))
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, (field,))


def test_a_missing_temperature_cannot_be_told():
    finding = asked(programme(at=None))
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("temperature_c",))


def test_an_unknown_sterilizer_cannot_be_told_where_they_differ():
    finding = asked(programme(air_removal=None))
    assert (finding.status, finding.missing) == (Status.CANNOT_TELL, ("air_removal",))


def test_an_unknown_sterilizer_is_met_where_both_agree():
    assert asked(programme(exposure=15, air_removal=None)).status is Status.MET


def test_another_method_does_not_apply():
    finding = asked(programme(at=None, method=Method.H2O2))
    assert finding.status is Status.DOES_NOT_APPLY


def test_no_published_row_does_not_apply():
    assert asked(programme(at=121, exposure=30)).status is Status.DOES_NOT_APPLY


def test_below_the_holding_time_is_not_met_even_without_another_row():
    assert asked(programme(at=126, exposure=9.9)).status is Status.NOT_MET


def test_the_holding_time_alone_never_passes():
    assert asked(programme(at=126, exposure=10)).status is Status.DOES_NOT_APPLY


@pytest.mark.parametrize(
    ("kind", "at", "exposure", "drying"),
    [
        (DYNAMIC, 135, 3, 16),  # FDA 510(k) K202462, K210810, in a secondary source
        (DYNAMIC, 134, 3, 20),  # FDA 510(k) K153540, in a secondary source
        (AirRemoval.GRAVITY, 135, 10, 30),  # FDA 510(k) K202462, K153540, K210810, secondary
    ],
)
def test_other_published_points(kind, at, exposure, drying):
    row = published_for(kind, ItemClass.INSTRUMENTS, at)
    found = (row.exposure_min, row.drying_from_min, row.confidence)
    assert found == (exposure, drying, "2")


def test_holding_times():
    """121 °C 15 min, 126 °C 10 min, 134 °C 3 min: quoted from the ISO set (secondary)."""
    rows = [r for r in published_rows() if r.basis is Basis.HOLDING]
    assert [(r.temperature_c, r.exposure_min) for r in rows] == [(121, 15), (126, 10), (134, 3)]


# --- the loader: one broken file per failure ------------------------------------------

GOOD = """
last_checked = 2026-11-25
[[row]]
sterilizer = "gravity"
item = "instruments"
basis = "wrapped minimum"
temperature_c = 121
exposure_min = 30
drying_from_min = 15
drying_to_min = 30
source = "a source"
confidence = "S"
"""
ROW = GOOD[GOOD.index("[[row]]") :]


def test_the_good_file_is_read(tmp_path):
    path = tmp_path / "cycles.toml"
    path.write_text(GOOD, "utf-8")
    assert len(load(path)) == 1


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (GOOD + "x = [", "whole file"),
        (GOOD.replace("last_checked = 2026-11-25", ""), "last_checked"),
        (GOOD.replace("2026-11-25", '"2026-11-25"'), "write a date"),
        ("last_checked = 2026-11-25", "row: is missing"),
        ("last_checked = 2026-11-25\nrow = []", "at least one row"),
        (GOOD + "colour = 1", "row 1.colour: is not a key"),
        (GOOD.replace('source = "a source"', ""), "row 1.source: is missing"),
        (GOOD.replace('"a source"', '" "'), "row 1.source: must name"),
        (GOOD.replace('"S"', '"sure"'), "row 1.confidence"),
        (GOOD.replace('"gravity"', '"downward"'), "downward"),
        (GOOD.replace('"instruments"', '"cutlery"'), "cutlery"),
        (GOOD.replace('"wrapped minimum"', '"guess"'), "guess"),
        (GOOD.replace("exposure_min = 30", "exposure_min = 0"), "above 0"),
        (GOOD.replace("exposure_min = 30", 'exposure_min = "30"'), "must be a number"),
        (GOOD.replace("exposure_min = 30", "exposure_min = 3000"), "beyond"),
        (GOOD.replace("drying_to_min = 30", ""), "or neither"),
        (GOOD.replace("drying_to_min = 30", "drying_to_min = 14"), "below 15"),
        (GOOD.replace('item = "instruments"', ""), "names its sterilizer and its item"),
        (GOOD + ROW, "row 2: answers the same question"),
    ],
)
def test_a_broken_file_is_refused_with_its_name_and_key(tmp_path, broken, says):
    path = tmp_path / "cycles.toml"
    path.write_text(broken, "utf-8")
    with pytest.raises(DataError) as refused:
        load(path)
    assert says in str(refused.value) and str(refused.value).startswith("cycles.toml: ")

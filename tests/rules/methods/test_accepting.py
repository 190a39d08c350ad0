"""What an IFU's cycle says to a cycle that a sterilizer runs, fact by fact."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.methods.accepting import Answer, Says, accepts
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.offers import cautions_of
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import AirRemoval, ItemClass, Method

ON = date(2026, 12, 1)
POLICY = default_policy(ON)
GRAVITY, DYNAMIC, EITHER = AirRemoval
YES, CANNOT_TELL, NO = Says


def ifu(at=134.0, low=3.0, **more) -> CycleOption:
    return CycleOption(**{"method": Method.STEAM, "temperature_c": at, "exposure_min": low} | more)


def run(at=134.0, exposure=3.0, **more) -> Programme:
    facts = {"air_removal": DYNAMIC, "drying_min": 30, "method": Method.STEAM} | more
    return Programme(code="P", temperature_c=at, exposure_min=exposure, **facts)


def says(option, programme, contents=Contents(), policy=POLICY) -> Says:  # noqa: B008
    return accepts(option, programme, policy, contents).says


class TestTemperature:
    @pytest.mark.parametrize(("at", "answer"), [(131.9, NO), (132, YES), (134, YES), (135, YES),
                                                (135.1, NO)])  # fmt: skip
    def test_a_range_takes_what_lies_in_it(self, at, answer):
        option = ifu(132, 4, temperature_to_c=135, drying_min=20)
        assert says(option, run(at, 4)) is answer

    def test_132_and_134_still_clash(self):
        assert says(ifu(132, 4), run(134, 4)) is NO

    @pytest.mark.parametrize(("at", "answer"), [(134, YES), (135, YES), (135.1, NO), (131, NO)])
    def test_with_the_band_of_the_sterilizer_134_serves_132(self, at, answer):
        policy = default_policy(ON, {"temperature_band": True})
        assert says(ifu(132, 4, drying_min=20), run(at, 4), policy=policy) is answer

    def test_the_band_is_said(self):
        policy = default_policy(ON, {"temperature_band": True})
        assert "band" in accepts(ifu(132, 4, drying_min=20), run(134, 4), policy).caution

    @pytest.mark.parametrize("change", [{"at": None}])
    def test_an_unknown_temperature_cannot_be_told(self, change):
        assert says(ifu(**change), run()) is CANNOT_TELL
        assert says(ifu(), run(**change)) is CANNOT_TELL


class TestExposure:
    @pytest.mark.parametrize(
        ("exposure", "answer"), [(2.9, NO), (3, YES), (18, YES), (18.1, CANNOT_TELL)]
    )
    def test_without_a_printed_longest_steam_is_open_up_to_18_min(self, exposure, answer):
        assert says(ifu(), run(exposure=exposure)) is answer

    def test_a_longer_exposure_is_said(self):
        assert accepts(ifu(), run(exposure=4), POLICY).caution

    def test_the_same_exposure_needs_no_caution(self):
        assert accepts(ifu(), run(), POLICY) == Answer(YES)

    @pytest.mark.parametrize(("exposure", "answer"), [(4, YES), (4.1, NO)])
    def test_a_printed_longest_binds(self, exposure, answer):
        assert says(ifu(exposure_max=4), run(exposure=exposure)) is answer

    def test_scopes_and_powered_devices_take_no_longer_exposure(self):
        assert says(ifu(), run(exposure=4), Contents(delicate=True)) is CANNOT_TELL

    @pytest.mark.parametrize("method", [Method.EO, Method.LTSF])
    def test_no_other_method_takes_a_longer_exposure(self, method):
        option = ifu(55, 60, method=method)
        assert says(option, run(55, 61, method=method)) is CANNOT_TELL

    def test_the_strict_reading_stays_a_choice(self):
        policy = default_policy(ON, {"unknown_maximum": "same as the minimum"})
        assert says(ifu(), run(exposure=4), policy=policy) is NO

    def test_an_unknown_exposure_cannot_be_told(self):
        assert says(ifu(low=None), run()) is CANNOT_TELL


class TestAirRemoval:
    @pytest.mark.parametrize("asked", [GRAVITY, DYNAMIC])
    @pytest.mark.parametrize("given", [GRAVITY, DYNAMIC])
    def test_what_the_ifu_names_is_what_runs(self, asked, given):
        answer = says(ifu(air_removal=asked, drying_min=20), run(air_removal=given))
        assert answer is (YES if asked is given else NO)

    @pytest.mark.parametrize("given", [GRAVITY, DYNAMIC])
    def test_either_takes_both(self, given):
        option = ifu(air_removal=EITHER, drying_min=20)
        assert says(option, run(air_removal=given)) is YES

    @pytest.mark.parametrize("asked", [None, GRAVITY, DYNAMIC])
    def test_an_unknown_sterilizer_cannot_be_told(self, asked):
        assert says(ifu(air_removal=asked), run(air_removal=None)) is CANNOT_TELL

    @pytest.mark.parametrize(("low", "given", "answer"), [
        (9.9, GRAVITY, NO), (9.9, DYNAMIC, YES),
    ])  # fmt: skip
    def test_silent_and_under_ten_minutes_means_dynamic(self, low, given, answer):
        assert says(ifu(132, low), run(132, 15, air_removal=given)) is answer

    @pytest.mark.parametrize(("exposure", "answer"), [(14, NO), (15, YES)])
    def test_silent_and_longer_is_held_to_the_published_row(self, exposure, answer):
        """Gravity at 132 °C, wrapped instruments: 15 min (CDC 2008, Table 7)."""
        assert says(ifu(132, 10), run(132, exposure, air_removal=GRAVITY)) is answer

    def test_silent_without_a_published_row_cannot_be_told(self):
        """CDC 2008, Table 7 has no row for dynamic air removal at 121 °C."""
        assert says(ifu(121, 30), run(121, 30)) is CANNOT_TELL

    def test_silent_and_a_lumen_on_gravity_cannot_be_told(self):
        programme = run(132, 15, air_removal=GRAVITY)
        assert says(ifu(132, 15), programme, Contents(lumen=True)) is CANNOT_TELL

    def test_textiles_are_held_to_their_own_row(self):
        """Gravity at 132 °C, textile packs: 25 min (CDC 2008, Table 7)."""
        programme = run(132, 24, air_removal=GRAVITY)
        assert says(ifu(132, 24), programme, Contents(item_class=ItemClass.TEXTILES)) is NO


class TestDrying:
    @pytest.mark.parametrize(("drying", "answer"), [(19.9, NO), (20, YES)])
    def test_silent_it_is_the_published_drying(self, drying, answer):
        """134 °C, 3 min, dry 20 (510(k) K153540, in a secondary source)."""
        assert says(ifu(), run(drying_min=drying)) is answer

    @pytest.mark.parametrize(("drying", "answer"), [(7.9, NO), (8, YES)])
    def test_what_the_ifu_states_rules(self, drying, answer):
        assert says(ifu(drying_min=8), run(drying_min=drying)) is answer

    @pytest.mark.parametrize("asked", [None, 8])
    def test_an_unknown_drying_of_the_sterilizer_cannot_be_told(self, asked):
        assert says(ifu(drying_min=asked), run(drying_min=None)) is CANNOT_TELL


class TestNames:
    def test_a_named_cycle_is_met_by_its_name(self):
        option = CycleOption(method=Method.H2O2, cycle_name="P1")
        assert says(option, Programme(code="V", method=Method.H2O2, cycle_name="p1")) is YES

    def test_another_name_is_no(self):
        option = CycleOption(method=Method.H2O2, cycle_name="P1", exposure_min=28)
        programme = Programme(code="V", method=Method.H2O2, cycle_name="P2", exposure_min=28)
        assert says(option, programme) is NO

    def test_minutes_are_no_name(self):
        option = CycleOption(method=Method.H2O2, exposure_min=28)
        programme = Programme(code="V", method=Method.H2O2, cycle_name="P2", exposure_min=28)
        assert says(option, programme) is CANNOT_TELL

    def test_an_unnamed_sterilizer_cycle_cannot_be_told(self):
        option = CycleOption(method=Method.H2O2, cycle_name="P1")
        assert says(option, Programme(code="V", method=Method.H2O2)) is CANNOT_TELL


def test_another_method_is_no():
    assert says(ifu(), run(method=Method.EO)) is NO


@pytest.mark.parametrize(("names", "said"), [("ab", "a, b"), ("abc", "a, b, c"),
                                             ("abcde", "a, b, c and 2 more")])  # fmt: skip
def test_a_caution_names_three_and_counts_the_others(names: str, said: str) -> None:
    some = members_from(
        [Instrument(name=name, cycles=(ifu(), ifu(at=100 + n))) for n, name in enumerate(names)],
        POLICY,
    )
    assert cautions_of(some, run(exposure=4), POLICY).partition(":")[0] == said

"""Cycles as instructions and lists write them; wordings: common practice, no source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.spreadsheets.cycles.permitted import options, written
from catalog.spreadsheets.cycles.reading import NAMES, ReadCycle, UnreadableError, read_cycles

DYNAMIC = "dynamic"


def steam(c=None, least=None, **more) -> ReadCycle:
    return ReadCycle(**{"method": "steam", "temperature_c": c, "exposure_min": least} | more)


@pytest.mark.parametrize(
    ("text", "cycles"),
    [
        ("132-135C 4 min dry 20", [steam(132, 4, temperature_to_c=135, drying_min=20)]),
        ("270°F 4 min", [steam(132, 4)]),
        ("250F 30 min", [steam(121, 30)]),
        ("275 °F 3 min", [steam(135, 3)]),
        ("270 F 4 min dry 20-30", [steam(132, 4, drying_min=20)]),
        ("134C 3 min minimum", [steam(134, 3)]),
        ("≥ 3 min at 134 °C", [steam(134, 3)]),
        (">= 3 min", [ReadCycle(exposure_min=3)]),
        ("Prevac 132C 4 min", [steam(132, 4, air_removal=DYNAMIC)]),
        ("pre-vacuum 134 °C, 3-18 min, drying 20 min",
         [steam(134, 3, exposure_max=18, drying_min=20, air_removal=DYNAMIC)]),
        ("SFPP 135C 3 min dry 16", [steam(135, 3, drying_min=16, air_removal=DYNAMIC)]),
        ("gravity 121C 30 min", [steam(121, 30, air_removal="gravity")]),
        ("132C 4 min; 134C 3 min", [steam(132, 4), steam(134, 3)]),
        ("132C 4 min / 134C 3 min", [steam(132, 4), steam(134, 3)]),
        ("Prevac: 270°F (132°C), 4 minutes; Gravity: 250°F (121°C), 30 minutes",
         [steam(132, 4, air_removal=DYNAMIC), steam(121, 30, air_removal="gravity")]),
        ("270-275 °F (132-135 °C) gravity 35 min, dry 20",
         [steam(132, 35, temperature_to_c=135, drying_min=20, air_removal="gravity")]),
        ("3,5 min", [ReadCycle(exposure_min=Decimal("3.5"))]),
        ("134 °C 3,5 min", [steam(134, Decimal("3.5"))]),
        ("132C 4 min; dry 20 min", [steam(132, 4, drying_min=20)]),
        ("134C 3–18 min", [steam(134, 3, exposure_max=18)]),
        ("134 C / 4 min / 20 min dry", [steam(134, 4, drying_min=20)]),
        ("dry 20 min 134C 3 min", [steam(134, 3, drying_min=20)]),
        ("20 min dry 134C 3 min", [steam(134, 3, drying_min=20)]),
        ("134 °C 18 min max 30 min", [steam(134, 18, exposure_max=30)]),
        ("Dampf, fraktioniertes Vorvakuum, 134 °C, 5 min, Trocknung 20 min",
         [steam(134, 5, drying_min=20, air_removal=DYNAMIC)]),
        ("vapeur 134°C 18 min séchage 20 min", [steam(134, 18, drying_min=20)]),
        ("EO 55C 60 min aerate 8 h",
         [ReadCycle(method="eo", temperature_c=55, exposure_min=60, aeration_min=480)]),
        ("H2O2 cycle P1", [ReadCycle(method="h2o2", cycle_name="P1")]),
        ("H2O2 Standard cycle", [ReadCycle(method="h2o2", cycle_name="Standard")]),
        ("cycle 134C 3 min", [steam(134, 3)]),
        ("n/a", []),
        ("", []),
    ],
)  # fmt: skip
def test_what_is_written_is_read(text, cycles):
    assert list(read_cycles(text)) == cycles


@pytest.mark.parametrize(
    "text",
    ["standard", "134/3", "as usual 134C 3 min", "134C 0 min", "134C 18-3 min", "900C 3 min",
     "135-132C 4 min", "134C 3 min dry 2000", "P1 or P2"],
)  # fmt: skip
def test_what_cannot_be_read_says_so(text):
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_cycles(text)


def test_a_time_without_a_temperature_is_kept_and_doubtful():
    [option] = options([("steam", None)], read_cycles("≥ 3 min"))
    assert option["exposure_min"] == 3 and ReadCycle(**option).doubt


class TestWithMethods:
    def test_a_cycle_without_a_method_goes_to_steam(self):
        found = options([("eo", None), ("steam", None)], read_cycles("≥ 3 min"))
        assert [one["exposure_min"] for one in found] == [None, 3]

    def test_a_method_that_no_cycle_is_of_stays(self):
        found = options([("steam", None), ("h2o2", None)], read_cycles("134C 3 min"))
        assert [one["method"] for one in found] == ["steam", "h2o2"]

    def test_no_column_of_methods_is_needed(self):
        assert options((), read_cycles("134C 3 min"))[0]["method"] == "steam"

    @pytest.mark.parametrize(
        ("methods", "text"),
        [([("eo", None)], "134C 3 min"), ([("steam", 121)], "134C 3 min"),
         ([("eo", None), ("h2o2", None)], "60 min")],
    )  # fmt: skip
    def test_what_does_not_agree_is_refused(self, methods, text):
        with pytest.raises(UnreadableError, match="agree"):
            options(methods, read_cycles(text))


minutes = st.none() | st.integers(1, 300) | st.decimals(1, 300, places=1)


@st.composite
def cycles(draw) -> dict:
    low, high = sorted([draw(st.integers(121, 135)), draw(st.integers(121, 135))])
    least = draw(st.integers(1, 60))
    return dict(zip(NAMES, (
        "steam", low, draw(st.sampled_from([None, high])) if high > low else None,
        draw(st.sampled_from(["", "gravity", DYNAMIC, "either"])), least,
        draw(st.sampled_from([None, least + 5])), draw(minutes), draw(minutes),
        draw(st.sampled_from(["", "P1", "Long 2"])),
    ), strict=True))  # fmt: skip


@given(st.lists(cycles(), min_size=1, max_size=4))
def test_what_is_written_out_is_read_again_as_the_same(found):
    text = "; ".join(written(one) for one in found)
    again = [{name: getattr(one, name) for name in NAMES} for one in read_cycles(text)]
    assert again == [one for n, one in enumerate(found) if one not in found[:n]]


@given(st.text(alphabet="134°C min-;,dry 20FacePxh", max_size=30))
def test_any_text_is_read_or_refused(text):
    try:
        read_cycles(text)
    except UnreadableError as refused:
        assert "cannot be read" in refused.message

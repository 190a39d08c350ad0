"""Limits on pouches and rolls, as published; the source stands beside each number."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assembly.rules.facts.supplies import Pouch, Roll
from assembly.rules.findings import Status
from assembly.rules.kinds.doubles import double_candidate
from assembly.rules.kinds.pouches import fill_finding, footprint, free_round, length_finding
from assembly.rules.kinds.rolls import side_seal_finding
from assembly.rules.limits.weights import rating_finding
from assembly.rules.policy.values import PolicyError
from tests.rules.given import box, instrument, policy, pouch, routes

AREA = (100.0, 100.0)  # inner width and length, mm


class TestThreeQuartersOfThePorousSide:
    """At most 75 % of the inner surface of the porous side: ISO/TS 16775:2014, health-care
    annex, b; of the area inside the seal lines: WFHSS guidelines, packaging chapter."""

    @pytest.mark.parametrize(
        ("length", "status"),
        [(75.0, Status.MET), (75.1, Status.NOT_MET)],  # ISO/TS 16775: 75.0 and 75.1 %
    )
    def test_plain_reading(self, length, status):
        item = box(length, 100, 5)
        found = fill_finding(item, footprint(item), *AREA, policy(fill_reading="plain"))
        assert found.status is status

    @pytest.mark.parametrize(
        ("length", "status"),
        [(70.0, Status.MET), (70.1, Status.NOT_MET)],  # (70 + 5)(95 + 5) / 100 x 100 = 75.0 %
    )
    def test_tented_reading(self, length, status):
        item = box(length, 95, 5)
        found = fill_finding(item, footprint(item), *AREA, policy())
        assert found.status is status


class TestClosingSeal:
    """At least 30 mm from the item to the closing seal, peel side: DGSV packaging-validation
    guideline 2011, annex A.6 (DIN 58953-7)."""

    @pytest.mark.parametrize(
        ("beyond_base", "status"),
        [(30, Status.MET), (29, Status.NOT_MET)],  # DGSV A.6: 30 mm
    )
    def test_distance(self, beyond_base, status):
        supply = Pouch(code="X", inner_width_mm=200, inner_length_mm=25 + 108 + beyond_base)
        item = footprint(box(100, 20, 8))
        found = length_finding(item, supply, free_round(item, policy()))
        assert found.status is status


class TestSealWidth:
    """At least 6 mm in all; ribs count by their sum: EN 868-5:2009, 4.3.2."""

    @pytest.mark.parametrize(
        ("seal", "status"),
        [(6.0, Status.MET), (2 + 2 + 2, Status.MET), (5.9, Status.NOT_MET)],  # EN 868-5: 6 mm
    )
    def test_side_seal_of_a_roll(self, seal, status):
        roll = Roll(code="R", nominal_width_mm=150, side_seal_mm=seal)
        assert side_seal_finding(roll, policy()).status is status

    def test_cross_seal_of_the_policy(self):
        assert policy(roll_seal_mm=6.0).number("roll_seal_mm") == 6.0  # EN 868-5: 6 mm

    def test_narrower_cross_seal_is_no_policy(self):
        with pytest.raises(PolicyError, match="EN 868-5"):
            policy(roll_seal_mm=5.9)


class TestOverhang:
    """At least 10 mm beyond the peel-side seal, to grip: DIN 58953-7 as restated."""

    def test_ten(self):
        assert policy(roll_peel_allowance_mm=10).number("roll_peel_allowance_mm") == 10

    def test_nine_is_no_policy(self):
        with pytest.raises(PolicyError, match="DIN 58953-7"):
            policy(roll_peel_allowance_mm=9)


class TestRatedContents:
    """A pouch of 102 x 203 mm holds 110 g: FDA 510(k) K181957."""

    @pytest.mark.parametrize(
        ("weight", "status"),
        [(110, Status.MET), (111, Status.NOT_MET)],  # K181957: 110 g
    )
    def test_110_grams(self, weight, status):
        assert rating_finding(weight, 110, "pouch").status is status


class TestDoublePouch:
    """The inner pouch lies flat and free inside the outer one, never folded, film to film:
    ISO/TS 16775:2014, health-care annex, c; DGSV A.6."""

    item = instrument(20, 10, 2, 40)

    def pair(self, inner: str, outer: str):
        first = replace(pouch(inner), doubles_in=(outer,))
        return double_candidate(self.item, first, pouch(outer), routes(), policy())

    def test_free_to_move(self):
        assert self.pair("P02", "P04").status is Status.MET  # ISO/TS 16775 c

    def test_would_have_to_be_folded(self):
        found = self.pair("P03", "P04").finding("outer length")  # 300 mm long, 255 mm inside
        assert found.status is Status.NOT_MET

    @pytest.mark.parametrize("words", ["Film to film", "never folded"])  # ISO/TS 16775 c, DGSV A.6
    def test_facing_and_flat_are_said(self, words):
        said = [caution for caution in self.pair("P02", "P04").cautions if words in caution.text]
        assert "ISO/TS 16775" in said[0].source

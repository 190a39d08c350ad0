"""Rolls: how long to cut, how wide a roll."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide, near_miss
from assembly.rules.facts.supplies import Roll
from assembly.rules.findings import CLOSE_MM, Candidate, Status
from assembly.rules.kinds.rolls import cut_length, roll_candidate, side_seal_finding
from assembly.rules.telling.explain import name
from catalog.vocabulary import Kind
from tests.rules.given import cases, instrument, named, policy, pouch, question, rolls, routes

sizes = st.floats(1, 500)


def on_roll(item, supply: Roll, rules=None) -> Candidate:
    return roll_candidate(item, supply, routes(), rules or policy())


def roll(width: float, **more) -> Roll:
    return replace(rolls()[0], code=f"R{width}", nominal_width_mm=width, **more)


@pytest.mark.parametrize("case", cases("rolls"), ids=named)
class TestCutAndWidth:
    def chosen(self, case) -> Candidate:
        item = instrument(*case["item"], round_section=case.get("round", False))
        decision = decide(question(item, *rolls()), policy())
        assert decision.recommended is not None
        return decision.recommended

    def test_exact_cut(self, case):
        found = self.chosen(case).details["cut_exact_mm"]
        assert found == pytest.approx(case["exact"], abs=0.05)

    def test_rounded_cut(self, case):
        assert self.chosen(case).details["cut_length_mm"] == pytest.approx(case["cut"])

    def test_nominal_width_needed(self, case):
        found = self.chosen(case).finding("width").figure
        assert found + 2 * 8 == pytest.approx(case["need"], abs=0.05)

    def test_roll_taken(self, case):
        assert self.chosen(case).code == case["code"]

    def test_material(self, case):
        assert self.chosen(case).details["material_mm2"] / 1e4 == pytest.approx(case["area"])


class TestSegments:
    def test_named_one_by_one(self):
        assert [(s.name, s.length_mm) for s in cut_length(123, policy()).segments] == [
            ("beyond the end seal", 5),
            ("end seal", 10),
            ("free at the end seal", 25),
            ("the instrument", 123),
            ("free at the closing end", 30),
            ("closing seal", 10),
            ("beyond the closing seal, to grip", 25),
        ]

    def test_fixed_part(self):
        assert cut_length(0, policy()).exact_mm == pytest.approx(105)

    def test_room_between_the_seals_holds_what_rounding_adds(self):
        assert cut_length(123, policy()).inner_mm == pytest.approx(180)

    @given(st.floats(0.1, 900))
    def test_cut_is_the_next_step(self, along):
        cut = cut_length(along, policy())
        assert -CLOSE_MM <= cut.cut_mm - cut.exact_mm < 10

    @given(sizes, sizes)
    def test_longer_never_cuts_shorter(self, along, more):
        assert cut_length(along + more, policy()).cut_mm >= cut_length(along, policy()).cut_mm


@given(sizes, sizes, sizes, sizes)
def test_cut_does_not_depend_on_the_width(length, height, one, other):
    first = on_roll(instrument(length, one, height), roll(420))
    second = on_roll(instrument(length, other, height), roll(420))
    assert first.details["cut_length_mm"] == second.details["cut_length_mm"]


@given(sizes, sizes, sizes, sizes)
def test_wider_or_taller_never_needs_less_width(width, height, more, taller):
    small = on_roll(instrument(100, width, height), roll(420)).finding("width")
    large = on_roll(instrument(100, width + more, height + taller), roll(420)).finding("width")
    assert large.figure >= small.figure


class TestNearMiss:
    def test_one_millimetre_too_narrow(self):
        found = near_miss(on_roll(instrument(260, 45, 40), roll(150)), policy())
        assert found is not None and found.margin == pytest.approx(-1)


class TestSideSeal:
    @pytest.mark.parametrize(("seal", "status"), [(6, Status.MET), (5.9, Status.NOT_MET)])
    def test_floor(self, seal, status):
        assert side_seal_finding(roll(150, side_seal_mm=seal), policy()).status is status

    def test_unknown_cannot_be_told(self):
        found = on_roll(instrument(100, 20, 8), roll(150, side_seal_mm=None))
        assert {f.rule for f in found.reasons} == {"width", "side seal", "fill"}
        assert found.status is Status.CANNOT_TELL

    def test_unknown_is_named(self):
        decision = decide(question(instrument(100, 20, 8), roll(150, side_seal_mm=None)), policy())
        assert decision.unknown == ("R150.side_seal_mm",)

    def test_too_narrow_whatever_the_seal(self):
        found = on_roll(instrument(100, 120, 8), roll(150, side_seal_mm=None)).finding("width")
        assert found.status is Status.NOT_MET


class TestLongestCut:
    @pytest.mark.parametrize(("longest", "status"), [(230, Status.MET), (229, Status.NOT_MET)])
    def test_threshold(self, longest, status):
        found = on_roll(instrument(115, 58, 8), roll(150, longest_cut_mm=longest))
        assert found.finding("cut length").status is status

    def test_not_on_record_does_not_apply(self):
        found = on_roll(instrument(115, 58, 8), roll(150))
        assert found.finding("cut length").status is Status.DOES_NOT_APPLY

    def test_not_on_record_is_a_caution(self):
        found = on_roll(instrument(115, 58, 8), roll(150))
        assert any("longest cut" in caution.text for caution in found.cautions)

    def test_unknown_height_may_already_be_too_long(self):
        found = on_roll(instrument(640, 12, None), roll(150, longest_cut_mm=500))
        assert found.finding("cut length").status is Status.NOT_MET

    def test_unknown_height_is_otherwise_unknown(self):
        found = on_roll(instrument(100, 12, None), roll(150, longest_cut_mm=500))
        assert found.finding("cut length").status is Status.CANNOT_TELL


@pytest.mark.parametrize("missing", ["length_mm", "width_mm", "height_mm", "weight_g"])
def test_unknown_size_or_weight_never_passes(missing):
    item = replace(instrument(100, 20, 8), **{missing: None})
    assert on_roll(item, roll(420)).status is Status.CANNOT_TELL


@pytest.mark.parametrize("missing", ["nominal_width_mm", "rated_g", "material"])
def test_unknown_fact_of_the_roll_never_passes(missing):
    supply = replace(roll(420), **{missing: None})
    assert on_roll(instrument(100, 20, 8), supply).status is Status.CANNOT_TELL


class TestDetails:
    found = on_roll(instrument(115, 58, 8), roll(150, roll_length_mm=100_000))

    def test_width_slack(self):
        assert self.found.details["width_slack_mm"] == pytest.approx(18)

    def test_waste_by_rounding(self):
        assert self.found.details["rounding_mm"] == pytest.approx(2)

    def test_pieces_per_roll(self):
        assert self.found.details["pieces_per_roll"] == 434

    def test_name(self):
        assert name(self.found) == "roll R150 cut to 230 mm"

    def test_less_material_than_the_pouch(self):
        """23 % less than pouch P04, one sheet against one sheet."""
        sheet = pouch("P04").material_mm2 / 2
        assert 1 - self.found.details["material_mm2"] / sheet == pytest.approx(0.23, abs=0.005)


def test_share_of_the_roll_that_is_covered():
    found = on_roll(instrument(115, 58, 8), roll(150))
    assert found.details["covered_share"] == pytest.approx(115 * 58 / (150 * 230))


def test_nothing_is_said_of_the_share_where_a_size_is_missing():
    found = on_roll(instrument(115, None, 8), roll(150))
    assert "covered_share" not in found.details


def test_nothing_is_said_of_the_slack_where_the_side_seal_is_not_known():
    """Too narrow whatever the seal: 128 + 50 on 150, and no slack of it."""
    found = on_roll(instrument(115, 120, 8), roll(150, side_seal_mm=None))
    assert found.finding("width").margin is not None
    assert "width_slack_mm" not in found.details


class TestGusset:
    def test_pleats_add_twice_their_depth_to_the_width(self):
        found = on_roll(instrument(115, 58, 8), roll(100, gusset_mm=16))
        assert found.finding("width").margin == pytest.approx(0)

    def test_pleats_count_as_material(self):
        found = on_roll(instrument(115, 58, 8), roll(100, gusset_mm=25))
        assert found.details["material_mm2"] == pytest.approx(150 * 230)


class TestOrder:
    def test_equal_material_the_cheaper_first(self):
        dear, cheap = roll(150, cost=2.0), replace(roll(150, cost=1.0), code="S150")
        decision = decide(question(instrument(115, 58, 8), dear, cheap), policy())
        assert decision.recommended.code == "S150"

    def test_across_opens_a_narrower_roll(self):
        found = on_roll(instrument(60, 200, 8), roll(150), policy(allow_rotate=True))
        assert found.status is Status.MET


@pytest.mark.parametrize(("sizes_", "said"), [((60, 200, 8), True), ((200, 60, 8), False)])
def test_lying_across_is_said_in_a_caution(sizes_, said):
    found = on_roll(instrument(*sizes_), roll(150), policy(allow_rotate=True))
    assert any("across" in caution.text for caution in found.cautions) is said


def test_forbidden_by_the_instrument():
    item = instrument(115, 58, 8, forbids=frozenset({Kind.ROLL}))
    assert on_roll(item, roll(150)).finding("allowed").status is Status.NOT_MET

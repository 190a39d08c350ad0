"""Containers: room at any angle, height, weight, validated cycles, filters."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.from_json import filter_of
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import Status
from assembly.rules.kinds.containers import (
    container_candidate,
    height_finding,
    plan_finding,
)
from assembly.rules.limits.plans import fits_at_any_angle, longest_at_any_angle
from assembly.rules.methods.routes import routes_for
from assembly.rules.telling.explain import name
from catalog.vocabulary import Filter, Kind, Method
from tests.rules.given import STEAM, box, cases, instrument, named, policy, question, steam_run

STEAM_134 = steam_run("S134")
PEROXIDE = Programme(code="H1", method=Method.H2O2, cycle_name="Short")
H2O2 = (CycleOption(method=Method.H2O2, cycle_name="Short"),)
BASKET = Container(
    code="C1", inner_length_mm=540, inner_width_mm=255, inner_height_mm=120, tare_g=3000,
    rated_g=10_000, programmes=("S134",), filter_material=Filter.POLYPROPYLENE, cost=1.0,
)  # fmt: skip
ITEM = instrument(200, 60, 20, 500)

sides = st.floats(5, 600)


def in_container(item=ITEM, supply=BASKET, programmes=(STEAM_134,), rules=None, **more):
    asked = question(item, supply, programmes=programmes, **more)
    found = routes_for(item.cycles, programmes, rules or policy())
    return container_candidate(asked, supply, found, rules or policy())


def scan(p: float, q: float, long: float, wide: float, steps: int = 4000) -> bool:
    """The rectangle tried at many angles."""
    for step in range(steps + 1):
        angle = math.pi / 2 * step / steps
        cos, sin = math.cos(angle), math.sin(angle)
        if p * cos + q * sin <= long and p * sin + q * cos <= wide:
            return True
    return False


@pytest.mark.parametrize("pack", [None, box(300, 200, 60)])
def test_what_is_hinged_goes_in_open_unless_a_pack_is_measured(pack):
    rules = policy(hinged_open_share=1.3)
    found = in_container(replace(ITEM, hinged=True), rules=rules, pack=pack).finding("plan")
    assert ("reckoned" in found.sentence()) is (pack is None)


@pytest.mark.parametrize(
    ("pack", "missing"), [(None, "size"), (box(300, None, 60), "pack.width_mm")]
)
def test_what_is_not_measured_is_named(pack, missing):
    item = ITEM if pack else replace(ITEM, width_mm=None)
    found = in_container(item, pack=pack).finding("plan")
    assert (found.status, found.missing) == (Status.CANNOT_TELL, (missing,))


@pytest.mark.parametrize("length", range(560, 600, 2))
def test_at_an_angle_the_gap_is_kept_on_both(length):
    """Contents and container each with the gap of 3 mm, tried at many angles."""
    found = plan_finding(box(length, 20, 10), BASKET, policy())
    assert (found.status is Status.MET) is scan(length + 3, 20 + 3, 540 + 3, 255 + 3)


@pytest.mark.parametrize("case", cases("plan"), ids=named)
def test_rectangle_in_a_rectangle(case):
    assert fits_at_any_angle(*case["item"], *case["tray"]) is case["fits"]


@pytest.mark.parametrize("width", [0, 10, 20, 40])
@pytest.mark.parametrize("case", cases("longest"), ids=named)
def test_longest_of_a_width(case, width):
    found = longest_at_any_angle(width, *case["tray"])
    assert found == pytest.approx(case[f"width_{width}"], abs=0.06)


@given(sides, sides, sides, sides)
def test_what_the_scan_finds_fits(p, q, long, wide):
    assert fits_at_any_angle(p, q, long, wide) or not scan(p, q, long, wide)


@given(sides, sides, sides, sides)
def test_what_fits_is_found_by_the_scan_a_little_smaller(p, q, long, wide):
    k = 0.997
    assert scan(p * k, q * k, long, wide) or not fits_at_any_angle(p, q, long, wide)


@given(sides, sides, sides, sides)
def test_the_order_of_the_sides_does_not_matter(p, q, long, wide):
    one = fits_at_any_angle(p, q, long, wide)
    assert fits_at_any_angle(q, p, wide, long) is one


@given(sides, sides)
def test_an_equal_rectangle_fits(p, q):
    assert fits_at_any_angle(p, q, p, q)


@given(sides, sides, sides, sides, st.floats(0, 300))
def test_more_room_never_stops_it_fitting(p, q, long, wide, more):
    if fits_at_any_angle(p, q, long, wide):
        assert fits_at_any_angle(p, q, long + more, wide)


def test_wider_than_the_container_has_no_length():
    assert longest_at_any_angle(251, 480, 250) == 0.0


class TestPlan:
    def status(self, length, width, **more) -> Status:
        return plan_finding(box(length, width, 20), replace(BASKET, **more), policy()).status

    def test_contents_as_large_as_the_container_go_in(self):
        """The gap is added to both, so an exact basket fits whatever the gap."""
        assert self.status(540, 255) is Status.MET

    def test_wider_does_not(self):
        assert self.status(300, 256) is Status.NOT_MET

    def test_long_goes_in_at_an_angle(self):
        assert self.status(560, 30) is Status.MET

    def test_too_long_at_any_angle(self):
        assert self.status(595, 20) is Status.NOT_MET

    def test_said_in_a_caution_and_in_the_details(self):
        found = in_container(instrument(560, 30, 20, 500))
        assert found.details["lies"] == "at an angle"
        assert any("at an angle" in caution.text for caution in found.cautions)

    @pytest.mark.parametrize(("length", "width"), [(None, 60), (200, None), (None, None)])
    def test_unknown_sides_cannot_be_told(self, length, width):
        assert self.status(length, width) is Status.CANNOT_TELL

    def test_one_side_may_already_be_too_long(self):
        assert self.status(600, None) is Status.NOT_MET

    @pytest.mark.parametrize("missing", ["inner_length_mm", "inner_width_mm"])
    def test_unknown_container_cannot_be_told(self, missing):
        assert self.status(200, 60, **{missing: None}) is Status.CANNOT_TELL

    @given(sides, st.floats(5, 255))
    def test_agrees_with_the_test_at_any_angle(self, length, width):
        """Contents and container each the gap larger: the same answer, away from the limit."""
        inside = fits_at_any_angle(length + 3, width + 3, 543, 258)
        found = plan_finding(box(length, width, 20), BASKET, policy())
        assert (found.status is Status.MET) is inside or abs(found.margin) < 0.05


def test_lies_straight_where_it_is_no_longer_than_the_container():
    assert in_container(instrument(540, 30, 20, 500)).details["lies"] == "straight"


class TestHeight:
    @pytest.mark.parametrize(("height", "status"), [(115, Status.MET), (115.1, Status.NOT_MET)])
    def test_free_room_below_the_lid(self, height, status):
        assert height_finding(box(200, 60, height), BASKET, policy()).status is status

    def test_unknown_height(self):
        found = height_finding(box(200, 60, None), BASKET, policy())
        assert found.status is Status.CANNOT_TELL

    def test_unknown_inner_height(self):
        bare = replace(BASKET, inner_height_mm=None)
        assert height_finding(box(200, 60, 20), bare, policy()).status is Status.CANNOT_TELL


class TestWeight:
    @pytest.mark.parametrize(("weight", "status"), [(7000, Status.MET), (7000.1, Status.NOT_MET)])
    def test_contents_and_container_together(self, weight, status):
        found = in_container(replace(ITEM, weight_g=weight))
        assert found.finding("rated weight").status is status

    @pytest.mark.parametrize("missing", ["tare_g", "rated_g"])
    def test_unknown_cannot_be_told(self, missing):
        found = in_container(supply=replace(BASKET, **{missing: None}))
        assert found.finding("rated weight").status is Status.CANNOT_TELL

    @pytest.mark.parametrize("missing", ["tare_g", "rated_g"])
    def test_unknown_is_named(self, missing):
        asked = question(ITEM, replace(BASKET, **{missing: None}), programmes=(STEAM_134,))
        assert f"C1.{missing}" in decide(asked, policy()).unknown

    def test_over_whatever_the_container_weighs(self):
        found = in_container(replace(ITEM, weight_g=10_001), replace(BASKET, tare_g=None))
        assert found.finding("rated weight").status is Status.NOT_MET

    def test_gross_counts_the_container(self):
        strong = replace(BASKET, rated_g=50_000)
        found = in_container(replace(ITEM, weight_g=8400), strong)
        assert found.finding("gross weight").status is Status.NOT_MET

    def test_load_does_not_count_the_container(self):
        found = in_container(
            replace(ITEM, weight_g=6000),
            rules=policy(load_limit_g=6000, load_limit_reading="not divided"),
        )
        assert found.finding("load weight").status is Status.MET


class TestProgrammes:
    def status(self, **more) -> Status:
        return in_container(**more).finding("programme").status

    def test_validated(self):
        assert self.status() is Status.MET

    def test_not_part_of_the_question_cannot_be_told(self):
        found = in_container(programmes=None).finding("programme")
        assert found.status is Status.CANNOT_TELL
        assert "validated cycle" in found.sentence()

    def test_another_programme_is_not_enough(self):
        assert self.status(supply=replace(BASKET, programmes=("S121",))) is Status.NOT_MET

    def test_validated_ones_not_on_record(self):
        assert self.status(supply=replace(BASKET, programmes=None)) is Status.CANNOT_TELL

    def test_validated_for_none(self):
        assert self.status(supply=replace(BASKET, programmes=())) is Status.NOT_MET

    def test_instrument_must_accept_it_too(self):
        item = replace(ITEM, cycles=H2O2)
        assert self.status(item=item) is Status.NOT_MET

    def test_unknown_cycles(self):
        assert self.status(item=replace(ITEM, cycles=())) is Status.CANNOT_TELL

    def test_doubtful_programme_cannot_be_told(self):
        vague = replace(STEAM_134, exposure_min=None)
        assert self.status(programmes=(vague,)) is Status.CANNOT_TELL

    def test_those_that_serve_are_listed(self):
        both = replace(STEAM_134, code="S134b")
        supply = replace(BASKET, programmes=("S134", "S134b"))
        found = in_container(supply=supply, programmes=(STEAM_134, both))
        assert found.details["programmes"] == ["S134", "S134b"]


BOTH = (*H2O2, *STEAM)


class TestFilter:
    def decided(self, material, cycles=H2O2, programmes=(PEROXIDE,)):
        supply = replace(BASKET, programmes=("H1", "S134"), filter_material=material)
        asked = question(replace(ITEM, cycles=cycles), supply, programmes=programmes)
        return decide(asked, policy())

    def status(self, *given, **more) -> Status:
        decision = self.decided(*given, **more)
        return next(one.status for one in decision.findings if one.rule == "filter")

    @pytest.mark.parametrize("material", [Filter.PAPER, Filter.TEXTILE])
    def test_no_cellulose_in_peroxide(self, material):
        assert self.status(material) is Status.NOT_MET

    @pytest.mark.parametrize("material", [Filter.POLYPROPYLENE, Filter.PTFE, Filter.VALVE])
    def test_other_filters_go(self, material):
        assert self.status(material) is Status.MET

    def test_unknown_cannot_be_told(self):
        assert self.status(None) is Status.CANNOT_TELL

    @pytest.mark.parametrize("material", [Filter.PAPER, Filter.TEXTILE, None])
    def test_the_way_that_fails_is_dropped_before_one_is_taken(self, material):
        taken = self.decided(material, BOTH, (PEROXIDE, STEAM_134)).recommended
        assert taken.details["programme"] == "S134"

    def test_with_the_right_filter_the_first_way_is_taken(self):
        taken = self.decided(Filter.PTFE, BOTH, (PEROXIDE, STEAM_134)).recommended
        assert taken.details["programme"] == "H1"

    @pytest.mark.parametrize(
        "words", ["Papier", "Zellulose", "cotton", "linen", "papel", "single use", ""]
    )
    def test_words_that_are_no_known_material_are_unknown(self, words):
        assert filter_of(words) is None

    @pytest.mark.parametrize("words", ["paper", "Cellulose disc", "single-use PAPER filter"])
    def test_words_of_cellulose_are_cellulose(self, words):
        assert filter_of(words) is Filter.PAPER

    def test_new_filter_each_cycle_is_always_said(self):
        assert any("new filter" in caution.text for caution in in_container().cautions)


def test_basket_given_as_pack_is_what_goes_in():
    found = in_container(pack=box(541, 255, 50))
    assert found.finding("plan").status is Status.NOT_MET


def test_sharp_points_cut_nothing():
    found = in_container(replace(ITEM, sharp=True, protector=""))
    assert found.finding("sharp points").status is Status.DOES_NOT_APPLY


def test_forbidden_by_the_instrument():
    found = in_container(replace(ITEM, forbids=frozenset({Kind.CONTAINER})))
    assert found.finding("allowed").status is Status.NOT_MET


def test_smallest_container_first():
    large = replace(BASKET, code="C0", inner_height_mm=200)
    asked = question(ITEM, large, BASKET, programmes=(STEAM_134,))
    assert decide(asked, policy()).recommended.code == "C1"


def test_name():
    assert name(in_container()) == "container C1"

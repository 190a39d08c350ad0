"""Tip protectors: each rule's states, the grown box, the choice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.instruments import Box
from assembly.rules.findings import Outcome, Status
from assembly.rules.kinds.protectors import (
    Protector,
    ProtectorMaterial,
    Tip,
    choose_protector,
    protector_findings,
    with_protector,
)
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Method

POLICY = default_policy(date(2026, 1, 1))
TIP = Tip(across_mm=3, length_mm=15, height_mm=2)
GOOD = Protector(
    code="T4",
    bore_mm=4,
    length_mm=25,
    wall_mm=1,
    vented=True,
    methods=frozenset({Method.STEAM, Method.H2O2}),
    material=ProtectorMaterial.SILICONE,
)


def status(rule: str, protector=GOOD, tip=TIP, method=Method.STEAM) -> Status:
    found = {f.rule: f.status for f in protector_findings(protector, tip, method, POLICY)}
    return found[rule]


def test_the_good_one_meets_every_rule():
    found = {f.status for f in protector_findings(GOOD, TIP, Method.STEAM, POLICY)}
    assert found == {Status.MET}


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("vented", {"vented": None}),
        ("method", {"methods": None}),
        ("material", {"material": None}),
        ("bore", {"bore_mm": None}),
        ("length", {"length_mm": None}),
    ],
)
def test_what_is_not_on_record_cannot_be_told(rule, change):
    assert status(rule, replace(GOOD, **change)) is Status.CANNOT_TELL


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("vented", {"vented": False}),
        ("method", {"methods": frozenset({Method.EO})}),
        ("method", {"methods": frozenset()}),
        ("material", {"material": ProtectorMaterial.SOLID_RUBBER}),
        ("material", {"material": ProtectorMaterial.LATEX}),
        ("bore", {"bore_mm": 3.4}),
        ("length", {"length_mm": 14.9}),
    ],
)
def test_what_does_not_suit_is_not_met(rule, change):
    assert status(rule, replace(GOOD, **change)) is Status.NOT_MET


def test_exactly_the_play_is_met():
    assert status("bore", replace(GOOD, bore_mm=3.5)) is Status.MET


def test_exactly_the_length_is_met():
    assert status("length", replace(GOOD, length_mm=15)) is Status.MET


@pytest.mark.parametrize(
    ("bore", "answer"), [(8, Status.MET), (8.1, Status.NOT_MET), (28, Status.NOT_MET)]
)
def test_a_bore_much_wider_than_the_tip_slips_off(bore, answer):
    """5 mm more than the 3 mm of the tip: common practice, no source."""
    assert status("bore", replace(GOOD, bore_mm=bore)) is answer


@pytest.mark.parametrize(
    ("length", "answer"), [(15, Status.MET), (55, Status.MET), (55.1, Status.NOT_MET)]
)
def test_a_protector_much_longer_than_what_it_covers_is_too_long(length, answer):
    """40 mm more than the 15 mm covered: common practice, no source."""
    assert status("length", replace(GOOD, length_mm=length)) is answer


@pytest.mark.parametrize(("rule", "field"), [("bore", "across_mm"), ("length", "length_mm")])
def test_an_unmeasured_tip_cannot_be_told(rule, field):
    assert status(rule, tip=replace(TIP, **{field: None})) is Status.CANNOT_TELL


def test_an_open_method_cannot_be_told():
    assert status("method", method=None) is Status.CANNOT_TELL


CELLULOSE = replace(GOOD, material=ProtectorMaterial.CELLULOSE)


def test_cellulose_in_peroxide_is_not_met_whatever_its_label_says():
    assert status("material", CELLULOSE, method=Method.H2O2) is Status.NOT_MET


def test_cellulose_in_steam_is_met():
    assert status("material", CELLULOSE) is Status.MET


def test_cellulose_and_an_open_method_cannot_be_told():
    assert status("material", CELLULOSE, method=None) is Status.CANNOT_TELL


def test_a_tight_one_says_so():
    finding = protector_findings(replace(GOOD, bore_mm=3.4), TIP, Method.STEAM, POLICY)[3]
    assert finding.sentence() == (
        "Too tight: the tip needs 3.5 mm (3 mm across, 0.5 mm play), the bore is 3.4 mm. "
        "A tight protector holds moisture."
    )


def test_a_negative_bore_is_refused():
    with pytest.raises(FactsError, match="bore_mm"):
        Protector(code="T", bore_mm=-1)


# --- the grown box ----------------------------------------------------------------------

BOX = Box(length_mm=140, width_mm=30, height_mm=8)


def test_a_thick_tip_adds_no_height():
    grown = with_protector(BOX, replace(TIP, height_mm=6), GOOD, POLICY)
    assert grown.height_mm == 8


def test_a_slim_instrument_becomes_as_wide_as_its_protector():
    assert with_protector(replace(BOX, width_mm=3), TIP, GOOD, POLICY).width_mm == 6


def test_what_is_not_on_record_of_its_length_is_the_policys():
    """40 mm stand out at the most (common practice, no source)."""
    assert with_protector(BOX, TIP, replace(GOOD, length_mm=None), POLICY).length_mm == 180


def test_what_covers_the_tip_adds_no_length():
    """25 mm of protector on 15 mm of tip stand out by 10 mm: our geometry."""
    tip = replace(TIP, length_mm=15)
    assert with_protector(BOX, tip, replace(GOOD, length_mm=25), POLICY).length_mm == 150


def test_all_of_it_is_added_where_nobody_measured_what_it_covers():
    tip = replace(TIP, length_mm=None)
    assert with_protector(BOX, tip, replace(GOOD, length_mm=25), POLICY).length_mm == 165


def test_a_wall_that_is_not_on_record_is_the_policys():
    """1.5 mm each side (common practice, no source) round a tip that fills the bore."""
    grown = with_protector(BOX, Tip(), replace(GOOD, wall_mm=None), POLICY)
    assert grown.height_mm == 11


sizes = st.floats(0.1, 500)


@given(sizes, sizes, sizes, sizes, sizes, sizes, sizes)
def test_a_protector_never_makes_the_box_smaller(length, width, height, tip, bore, wall, cap):
    box = Box(length_mm=length, width_mm=width, height_mm=height)
    grown = with_protector(
        box,
        Tip(across_mm=tip, length_mm=1, height_mm=tip),
        Protector(code="T", bore_mm=bore, wall_mm=wall, length_mm=cap),
        POLICY,
    )
    assert grown.length_mm >= length and grown.width_mm >= width and grown.height_mm >= height


# --- the choice -------------------------------------------------------------------------

WIDE = replace(GOOD, code="T6", bore_mm=6)
LONG = replace(GOOD, code="T4L", length_mm=40)
TIGHT = replace(GOOD, code="T2", bore_mm=2)
UNKNOWN = replace(GOOD, code="T0", vented=None)


def test_the_smallest_bore_then_the_shortest_is_taken():
    choice = choose_protector(TIP, Method.STEAM, [WIDE, LONG, TIGHT, GOOD], POLICY)
    assert choice.taken.code == "T4"


def test_the_others_say_why_they_are_passed_over():
    choice = choose_protector(TIP, Method.STEAM, [WIDE, TIGHT, GOOD, UNKNOWN], POLICY)
    assert {item.candidate.code: item.why for item in choice.passed_over} == {
        "T2": "ruled out",
        "T0": "cannot tell",
        "T6": "larger than needed",
    }


def test_one_that_could_suit_leaves_it_undecided():
    choice = choose_protector(TIP, Method.STEAM, [TIGHT, UNKNOWN], POLICY)
    assert choice.outcome is Outcome.UNDECIDED


@pytest.mark.parametrize("stock", [[], [TIGHT]])
def test_none_suits(stock):
    assert choose_protector(TIP, Method.STEAM, stock, POLICY).outcome is Outcome.NONE


@given(st.permutations([WIDE, LONG, TIGHT, GOOD, UNKNOWN]))
def test_the_order_of_the_stock_is_no_matter(stock):
    choice = choose_protector(TIP, Method.STEAM, stock, POLICY)
    assert (choice.taken.code, len(choice.passed_over)) == ("T4", 4)

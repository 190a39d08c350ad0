"""Double pouches: nesting with play, validated pairs only."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given

from assembly.rules.deciding.choose import decide, near_miss
from assembly.rules.facts.cycles import CycleOption
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import CLOSE_MM, Candidate, Outcome, Status
from assembly.rules.kinds.doubles import double_candidate, double_candidates, play_finding
from assembly.rules.methods.routes import routes_for
from assembly.rules.telling.explain import headline, name
from catalog.vocabulary import Material, Method
from tests.rules.given import (
    STEAM,
    cases,
    instrument,
    named,
    policy,
    pouch,
    question,
    rolls,
    routes,
    stock,
    wrap,
)
from tests.rules.kinds.test_pouch_properties import by_hand, items

CODES = tuple(supply.code for supply in stock())
ALL_PAIRS = {code: tuple(other for other in CODES if other != code) for code in CODES}
SMALL = instrument(20, 10, 2, 40)


def pair(inner: str, outer: str, item=SMALL, **changes) -> Candidate:
    first = replace(pouch(inner), doubles_in=(outer,), **changes.get("of_inner", {}))
    second = replace(pouch(outer), **changes.get("of_outer", {}))
    return double_candidate(item, first, second, routes(), policy())


@pytest.mark.parametrize("case", cases("doubles"), ids=named)
class TestNesting:
    def test_play_in_width(self, case):
        found = pair(case["inner"], case["outer"]).details["play_width_mm"]
        assert found == pytest.approx(case["width"])

    def test_play_in_length(self, case):
        found = pair(case["inner"], case["outer"]).details["play_length_mm"]
        assert found == pytest.approx(case["length"])

    def test_goes_only_with_play_both_ways(self, case):
        found = pair(case["inner"], case["outer"])
        goes = {found.finding(f"outer {side}").status for side in ("width", "length")}
        assert (goes == {Status.MET}) is (case["width"] >= 0 and case["length"] >= 0)


def test_just_too_short_is_a_near_miss():
    assert near_miss(pair("P05", "P09"), policy()) is not None


@pytest.mark.parametrize(("size", "status"), [(90.0, Status.MET), (90.02, Status.NOT_MET)])
def test_play_at_its_threshold(size, status):
    """90 + 2 x 5 = 100: exactly enough is enough."""
    assert play_finding("outer width", size, 100.0, pouch("P02"), policy()).status is status


class TestValidatedPairs:
    item = instrument(180, 70, 12, 75)

    def doubled(self, **pairs):
        return decide(question(self.item, *stock(**pairs), double=True), policy())

    def test_least_pair_of_all(self):
        found = self.doubled(**ALL_PAIRS).recommended
        assert (found.code, found.with_codes) == ("P04", ("P07",))

    def test_material_of_the_pair(self):
        found = self.doubled(**ALL_PAIRS).recommended
        assert found.details["material_mm2"] == pytest.approx(250_000)

    def test_an_outer_pouch_of_unknown_outer_size_is_no_smaller_for_it(self):
        """P07 is 200 x 400 mm outside; the other is 190 x 370 seal to seal, which is less."""
        inner = replace(pouch("P02"), doubles_in=("P07", "X"))
        bare = replace(pouch("P07"), code="X", outer_width_mm=None, outer_length_mm=None,
                       inner_width_mm=190, inner_length_mm=370)  # fmt: skip
        asked = question(SMALL, inner, pouch("P07"), bare, double=True)
        assert decide(asked, policy()).recommended.with_codes == ("P07",)

    def test_only_the_pair_named_is_a_candidate(self):
        found = double_candidates(
            question(self.item, *stock(P04=("P08",)), double=True), routes(), policy()
        )
        assert [(c.code, c.with_codes) for c in found] == [("P04", ("P08",))]

    def test_none_validated_is_not_met_and_says_so(self):
        decision = self.doubled()
        assert decision.outcome is Outcome.NONE
        assert [f.rule for f in decision.findings if f.status is Status.NOT_MET] == [
            "validated pair"
        ]

    def test_none_validated_shows_the_smallest_inner_that_fits(self):
        found = double_candidates(question(self.item, *stock(), double=True), routes(), policy())
        assert [c.code for c in found] == ["P04"]

    def test_none_validated_shows_one_that_serves_before_one_that_might(self):
        doubtful = replace(pouch("P01"), rated_g=None)
        narrow = instrument(20, 5, 2, 40)
        found = double_candidates(question(narrow, doubtful, pouch("P02")), routes(), policy())
        assert [one.code for one in found] == ["P02"]

    def test_an_outer_that_is_not_in_stock_makes_no_pair(self):
        found = double_candidates(
            question(self.item, replace(pouch("P04"), doubles_in=("Z99",)), double=True),
            routes(), policy(),
        )  # fmt: skip
        assert found[0].finding("validated pair").status is Status.NOT_MET

    def test_nothing_but_pouches_answers(self):
        others = (*rolls(), wrap(1370), Container(code="C1"))
        decision = decide(question(self.item, *stock(P04=("P07",)), *others, double=True), policy())
        kinds = {decision.recommended.kind} | {o.candidate.kind for o in decision.passed_over}
        assert kinds == {"pouch"}

    def test_no_pouch_at_all(self):
        decision = decide(question(self.item, *rolls(), double=True), policy())
        assert decision.outcome is Outcome.NONE


class TestRulesOfBoth:
    def test_inner_passes_every_rule_of_a_single_pouch(self):
        assert pair("P02", "P04", instrument(100, 40, 8, 40)).finding("width").status is (
            Status.NOT_MET
        )

    def test_outer_must_stand_the_method(self):
        found = pair("P02", "P04", of_outer={"methods": frozenset({Method.EO})})
        assert found.finding("outer method").status is Status.NOT_MET

    @pytest.mark.parametrize(("weight", "status"), [(110, Status.MET), (111, Status.NOT_MET)])
    def test_outer_must_hold_the_weight(self, weight, status):
        item = instrument(20, 10, 2, weight)
        found = pair("P02", "P04", item, of_outer={"rated_g": 110})
        assert found.finding("outer contents weight").status is status

    @pytest.mark.parametrize("field", ["inner_width_mm", "inner_length_mm", "rated_g", "material"])
    def test_unknown_fact_of_the_outer_never_passes(self, field):
        assert pair("P02", "P04", of_outer={field: None}).status is Status.CANNOT_TELL

    @pytest.mark.parametrize("field", ["outer_width_mm", "outer_length_mm"])
    def test_unknown_outer_size_of_the_inner_never_passes(self, field):
        assert pair("P02", "P04", of_inner={field: None}).status is Status.CANNOT_TELL

    def test_what_is_missing_is_named_by_its_pouch(self):
        bare = replace(pouch("P07"), rated_g=None)
        decision = decide(
            question(SMALL, replace(pouch("P04"), doubles_in=("P07",)), bare, double=True),
            policy(),
        )
        assert decision.unknown == ("P07.rated_g",)

    def test_share_of_the_outer_is_said_and_fails_nothing(self):
        found = pair("P09", "P10")
        assert found.details["inner_share"] == pytest.approx(300 * 450 / (364 * 505))
        assert found.status is Status.MET

    @pytest.mark.parametrize("words", ["Film to film", "never folded", "indicator", "validated"])
    def test_cautions(self, words):
        assert any(words in caution.text for caution in pair("P02", "P04").cautions)


class TestOneMethodForBoth:
    """Inner in steam and outer in ethylene oxide is no pair, though each has a method."""

    either = instrument(
        20, 10, 2, 40,
        cycles=(*STEAM, CycleOption(method=Method.EO, exposure_min=60)),
    )  # fmt: skip
    steam, eo = frozenset({Method.STEAM}), frozenset({Method.EO})

    def method(self, inner, outer, material=Material.PAPER_FILM) -> Status:
        first = replace(pouch("P02"), doubles_in=("P04",), methods=inner, material=material)
        second = replace(pouch("P04"), methods=outer)
        found = routes_for(self.either.cycles, None, policy())
        pair_ = double_candidate(self.either, first, second, found, policy())
        return pair_.finding("outer method").status

    def test_different_methods(self):
        assert self.method(self.steam, self.eo) is Status.NOT_MET

    def test_the_same_method(self):
        assert self.method(self.eo, self.eo) is Status.MET

    def test_outer_allows_more(self):
        assert self.method(self.eo, None) is Status.MET

    def test_open_for_the_inner_is_open_for_the_pair(self):
        """SMS stands ethylene oxide, and steam only where its label says so."""
        assert self.method(None, self.steam, Material.SMS) is Status.CANNOT_TELL


def test_name_reads_as_one_in_another():
    assert name(pair("P02", "P04")) == "pouch P02 in pouch P04"


def test_headline():
    decision = decide(question(SMALL, *stock(P02=("P04",)), double=True), policy())
    assert headline(decision) == "Take pouch P02 in pouch P04"


def pairs_by_hand(item) -> list:
    """All pairs written out a second time, as plain arithmetic."""
    return sorted(
        (inner.material_mm2 + outer.material_mm2, inner.cost + outer.cost, inner.code, outer.code)
        for inner in stock()
        for outer in stock()
        if inner.code != outer.code
        and by_hand(item, inner)
        and inner.outer_width_mm + 10 <= outer.inner_width_mm + 2 * outer.gusset_mm + CLOSE_MM
        and inner.outer_length_mm + 10 <= outer.inner_length_mm + CLOSE_MM
        and item[3] <= outer.rated_g + 0.05
    )


@given(items)
def test_choice_is_the_least_of_all_pairs(item):
    decision = decide(question(instrument(*item), *stock(**ALL_PAIRS), double=True), policy())
    found = decision.recommended
    best = pairs_by_hand(item)
    assert (found and (found.code, *found.with_codes)) == (best[0][2:] if best else None)


@given(items)
def test_a_pair_that_serves_has_the_larger_pouch_outside(item):
    asked = question(instrument(*item), *stock(**ALL_PAIRS), double=True)
    serving = [c for c in double_candidates(asked, routes(), policy()) if c.status is Status.MET]
    assert all(pouch(c.with_codes[0]).material_mm2 > pouch(c.code).material_mm2 for c in serving)


@given(items)
def test_a_pair_never_serves_where_its_inner_alone_does_not(item):
    serves = pair("P04", "P07", instrument(*item)).status is Status.MET
    assert by_hand(item, pouch("P04")) or not serves

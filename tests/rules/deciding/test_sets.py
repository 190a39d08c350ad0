"""The decision for a whole set: cycle, weights, room, and what stands in the way."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.set_decision import SetDecision
from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.deciding.set_ways import set_routes
from assembly.rules.deciding.sets import decide_set
from assembly.rules.facts.cycles import CycleOption
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Container, Protector, Wrap
from assembly.rules.findings import Finding, Outcome, Status
from assembly.rules.limits.handling import handling_cautions
from assembly.rules.limits.weights import scale_reading
from assembly.rules.policy.values import Policy, default_policy
from catalog.vocabulary import Filter, Form, ItemClass, Kind, Material, Method
from tests.rules.given import preset_policy, steam_run

TODAY = date(2026, 11, 25)
S134 = CycleOption(
    method=Method.STEAM, temperature_c=134, exposure_min=3, exposure_max=18, drying_min=20
)
S132 = CycleOption(method=Method.STEAM, temperature_c=132, exposure_min=4, drying_min=20)
RUN = steam_run("S134", exposure_min=4)
BOX = Container(
    code="BOX", inner_length_mm=560, inner_width_mm=265, inner_height_mm=130, tare_g=3000,
    rated_g=14_000, programmes=("S134",), filter_material=Filter.POLYPROPYLENE,
)  # fmt: skip
SHEET = Wrap(
    code="W1200", width_mm=1200, length_mm=1200, material=Material.CELLULOSE, layers=2,
    rated_g=9000,
)  # fmt: skip
BASKET = Basket(
    code="BK", inner_length_mm=480, inner_width_mm=250, inner_height_mm=70, tare_g=600,
    rated_g=9000,
)  # fmt: skip


def forceps(**changes: Any) -> Instrument:
    facts = {
        "name": "forceps", "length_mm": 180, "width_mm": 70, "height_mm": 12, "weight_g": 100,
        "sharp": False, "hinged": True, "cycles": (S134,),
    }  # fmt: skip
    return Instrument(**{**facts, **changes})


def asked(*instruments: Instrument, quantity: int = 1, **changes: Any) -> SetQuestion:
    lines = tuple(SetLine(quantity=quantity, instrument=one) for one in instruments or (forceps(),))
    question = SetQuestion(
        lines=lines, supplies=(BOX, SHEET), basket=BASKET, programmes=(RUN,), packed_in="BOX"
    )
    return replace(question, **changes)


def policy(**overrides: object) -> Policy:
    return default_policy(TODAY, overrides)


def decided(question: SetQuestion, **overrides: object) -> SetDecision:
    return decide_set(question, policy(**overrides))


def finding(question: SetQuestion, rule: str, code: str = "BOX", **overrides: object) -> Finding:
    decision = decided(question, **overrides).decision
    every = [decision.recommended, *decision.alternatives,
             *(item.candidate for item in decision.passed_over)]  # fmt: skip
    return next(one for one in every if one and one.code == code).finding(rule)


class TestChoice:
    def test_what_is_on_record_is_taken_when_it_serves(self) -> None:
        taken = decided(asked()).decision.recommended
        assert taken and taken.code == "BOX"

    def test_the_other_is_offered(self) -> None:
        assert [one.code for one in decided(asked()).decision.alternatives] == ["W1200"]

    def test_where_the_record_does_not_serve_the_other_is_taken(self) -> None:
        box = replace(BOX, rated_g=3500)
        taken = decided(asked(quantity=9, supplies=(box, SHEET))).decision.recommended
        assert taken and taken.code == "W1200"

    def test_an_empty_set_is_not_decided(self) -> None:
        assert decided(asked(lines=())).decision.outcome is not Outcome.RECOMMENDED

    def test_the_programme_is_named(self) -> None:
        taken = decided(asked()).decision.recommended
        assert taken and taken.details["programme"] == "S134"

    def test_the_order_of_supplies_changes_nothing(self) -> None:
        turned = asked(supplies=(SHEET, BOX))
        assert decided(turned).decision == decided(asked()).decision

    def test_a_line_that_its_ifu_forbids_a_container_rules_it_out(self) -> None:
        question = asked(forceps(), forceps(name="odd", forbids=frozenset({Kind.CONTAINER})))
        found = finding(question, "allowed")
        assert (found.status, "odd" in found.sentence()) == (Status.NOT_MET, True)


class TestCycle:
    def test_where_one_cycle_serves_nothing_is_split(self) -> None:
        assert not decided(asked()).split_needed

    def test_two_temperatures_do_not_meet(self) -> None:
        question = asked(forceps(), forceps(name="b", cycles=(S132,)))
        assert finding(question, "common cycle").status is Status.NOT_MET

    def test_the_smallest_split_is_offered(self) -> None:
        run = (RUN, replace(RUN, code="S132", temperature_c=132))
        question = asked(forceps(), forceps(name="b", cycles=(S132,)), programmes=run)
        assert decided(question).split_needed is True
        split = decided(question).split
        assert [group.names for group in split.groups] == [("forceps",), ("b",)]

    def test_a_line_without_cycles_leaves_it_undecided(self) -> None:
        question = asked(forceps(), forceps(name="b", cycles=()))
        assert decided(question).decision.outcome is Outcome.UNDECIDED

    def test_the_method_of_those_with_cycles_is_in_doubt_with_one_without(self) -> None:
        question = asked(forceps(), forceps(name="b", cycles=()), programmes=None)
        common = finding(question, "common cycle")
        routes = set_routes(question, common, default_policy(TODAY))
        assert [(one.method, one.missing) for one in routes.undecided] == [(Method.STEAM, "cycles")]

    def test_without_programmes_a_wrap_can_still_be_decided(self) -> None:
        taken = decided(asked(programmes=None, packed_in="W1200")).decision.recommended
        assert taken and taken.code == "W1200"

    def test_a_programme_the_container_is_not_validated_for_is_not_met(self) -> None:
        box = replace(BOX, programmes=("EO",))
        assert finding(asked(supplies=(box,)), "programme").status is Status.NOT_MET

    def test_the_wraps_material_goes_through_the_common_cycle(self) -> None:
        sheet = replace(SHEET, material=Material.SMS)
        assert finding(asked(supplies=(sheet,)), "method", "W1200").status is Status.CANNOT_TELL


class TestWeight:
    """ANSI/AAMI ST77 4.3.5 (25 lb gross) in grams; the three bases are kept apart."""

    def heavy(self, net_g: float, **changes: Any) -> SetQuestion:
        box = replace(BOX, rated_g=20_000, outer_length_mm=600, outer_width_mm=300)
        basket = replace(BASKET, rated_g=20_000)
        return asked(forceps(weight_g=net_g), supplies=(box,), basket=basket, **changes)

    def test_gross_counts_instruments_basket_and_container(self) -> None:
        assert finding(self.heavy(5000), "gross weight").figure == 8600

    def test_the_load_counts_no_container(self) -> None:
        question = self.heavy(5000)
        assert finding(question, "load weight", load_limit_g=10_000).figure == 5600

    def test_net_counts_instruments_alone(self) -> None:
        assert finding(self.heavy(5000), "net weight", net_limit_g=8500).figure == 5000

    @pytest.mark.parametrize(
        ("gross", "state"), [(11_339.81, Status.MET), (11_385.17, Status.NOT_MET)]
    )
    def test_25_lb_gross_is_met_and_25_1_is_not(self, gross: float, state: Status) -> None:
        assert finding(self.heavy(gross - 3600), "gross weight").status is state

    def test_10_kg_load_in_a_3_kg_container_is_met_in_the_eu_and_not_in_the_us(self) -> None:
        """prEN 868-8 4.2.8 limits the load, ANSI/AAMI ST77 4.3.5 the gross weight."""
        question = self.heavy(9400)
        states = {
            name: decide_set(question, preset_policy(name, TODAY)).decision.outcome
            for name in ("eu", "us")
        }
        assert states == {"eu": Outcome.RECOMMENDED, "us": Outcome.NONE}

    def test_an_unknown_weight_never_passes(self) -> None:
        question = asked(forceps(), forceps(name="b", weight_g=None))
        assert finding(question, "gross weight").status is Status.CANNOT_TELL

    def test_an_unknown_tare_never_passes(self) -> None:
        question = asked(supplies=(replace(BOX, tare_g=None),))
        assert finding(question, "gross weight").status is Status.CANNOT_TELL

    def test_an_unknown_basket_never_passes(self) -> None:
        question = asked(basket=replace(BASKET, tare_g=None))
        assert finding(question, "gross weight").status is Status.CANNOT_TELL

    def test_a_scale_reading_replaces_the_sum(self) -> None:
        question = asked(forceps(weight_g=None), reading=scale_reading(6000, 20))
        assert finding(question, "gross weight").status is Status.MET

    def test_the_lowest_of_basket_wrap_and_site_rules(self) -> None:
        """FDA 510(k) K203177: the lowest limit rules; K223600: such a wrap holds 6 lb."""
        six_lb = 2721.55
        sheet = replace(SHEET, rated_g=six_lb)
        basket = replace(BASKET, rated_g=11_339.81, tare_g=500)
        question = asked(forceps(weight_g=2300), supplies=(sheet,), basket=basket)
        ruling = decided(question).ruling
        assert ruling and (ruling.rule, ruling.status) == ("contents weight", Status.NOT_MET)


class TestRoom:
    def test_a_basket_that_does_not_stand_in_the_container(self) -> None:
        question = asked(basket=replace(BASKET, inner_width_mm=266))
        assert finding(question, "basket fits").status is Status.NOT_MET

    def test_a_wrap_without_a_measured_pack_is_not_decided(self) -> None:
        question = asked(basket=None, supplies=(SHEET,))
        assert finding(question, "sheet", "W1200").status is Status.CANNOT_TELL


class TestInside:
    def test_film_pouches_inside_are_refused(self) -> None:
        """ANSI/AAMI ST79 as reported."""
        assert finding(asked(pouches_inside=True), "pouches inside").status is Status.NOT_MET

    def test_unless_validated_and_tested(self) -> None:
        question = asked(pouches_inside=True, pouches_validated=True)
        assert finding(question, "pouches inside").status is Status.MET

    def test_a_bare_sharp_point_would_cut_the_sheet(self) -> None:
        question = asked(forceps(), forceps(name="hook", sharp=True, protector=""))
        found = finding(question, "sharp points", "W1200")
        assert (found.status, "hook" in found.sentence()) == (Status.NOT_MET, True)

    def test_a_protector_not_cleared_for_the_method_is_named(self) -> None:
        cap = Protector(code="CAP", name="small", vented=True, methods=frozenset({Method.EO}))
        hook = forceps(name="hook", sharp=True, protector="small")
        found = finding(asked(forceps(), hook, protectors=(cap,)), "protector")
        assert found.status is Status.NOT_MET
        assert found.sentence().startswith("hook: Protector CAP: ")


def test_each_line_names_what_it_adds() -> None:
    decision = decided(asked(forceps(), forceps(name="b", weight_g=None), quantity=3))
    assert [one.weight_g for one in decision.contributions] == [300, None]


@given(st.lists(st.floats(1, 2000), min_size=1, max_size=6), st.floats(1, 3000))
def test_another_instrument_never_makes_a_set_pass(weights: list[float], more: float) -> None:
    lines = [forceps(name=f"i{n}", weight_g=weight) for n, weight in enumerate(weights)]
    larger = decided(asked(*lines, forceps(name="more", weight_g=more)))
    if larger.decision.outcome is Outcome.RECOMMENDED:
        assert decided(asked(*lines)).decision.outcome is Outcome.RECOMMENDED


class TestCautions:
    """What one instrument by itself is told, a set is told too, by name."""

    def said(self, *instruments: Instrument, **changes: Any) -> str:
        cautions = decided(asked(*instruments, **changes)).decision.cautions
        return " ".join(one.sentence() for one in cautions)

    def test_a_line_that_may_be_sharp_is_named(self) -> None:
        said = self.said(forceps(), forceps(name="old hook", sharp=None))
        assert "sharp point or edge is not on record: look at old hook" in said

    @pytest.mark.parametrize("facts", [{"form": Form.BASIN}, {"item_class": ItemClass.TEXTILES}])
    def test_of_basins_and_drapes_no_point_is_looked_for(self, facts: dict[str, Any]) -> None:
        assert "sharp point" not in self.said(forceps(), forceps(sharp=None, **facts))

    @pytest.mark.parametrize(
        ("material", "basket", "told"),
        [(Material.CELLULOSE, BASKET, True), (Material.SMS, BASKET, False),
         (Material.CELLULOSE, None, False)],
    )  # fmt: skip
    def test_crepe_around_a_basket_is_advised_against(
        self, material: Material, basket: Basket | None, told: bool
    ) -> None:
        """SF2S good practice, read in the source."""
        sheet = replace(SHEET, material=material, methods=frozenset({Method.STEAM}))
        said = self.said(forceps(), supplies=(sheet,), basket=basket)
        assert ("Crepe is no longer advised" in said) is told

    def test_a_bare_sharp_point_in_a_container_is_named(self) -> None:
        """Common practice, no source: hands and tips are hurt in containers too."""
        said = self.said(forceps(), forceps(name="hook", sharp=True, protector=""))
        assert "no protector is on record (hook)" in said

    def test_a_lumen_of_which_only_the_length_is_known_is_named(self) -> None:
        assert "Lumens (tube)" in self.said(forceps(), forceps(name="tube", lumen_length_mm=300))

    @pytest.mark.parametrize(
        ("method", "claims"), [(Method.STEAM, False), (Method.EO, False), (Method.H2O2, True),
                               (None, True)]
    )  # fmt: skip
    def test_the_sterilizers_claims_are_named_where_its_method_has_some(
        self, method: Method | None, claims: bool
    ) -> None:
        tube = forceps(name="tube", lumen_length_mm=300)
        said = " ".join(one.text for one in handling_cautions([tube], Kind.WRAP, method))
        assert "dry or moist" in said and ("claims" in said) is claims

    def test_a_set_in_steam_is_not_sent_to_claims(self) -> None:
        said = self.said(forceps(), forceps(name="tube", lumen_length_mm=300))
        assert "claims" not in said


class TestKindsLeftOut:
    """The policy may leave out either kind, or both: a set is decided all the same."""

    @pytest.mark.parametrize(
        ("kinds", "codes"),
        [(["pouch", "wrap"], ["W1200"]), (["container"], ["BOX"]), (["pouch", "roll"], [])],
    )
    def test_only_the_others_answer(self, kinds: list[str], codes: list[str]) -> None:
        decision = decided(asked(), kinds_in_order=kinds).decision
        every = [decision.recommended, *decision.alternatives]
        assert [one.code for one in every if one] == codes

    def test_what_is_on_record_does_not_answer_when_its_kind_is_left_out(self) -> None:
        decision = decided(asked(supplies=(BOX,)), kinds_in_order=["wrap"]).decision
        assert (decision.outcome, decision.passed_over) == (Outcome.NONE, ())

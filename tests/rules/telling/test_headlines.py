"""Where nothing is recommended, the headline is the true reason."""

from __future__ import annotations

from assembly.rules.findings import Candidate, Decision, Finding, Outcome, PassedOver, Status
from assembly.rules.methods.materials import method_finding
from assembly.rules.telling.explain import headline, way_out
from assembly.rules.telling.words import told
from catalog.vocabulary import Material
from tests.rules.given import policy, routes

MAKER = "the maker's IFU"
LEFT_OUT = "No cycle of the sterilizers serves this instrument (P: it asks for 132 °C)."


def failing(kind: str, *failed: tuple[str, str]) -> Candidate:
    findings = [Finding(rule, Status.NOT_MET, words, MAKER) for rule, words in failed]
    return Candidate(kind, f"{kind}-1", tuple(findings), ())


def decision_of(*candidates: Candidate, outcome: Outcome = Outcome.NONE) -> Decision:
    return Decision(
        outcome=outcome,
        recommended=None,
        findings=candidates[0].findings if candidates else (),
        alternatives=(),
        passed_over=tuple(PassedOver(one, "not met") for one in candidates),
        cautions=(),
        unknown=(),
        policy_digest="",
    )


def none_of(*candidates: Candidate) -> str:
    return headline(decision_of(*candidates))


def test_no_cycle_is_the_reason_where_every_supply_fails_by_it():
    found = none_of(failing("pouch", ("method", LEFT_OUT)), failing("wrap", ("method", LEFT_OUT)))
    assert found == f"Not as it stands: {LEFT_OUT.rstrip('.')}"


def test_a_weight_limit_is_the_reason_where_every_supply_fails_by_one():
    found = none_of(
        failing("container", ("gross weight", "Over: the gross weight is 14 kg.")),
        failing("wrap", ("contents weight", "Too heavy: 14 kg.")),
    )
    assert found == "Over the weight limit: the gross weight is 14 kg"


def test_a_sharp_point_is_the_reason_where_it_would_cut_every_soft_package():
    found = none_of(
        failing("pouch", ("sharp points", "It would cut the pouch.")),
        failing("container", ("size", "Too long.")),
    )
    assert found.startswith("Its sharp point goes without a protector")


def test_the_stock_is_blamed_where_each_supply_fails_by_something_else():
    found = none_of(failing("pouch", ("width", "Too narrow.")), failing("wrap", ("sheet", "Low.")))
    assert found == "Nothing in stock serves it"


def test_an_empty_stock_serves_nothing():
    assert none_of() == "Nothing in stock serves it"


def test_a_short_form_keeps_its_capitals():
    words = method_finding(routes(), Material.SMS, None).sentence()
    assert "Sms" not in words and "SMS" in words


def test_a_source_is_named_once():
    source = told("outside", "pouch", policy())["source"]
    assert source.count("ST79") == 1


class TestWhoCanHelp:
    def test_where_no_cycle_serves_a_coordinator_chooses_or_parts_it(self):
        found = way_out(decision_of(failing("wrap", ("common cycle", "A is for 134, B for 121."))))
        assert "packed in parts, or choose a cycle that every IFU names" in found

    def test_where_it_is_too_heavy_a_coordinator_parts_it(self):
        found = way_out(decision_of(failing("wrap", ("gross weight", "Over: 14 kg."))))
        assert "packed in parts" in found

    def test_where_a_fact_is_missing_it_is_measured_and_proposed(self):
        assert "propose it" in way_out(decision_of(outcome=Outcome.UNDECIDED))

    def test_where_something_is_recommended_nobody_needs_to(self):
        assert way_out(decision_of(outcome=Outcome.RECOMMENDED)) == ""

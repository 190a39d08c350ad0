"""The decision over all kinds of package together."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import Outcome, Status
from assembly.rules.telling.explain import headline, sections
from catalog.vocabulary import Filter, Kind, Method
from tests.rules.given import instrument, policy, question, rolls, steam_run, stock, wrap

SCISSORS = instrument(115, 58, 8, 32)
STEAM_134 = steam_run("S134")
BASKET = Container(
    code="C1", inner_length_mm=540, inner_width_mm=255, inner_height_mm=120, tare_g=3000,
    rated_g=10_000, programmes=("S134",), filter_material=Filter.POLYPROPYLENE,
)  # fmt: skip
EVERYTHING = (*stock(), *rolls(), wrap(500), wrap(1000), BASKET)


def asked(item=SCISSORS, supplies=EVERYTHING, **more):
    return question(item, *supplies, **({"programmes": (STEAM_134,)} | more))


def said(decision, heading: str) -> tuple[str, ...]:
    return next((part.sentences for part in sections(decision) if part.heading == heading), ())


class TestOrderOfKinds:
    @pytest.mark.parametrize(
        ("order", "code"),
        [
            (["pouch", "roll", "wrap", "container"], "P04"),
            (["roll", "pouch"], "R150"),
            (["wrap", "roll"], "W500"),
            (["container", "pouch"], "C1"),
        ],
    )
    def test_the_first_kind_that_serves(self, order, code):
        found = decide(asked(), policy_with(order)).recommended
        assert found.code == code

    def test_a_kind_left_out_is_not_asked(self):
        decision = decide(asked(), policy_with(["roll"]))
        assert {item.candidate.kind for item in decision.passed_over} == {"roll"}

    def test_the_next_kind_where_the_first_does_not_serve(self):
        assert decide(asked(instrument(640, 12, 12, 300)), policy()).recommended.code == "R100"

    def test_forbidden_kinds_are_passed_over(self):
        item = replace(SCISSORS, forbids=frozenset({Kind.POUCH, Kind.ROLL}))
        assert decide(asked(item), policy()).recommended.kind == "wrap"

    def test_only_a_pouch_answers_for_a_double(self):
        answer = decide(asked(double=True), policy())
        every = [answer.recommended, *answer.alternatives]
        every += [item.candidate for item in answer.passed_over]
        assert {one.kind for one in every if one} == {Kind.POUCH}


def policy_with(order):
    return policy(kinds_in_order=tuple(order))


class TestWords:
    def test_headline_of_a_roll(self):
        assert headline(decide(asked(), policy_with(["roll"]))) == "Take roll R150 cut to 230 mm"

    def test_headline_of_a_wrap(self):
        decision = decide(asked(), policy_with(["wrap"]))
        assert headline(decision) == "Take wrap W500, envelope fold"

    def test_headline_in_the_readers_units(self):
        decision = decide(asked(), policy_with(["roll"]))
        assert headline(decision, lambda value, unit: f"{value / 25.4:.1f} in") == (
            "Take roll R150 cut to 9.1 in"
        )

    def test_why_not_a_smaller_one(self):
        first = said(decide(asked(), policy_with(["roll"])), "Why not a smaller one")[0]
        assert first.startswith("Roll R120 cut to 230 mm: Too narrow: ")

    def test_why_not_a_smaller_pair(self):
        pairs = stock(P02=("P04",), P04=("P07",))
        decision = decide(asked(supplies=pairs, double=True), policy())
        assert said(decision, "Why not a smaller one")[0].startswith(
            "Pouch P02 in pouch P04: Too narrow: "
        )

    def test_instead(self):
        first = said(decide(asked(), policy_with(["roll"])), "Instead")[0]
        assert first == "Roll R200 cut to 230 mm also serves: 68 mm to spare in width."

    def test_no_braces_are_left_in_any_sentence(self):
        for order in (["pouch"], ["roll"], ["wrap"], ["container"]):
            for part in sections(decide(asked(), policy_with(order))):
                assert not any("{" in sentence for sentence in part.sentences)


class TestUndecided:
    def test_container_without_the_programmes(self):
        decision = decide(asked(supplies=(BASKET,), programmes=None), policy())
        assert decision.outcome is Outcome.UNDECIDED
        assert decision.unknown == ("question.programmes",)

    def test_unknown_sizes_are_named(self):
        decision = decide(asked(instrument(100, None, 8)), policy())
        assert decision.unknown[0] == "width_mm"

    def test_nothing_in_stock(self):
        decision = decide(asked(supplies=()), policy())
        assert [(f.rule, f.status) for f in decision.findings] == [("stock", Status.NOT_MET)]


sizes = st.one_of(st.none(), st.floats(1, 700))
weights = st.one_of(st.none(), st.floats(1, 20_000))


@given(sizes, sizes, sizes, weights, st.booleans(), st.booleans())
def test_unknown_never_passes(length, width, height, weight, double, programmes):
    item = instrument(length, width, height, weight)
    pairs = (*stock(P04=("P07",)), *EVERYTHING[len(stock()) :])
    more = {} if programmes else {"programmes": None}
    decision = decide(asked(item, pairs, double=double, **more), policy())
    complete = None not in (length, width, height, weight)
    assert decision.recommended is None or complete


@given(sizes, sizes, sizes, weights, st.permutations(EVERYTHING))
def test_same_bytes_in_whatever_order_the_stock_is_listed(length, width, height, weight, shuffled):
    item = instrument(length, width, height, weight)
    one, other = (decide(asked(item, s), policy()).as_json() for s in (EVERYTHING, shuffled))
    assert json.dumps(one) == json.dumps(other)


@given(sizes, sizes, sizes, weights)
def test_every_candidate_that_does_not_serve_says_why(length, width, height, weight):
    decision = decide(asked(instrument(length, width, height, weight)), policy())
    others = [item.candidate for item in decision.passed_over]
    assert all(other.reasons for other in others if other.status is not Status.MET)


@given(sizes, sizes, sizes, weights)
def test_every_finding_names_its_source_and_fills_its_sentence(length, width, height, weight):
    decision = decide(asked(instrument(length, width, height, weight)), policy())
    findings = [f for item in decision.passed_over for f in item.candidate.findings]
    assert all(f.source and "{" not in f.sentence() for f in (*findings, *decision.findings))


class TestAeration:
    def taken(self, *hours):
        eo = [CycleOption(method=Method.EO, temperature_c=55, exposure_min=60,
                          aeration_min=None if h is None else 60 * h) for h in hours]  # fmt: skip
        run = Programme(code="EO", method=Method.EO, temperature_c=55, exposure_min=60)
        item = instrument(125, 10, 3, cycles=tuple(eo))
        return decide(question(item, *stock(), programmes=(run,)), policy()).recommended

    def test_the_longest_is_asked_for(self):
        """8 h after 55 °C, 60 min: FDA 510(k) K123289, in a secondary source."""
        assert self.taken(8).details["aeration_min"] == 480

    def test_what_is_not_on_record_is_said(self):
        assert any("aerated is not on record" in one.text for one in self.taken(None).cautions)

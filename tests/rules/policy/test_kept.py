"""What is kept of a rule's answers changes none of them."""

from __future__ import annotations

from datetime import date
from random import Random

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.policy import kept as keeping
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy, default_policy
from tests.bench.rules.decisions import single
from tests.rules.computing.catalogue_facts import PROGRAMMES, instrument, pouches
from tests.rules.given import rolls, wrap

DAY = date(2026, 1, 1)


class TestKept:
    asked: list[object]

    def rule(self) -> object:
        self.asked = []

        @kept
        def rule(one: object, policy: Policy) -> int:
            self.asked.append(one)
            return len(self.asked)

        return rule

    def test_the_same_object_is_asked_once(self) -> None:
        rule, policy, one = self.rule(), default_policy(DAY), Instrument(name="clamp")
        assert (rule(one, policy), rule(one, policy)) == (1, 1)
        assert rule(derived(one), policy) == 2

    def test_another_policy_is_asked_again(self) -> None:
        rule, one = self.rule(), Instrument(name="clamp")
        assert (rule(one, default_policy(DAY)), rule(one, default_policy(DAY))) == (1, 2)

    def test_of_a_list_nothing_is_kept(self) -> None:
        rule, policy, several = self.rule(), default_policy(DAY), [1]
        assert (rule(several, policy), rule(several, policy)) == (1, 2)

    def test_it_is_bounded(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(keeping, "MOST", 2)
        rule, policy = self.rule(), default_policy(DAY)
        for one in (several := [Instrument(name=str(n)) for n in range(5)]):
            rule(one, policy)
        [answers] = policy.answers.values()
        assert len(answers) <= 2
        assert rule(several[-1], policy) == 5


@pytest.mark.parametrize("seed", range(4))
def test_a_decision_is_the_same_the_second_time_and_with_a_policy_that_kept_nothing(
    seed: int,
) -> None:
    random, policy = Random(seed), default_policy(DAY)
    stock = (*(made := pouches(random, 6)), *rolls()[:3], wrap(600), wrap(900, None))
    for _ in range(8):
        item = instrument(random, made)
        first, second = (
            decide(Question(instrument=item, supplies=stock, programmes=PROGRAMMES), policy)
            for _ in range(2)
        )
        afresh = Question(instrument=derived(item), supplies=stock, programmes=PROGRAMMES)
        assert first == second == decide(afresh, default_policy(DAY))


def test_a_decision_stays_near_the_bare_comparisons() -> None:
    """Measured at 124 times (it was 673): ``tests/bench/rules/decisions.py``, goal 150."""
    assert single(instruments=10, runs=5) < 300

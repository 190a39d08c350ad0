"""A doubt about a better kind is told before a worse kind is recommended."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.supplies import Protector
from assembly.rules.findings import Decision, Outcome, Status
from catalog.vocabulary import Method, ProtectorMaterial
from tests.rules.given import instrument, policy, pouch, question
from tests.rules.test_joints import RUN, container
from tests.rules.test_sets import asked, decided, forceps

CAP = Protector(
    code="CAP", name="vented, small", vented=True, methods=frozenset({Method.STEAM}),
    material=ProtectorMaterial.SILICONE, bore_mm=4, length_mm=20, wall_mm=1,
)  # fmt: skip
BAG = pouch("P06")


def hook(**more: Any) -> Any:
    return instrument(100, 20, 8, sharp=True, **more)


def decision(item: Any, *supplies: Any) -> Decision:
    supplies = supplies or (BAG, container())
    return decide(question(item, *supplies, programmes=(RUN,), protectors=(CAP,)), policy())


def taken(found: Decision) -> str | None:
    return found.recommended.code if found.recommended else None


class TestSharpAndNobodyKnowsWhichProtector:
    """ISO/TS 16775:2014, health-care annex, a: sharp points are covered."""

    def test_it_is_undecided_not_sent_to_a_container(self) -> None:
        found = decision(hook(protector=None))
        assert (found.outcome, taken(found)) == (Outcome.UNDECIDED, None)

    def test_the_protector_is_named_as_missing(self) -> None:
        found = decision(hook(protector=None))
        assert "protector" in found.unknown
        assert any("which one it takes" in one.sentence() for one in found.findings)

    def test_with_its_protector_it_goes_into_the_pouch(self) -> None:
        assert taken(decision(hook(protector="vented, small"))) == "P06"

    def test_on_record_as_bare_it_goes_into_a_container_with_a_caution(self) -> None:
        """Common practice, no source: hands and tips are hurt in containers too."""
        found = decision(hook(protector=""))
        assert taken(found) == "C"
        assert any("cover the point" in one.sentence() for one in found.cautions)

    def test_too_large_for_the_pouch_a_container_is_no_substitute(self) -> None:
        long = instrument(450, 20, 8, sharp=True, protector=None)
        assert taken(decision(long)) == "C"

    def test_in_a_set_that_is_wrapped(self) -> None:
        lines = asked(forceps(), forceps(name="hook", sharp=True, protector=None),
                      packed_in="W1200")  # fmt: skip
        found = decided(lines).decision
        assert (found.outcome, found.unknown) == (Outcome.UNDECIDED, ("protector",))


def test_a_missing_fact_of_one_supply_holds_up_nothing() -> None:
    assert taken(decision(instrument(100, 20, 8), replace(BAG, rated_g=None), container())) == "C"


def test_what_stays_is_told_why() -> None:
    found = decision(hook(protector=None))
    assert {one.candidate.code: one.why for one in found.passed_over} == {
        "P06": "cannot tell", "C": "serves; a better kind is in doubt",
    }  # fmt: skip


@pytest.mark.parametrize("text", ["ohne", "see IFU", "gauze", "unknown", "-"])
def test_a_protector_that_is_none_of_the_stocked_is_undecided(text: str) -> None:
    assert decision(hook(protector=text)).outcome is Outcome.UNDECIDED


def test_an_empty_stock_is_not_met() -> None:
    found = decide(question(hook(protector=None)), policy())
    assert (found.outcome, found.findings[0].status) == (Outcome.NONE, Status.NOT_MET)

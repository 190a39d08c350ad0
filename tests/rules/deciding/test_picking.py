"""A doubt about a better kind is told before a worse kind is recommended."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.deciding.protection import protected
from assembly.rules.facts.cycles import CycleOption
from assembly.rules.facts.supplies import Protector
from assembly.rules.findings import Decision, Outcome, Status
from assembly.rules.limits.several import together
from catalog.vocabulary import Method, ProtectorMaterial
from tests.rules.deciding.test_sets import asked, decided, finding, forceps
from tests.rules.given import instrument, policy, pouch, question
from tests.rules.limits.test_joints import RUN, container

CAP = Protector(
    code="CAP", name="vented, small", vented=True, methods=frozenset({Method.STEAM}),
    material=ProtectorMaterial.SILICONE, bore_mm=4, length_mm=20, wall_mm=1,
)  # fmt: skip
BAG = pouch("P06")


def hook(*, width_mm: float = 20, **more: Any) -> Any:
    return instrument(100, width_mm, 8, sharp=True, **more)


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


class TestItsOwnSizeCounts:
    """A protector that stands out makes the instrument longer and thicker: our geometry."""

    long = replace(CAP, name="long", length_mm=400)

    def said(self, item: Any, *supplies: Any, cap: Protector = CAP) -> Decision:
        asked_ = question(item, *supplies, programmes=(RUN,), protectors=(cap,))
        return decide(asked_, policy())

    def test_a_long_one_does_not_fit_where_the_instrument_alone_does(self) -> None:
        found = self.said(hook(protector="long"), BAG, cap=self.long)
        shown = found.passed_over[0].candidate
        assert shown.finding("length").status is Status.NOT_MET

    @pytest.mark.parametrize(("covered", "figure"), [(15, 105), (None, 120)])
    def test_the_length_it_adds(self, covered: float | None, figure: float) -> None:
        item = hook(protector="vented, small", tip_across_mm=3, tip_cover_mm=covered)
        found = self.said(item, container()).findings
        assert next(one for one in found if one.rule == "plan").figure == figure

    def test_a_wall_that_is_not_on_record_is_reckoned_and_said(self) -> None:
        cap = replace(CAP, wall_mm=None)
        found = self.said(hook(protector="vented, small"), container(), cap=cap)
        said = [one.sentence() for one in found.cautions]
        assert any(one.endswith("Reckoned, not measured: a wall of 1.5 mm.") for one in said)

    def test_of_a_measured_one_only_the_size_is_said(self) -> None:
        found = self.said(hook(protector="vented, small"), container())
        said = next(one.sentence() for one in found.cautions if "protector on" in one.sentence())
        assert said.startswith("With the protector on: ") and "Reckoned" not in said

    def test_one_of_unknown_length_on_a_measured_tip_cannot_be_told_and_is_named(self) -> None:
        item = hook(protector="vented, small", tip_cover_mm=15)
        found = self.said(item, BAG, cap=replace(CAP, length_mm=None))
        assert (found.outcome, "CAP.length_mm" in found.unknown) == (Outcome.UNDECIDED, True)

    @pytest.mark.parametrize("big", [{"bore_mm": 30, "length_mm": 200}, {"length_mm": 200}])
    def test_of_two_sizes_the_one_that_suits_counts(self, big: dict[str, float]) -> None:
        item = hook(protector="vented, small", tip_across_mm=3, tip_cover_mm=15)
        both = (CAP, replace(CAP, code="BIG", **big))
        asked_ = question(item, container(), programmes=(RUN,), protectors=both)
        found = decide(asked_, policy()).findings
        assert next(one for one in found if one.rule == "plan").figure == 105

    def test_two_side_by_side_are_each_wider(self) -> None:
        pair = together(hook(protector="vented, small", width_mm=4), 2, policy())
        worn = protected(pair, (CAP,), policy())
        assert (pair.width_mm, worn.width_mm) == (18, 22)

    def test_in_a_set(self) -> None:
        """480 x 250 mm of basket: 440 mm lie in it, 840 mm with a protector of 400 do not."""
        line = forceps(length_mm=440, width_mm=10, protector="long")
        states = [finding(asked(line, protectors=caps), "each piece fits").status
                  for caps in ((), (self.long,))]  # fmt: skip
        assert states == [Status.MET, Status.NOT_MET]


class TestProtectorInADecision:
    def state(self, item: Any, **cap: Any) -> Any:
        asked_ = question(item, container(), programmes=(RUN,), protectors=(replace(CAP, **cap),))
        found = decide(asked_, policy()).findings
        return next(one for one in found if one.rule == "protector")

    def test_one_too_short_for_the_tip_is_refused(self) -> None:
        item = hook(protector="vented, small", tip_cover_mm=21)
        assert self.state(item).status is Status.NOT_MET

    @pytest.mark.parametrize("codes", ["AB", "BA"])
    def test_of_two_sizes_of_one_name_the_better_answer_counts(self, codes: str) -> None:
        """A bore of 3.4 mm is tight on a tip of 3, one of 4 is not; whichever stands first."""
        sizes = {"A": replace(CAP, code="A", bore_mm=3.4), "B": replace(CAP, code="B")}
        item = hook(protector="vented, small", tip_across_mm=3)
        caps = tuple(sizes[code] for code in codes)
        asked_ = question(item, container(), programmes=(RUN,), protectors=caps)
        found = next(one for one in decide(asked_, policy()).findings if one.rule == "protector")
        assert (found.status, "B (vented, small)" in found.sentence()) == (Status.MET, True)

    def test_one_instrument_is_not_named(self) -> None:
        found = self.state(hook(protector="vented, small"), vented=False)
        assert found.sentence().startswith("Protector CAP")


class TestCyclesThatLackAFact:
    """An unknown temperature or exposure never passes without a word."""

    steam = (CycleOption(method=Method.STEAM),)

    def test_a_single_is_told_to_read_the_ifu(self) -> None:
        found = decide(question(instrument(100, 20, 8, cycles=self.steam), BAG), policy())
        assert any("not all is on record" in one.sentence() for one in found.cautions)

    def test_a_set_is_undecided_not_refused(self) -> None:
        lines = asked(forceps(cycles=self.steam), programmes=None, packed_in="W1200")
        assert decided(lines).decision.outcome is Outcome.UNDECIDED


def test_a_pouch_of_unknown_outer_size_is_no_smaller_for_it() -> None:
    """134 x 255 mm inside is 150 x 300 outside; 144 x 265 inside is larger, measured or not."""
    known = pouch("P04")
    larger = replace(known, code="A", inner_width_mm=144, inner_length_mm=265,
                     outer_width_mm=None, outer_length_mm=None)  # fmt: skip
    assert taken(decision(instrument(100, 20, 8), larger, known)) == "P04"

"""What the technician is told for one decision: protector, indicator, lie, checks, loading."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch, Protector, Wrap
from assembly.rules.findings import Candidate, Outcome, Status
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.guidance import (
    Guidance,
    guidance_for,
    protectors_of,
    set_guidance,
)
from catalog.vocabulary import Material, Method, ProtectorMaterial
from tests.rules.given import steam_run

POLICY = default_policy(date(2026, 11, 25))
STEAM = CycleOption(
    method=Method.STEAM, temperature_c=134, exposure_min=3, exposure_max=18, drying_min=20
)
POUCH = Pouch(
    code="P04", inner_width_mm=134, inner_length_mm=255, outer_width_mm=150, outer_length_mm=300,
    material=Material.PAPER_FILM, closure="heat-seal", rated_g=400,
)  # fmt: skip
CAP = Protector(
    code="CAP", name="vented, small", vented=True, material=ProtectorMaterial.SILICONE,
    methods=frozenset({Method.STEAM}),
)  # fmt: skip


def question(**changes: Any) -> Question:
    facts = {
        "name": "scissors", "length_mm": 115, "width_mm": 55, "height_mm": 8, "weight_g": 20,
        "sharp": True, "protector": "vented, small", "hinged": True, "cycles": (STEAM,),
    }  # fmt: skip
    protectors = changes.pop("protectors", (CAP,))
    programmes = changes.pop("programmes", None)
    return Question(instrument=Instrument(**{**facts, **changes}), supplies=(POUCH,),
                    protectors=protectors, programmes=programmes)  # fmt: skip


def guidance(**changes: Any) -> Guidance:
    asked = question(**changes)
    decision = decide(asked, POLICY)
    assert decision.recommended
    return guidance_for(decision.recommended, asked, POLICY)


class TestGuidance:
    def test_the_protector_is_named(self) -> None:
        assert "vented, small" in guidance().protectors[0]

    def test_an_indicator_lies_inside(self) -> None:
        assert any("inside" in one.place for one in guidance().indicators)

    def test_the_indicator_is_asked_for_by_its_method(self) -> None:
        asked = next(check.asked() for check in guidance().checks if check.key == "indicator")
        assert asked == "Is the steam indicator (type 5) inside, readable through the film?"

    def test_handles_lie_to_the_peel_end(self) -> None:
        assert "peel end" in guidance().orientation[0].sentence()

    def test_a_hinged_instrument_is_asked_to_be_open(self) -> None:
        assert "hinged" in [check.key for check in guidance().checks]

    def test_the_next_size_is_named_where_it_does_not_lie_open(self) -> None:
        asked = question()
        wider = replace(POUCH, code="P07", inner_width_mm=184, outer_width_mm=200)
        longer = replace(POUCH, code="P05", inner_length_mm=355, outer_length_mm=400)
        asked = replace(asked, supplies=(POUCH, longer, wider))
        decision = decide(asked, POLICY)
        assert decision.recommended
        told = guidance_for(decision.recommended, asked, POLICY, decision)
        check = next(one for one in told.checks if one.key == "hinged")
        assert check.then().endswith("take the next size: pouch P07.")

    def test_one_without_a_hinge_is_not(self) -> None:
        assert "hinged" not in [check.key for check in guidance(hinged=False).checks]

    def test_every_check_says_what_to_do_if_not(self) -> None:
        assert all(check.then() for check in guidance().checks)

    def test_every_sentence_has_a_source(self) -> None:
        told = guidance()
        every = [*told.orientation, *told.loading, *told.checks, *told.indicators]
        assert all(one.source for one in every)


class TestProtector:
    def state(self, **changes: Any) -> Status:
        decision = decide(question(**changes), POLICY)
        shown = decision.recommended or decision.passed_over[0].candidate
        return shown.finding("protector").status

    def test_one_that_is_vented_and_cleared_is_met(self) -> None:
        assert self.state() is Status.MET

    @pytest.mark.parametrize(
        ("cap", "state"),
        [
            ({"vented": False}, Status.NOT_MET),
            ({"vented": None}, Status.CANNOT_TELL),
            ({"methods": frozenset({Method.EO})}, Status.NOT_MET),
            ({"methods": None}, Status.CANNOT_TELL),
            ({"material": ProtectorMaterial.LATEX}, Status.NOT_MET),
        ],
    )
    def test_one_that_may_not_go_never_passes(self, cap: dict[str, Any], state: Status) -> None:
        from dataclasses import replace

        assert self.state(protectors=(replace(CAP, **cap),)) is state

    def test_one_too_tight_for_a_measured_tip_is_not_met(self) -> None:
        from dataclasses import replace

        narrow = (replace(CAP, bore_mm=3, length_mm=25),)
        assert self.state(tip_across_mm=4, protectors=narrow) is Status.NOT_MET

    def test_one_wide_enough_for_a_measured_tip_is_met(self) -> None:
        from dataclasses import replace

        wide = (replace(CAP, bore_mm=5, length_mm=25),)
        assert self.state(tip_across_mm=4, tip_cover_mm=20, protectors=wide) is Status.MET

    def test_by_a_measured_tip_the_stock_is_searched(self) -> None:
        from dataclasses import replace

        stock = (replace(CAP, bore_mm=5, length_mm=25),)
        told = guidance(tip_across_mm=4, tip_cover_mm=20, protectors=stock)
        assert told.suitable == "Take protector CAP."

    @pytest.mark.parametrize(
        "words", ["a cork", "ohne", "sans", "nein", "not required", "see IFU", "yes", "x",
                  "latex tube", "gauze", "?", "n/a"],
    )  # fmt: skip
    def test_words_that_no_stocked_protector_bears_cannot_be_told(self, words: str) -> None:
        assert self.state(protector=words) is Status.CANNOT_TELL

    @pytest.mark.parametrize(
        ("changed", "state"),
        [({"bore_mm": 9}, Status.MET), ({"bore_mm": 9.1}, Status.NOT_MET),
         ({"length_mm": 60}, Status.MET), ({"length_mm": 60.1}, Status.NOT_MET)],
    )  # fmt: skip
    def test_one_too_wide_or_too_long_is_not_met(self, changed: dict, state: Status) -> None:
        """At most 5 mm wider and 40 mm longer than the tip: common practice, no source."""
        from dataclasses import replace

        cap = (replace(CAP, **{"bore_mm": 5, "length_mm": 25} | changed),)
        assert self.state(tip_across_mm=4, tip_cover_mm=20, protectors=cap) is state

    def test_of_two_sizes_with_one_name_the_one_that_suits_counts(self) -> None:
        from dataclasses import replace

        two = (
            replace(CAP, bore_mm=3, length_mm=25),
            replace(CAP, code="B", bore_mm=5, length_mm=25),
        )
        assert self.state(tip_across_mm=4, protectors=two) is Status.MET


class TestWay:
    """The programme taken, with the published least times beside it."""

    def taken(self, *programmes: Programme) -> Any:
        return decide(question(programmes=programmes), POLICY).recommended

    def run(self, code: str, **values: Any) -> Programme:
        return steam_run(code, **{"exposure_min": 4} | values)

    def test_the_programme_is_named(self) -> None:
        assert self.taken(self.run("A")).details["programme"] == "A"

    def test_one_the_ifu_does_not_accept_is_not_taken(self) -> None:
        assert self.taken(self.run("A", exposure_min=19), self.run("B")).details["programme"] == "B"

    def test_drying_that_the_ifu_is_silent_on_and_is_short_is_not_met(self) -> None:
        """CDC guideline 2008, Table 7: dynamic air removal, instruments, drying 20 to 30 min."""
        silent = CycleOption(method=Method.STEAM, temperature_c=132, exposure_min=4, exposure_max=4)
        asked = question(cycles=(silent,), programmes=(self.run("A", temperature_c=132,
                                                                drying_min=2),))  # fmt: skip
        assert decide(asked, POLICY).outcome is Outcome.NONE

    def test_a_shorter_cycle_that_the_ifu_states_is_met(self) -> None:
        short = CycleOption(
            method=Method.STEAM, temperature_c=132, exposure_min=3, exposure_max=3, drying_min=5
        )
        brief = self.run("A", temperature_c=132, exposure_min=3, drying_min=5)
        asked = question(cycles=(short,), programmes=(brief,))
        assert decide(asked, POLICY).outcome is Outcome.RECOMMENDED


def test_the_protectors_of_a_set_are_counted_and_named() -> None:
    fine = Instrument(name="iris scissors", sharp=False, protector="vented, small")
    plain = Instrument(name="clamp", sharp=False, protector="")
    sheet = Wrap(code="W", width_mm=900, length_mm=900)
    told = set_guidance(
        Candidate("wrap", "W", (), ()), sheet,
        [SetLine(quantity=4, instrument=fine), SetLine(quantity=2, instrument=plain)], 1, POLICY,
    )  # fmt: skip
    words = "4 × vented, small: iris scissors"
    assert told.protectors == ("Tip protectors on 4 × iris scissors: vented, small.",)
    assert any(words in one.asked() for one in told.checks if one.key == "protector")


def test_a_line_of_which_nobody_knows_hides_no_protector_on_record() -> None:
    lines = [SetLine(quantity=1, instrument=Instrument(name="hook", protector="vented, small")),
             SetLine(quantity=2, instrument=Instrument(name="probe"))]  # fmt: skip
    assert protectors_of(lines) == (
        "Tip protector on 1 × hook: vented, small.",
        "Whether it takes a tip protector is not on record, read its IFU: probe.",
    )


@pytest.mark.parametrize(("hinged", "asked"), [(False, False), (True, True), (None, True)])
def test_a_set_is_asked_about_hinges_where_one_of_it_may_have_one(
    hinged: bool | None, asked: bool
) -> None:
    plain = {"sharp": False, "ratchet": False, "hollow": False, "parts": False}
    some = [Instrument(name="rod", hinged=False, **plain),
            Instrument(name="other", hinged=hinged, **plain)]  # fmt: skip
    told = set_guidance(
        Candidate("wrap", "W", (), ()), Wrap(code="W", width_mm=900, length_mm=900),
        [SetLine(quantity=1, instrument=one) for one in some], 1, POLICY,
    )  # fmt: skip
    assert any(one.key == "hinged" for one in told.checks) is asked

"""When a pouch that meets every rule is not taken: it wastes material, or is loose."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assembly.rules.deciding.giving_way import CHOICE, in_order_of_choice
from assembly.rules.findings import Candidate, Finding, Status
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.explain import sections
from catalog.vocabulary import Kind
from tests.rules.deciding.practice import TODAY, WRAPS, decided, pouch, roll, taken, today
from tests.rules.given import instrument


class TestGivingWay:
    mirror = instrument(170, 22, 8, 20)
    sound = instrument(330, 12, 5, 40)

    @pytest.mark.parametrize(
        ("width", "kind"), [(85, Kind.ROLL), (86, Kind.POUCH)], ids=["under", "over"]
    )
    def test_a_pouch_gives_way_to_much_less_material(self, width, kind):
        """270 mm of roll against 100 x 300: 30,000 / 1.3 is 85.47 x 270."""
        assert taken(self.mirror, pouch("100x300"), roll(width)).kind == kind

    def test_exactly_so_much_less_is_not_less(self):
        """A roll of 100 cut to 300 is 30,000 mm2, a pouch of 130 x 300 is 1.3 times that."""
        wide = replace(pouch("100x300"), outer_width_mm=130)
        found = decided(instrument(202, 22, 8, 20), wide, roll(100))
        assert found.recommended.kind == Kind.POUCH
        assert found.alternatives[0].details["cut_length_mm"] == 300

    def test_the_reason_is_said(self):
        decision = decided(self.mirror, pouch("100x300"), roll(75))
        what = next(part for part in sections(decision) if part.heading == "What to take")
        assert what.sentences[1].startswith("Pouch 100x300 serves too, but the roll needs only ")

    def test_the_pouch_is_offered_instead(self):
        decision = decided(self.mirror, pouch("100x300"), roll(75))
        assert [one.code for one in decision.alternatives] == ["100x300"]

    def test_a_loose_pouch_gives_way_to_anything(self):
        """12 x 330 in 284 x 410 is 3.4 %."""
        decision = decided(self.sound, pouch("300x450"), WRAPS[2])
        assert decision.recommended.code == "wrap 750"
        assert decision.recommended.finding(CHOICE).sentence() == (
            "Pouch 300x450 serves too, but it is loose: 3.4 % of its porous side would be "
            "covered; under 10 % it gives way."
        )

    def test_a_loose_pouch_is_taken_where_nothing_else_serves(self):
        found = taken(self.sound, pouch("300x450"))
        assert any(caution.text.startswith("Loose") for caution in found.cautions)

    @pytest.mark.parametrize(("width", "kind"), [(14.06, Kind.POUCH), (14.05, Kind.WRAP)])
    def test_a_tenth_covered_is_not_loose(self, width, kind):
        """A tenth of the 74 x 190 inside is 1,406 mm2, which is 100 x 14.06."""
        found = taken(instrument(100, width, 3, 20), pouch("90x230"), WRAPS[0])
        assert found.kind == kind

    def test_nothing_gives_way_before_the_value_was_set(self):
        found = taken(self.mirror, pouch("100x300"), roll(75), rules=default_policy(TODAY, {
            "pouch_gives_way_share": None, "loose_share": None}))  # fmt: skip
        assert found.kind == Kind.POUCH

    def test_a_double_pouch_does_not_give_way(self):
        inner = pouch("100x300", doubles_in=("150x300",))
        outer = replace(pouch("150x300"), inner_length_mm=400, outer_length_mm=440)
        assert taken(self.mirror, inner, outer, roll(75), double=True).code == "100x300"

    def test_the_kind_that_the_policy_puts_first_is_not_asked_to(self):
        rules = today(kinds_in_order=("wrap", "pouch", "roll"))
        assert taken(self.mirror, rules=rules).kind == Kind.WRAP

    @pytest.mark.parametrize(("missing", "kind"), [("weight_g", "pouch"), ("R.rated_g", "wrap")])
    def test_no_pouch_gives_way_past_a_better_kind_in_doubt(self, missing, kind):
        """A roll that may serve, once its contents are measured, is better than a wrap."""
        loose = taken(self.sound, pouch("300x450"))
        sheet = taken(self.sound, WRAPS[2])
        open_ = Finding("width", Status.CANNOT_TELL, "?", "ours", missing=(missing,))
        doubtful = Candidate(kind="roll", code="R", findings=(open_,), order=(0,))
        first = in_order_of_choice([loose, doubtful, sheet], today())[0]
        assert first.kind == kind

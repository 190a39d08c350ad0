"""Sizes as practice has them: what is taken today for things of known size."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.findings import Candidate, Outcome, Status
from assembly.rules.kinds.lying import AS_GIVEN
from assembly.rules.kinds.rolls import cut_length
from assembly.rules.limits.clearances import BASE, CLOSING, SIDE, clearance
from assembly.rules.limits.handling import bulky_finding
from catalog.vocabulary import Fold, Form, Kind
from tests.rules.deciding.practice import (
    LARGEST,
    POUCHES,
    ROLLS,
    WRAPS,
    decided,
    on_roll,
    pouch,
    roll,
    taken,
    today,
)
from tests.rules.given import cases, in_pouch, instrument, named


@pytest.mark.parametrize("case", cases("sizes"), ids=named)
class TestWhatPracticeTakes:
    def found(self, case) -> Candidate:
        return taken(instrument(*case["item"], hinged=case.get("hinged", False)))

    def test_package(self, case):
        found = self.found(case)
        if case["take"] == "wrap or container":
            assert found.kind in (Kind.WRAP, Kind.CONTAINER)
        else:
            assert found.code == case["take"]

    def test_how_it_lies(self, case):
        found = self.found(case)
        assert found.details.get("way_to_lie", AS_GIVEN) == case.get("lies", AS_GIVEN)
        assert found.details.get("fold") == case.get("fold") or "fold" not in case


class TestClearances:
    """10 mm: common practice; 30 mm: DGSV guideline 2011, annex A.6; the half: our geometry."""

    @pytest.mark.parametrize(
        ("value", "height", "free"),
        [
            (SIDE, 20, 10), (SIDE, 20.2, 10.1), (BASE, 0, 10), (BASE, 30, 15),
            (CLOSING, 60, 30), (CLOSING, 61, 30.5),
        ],
    )  # fmt: skip
    def test_the_least_or_half_the_height(self, value, height, free):
        assert clearance(value, height, today()) == pytest.approx(free)

    @pytest.mark.parametrize(("width", "status"), [(53, Status.MET), (53.02, Status.NOT_MET)])
    def test_a_low_thing_leaves_ten_at_each_side(self, width, status):
        """90 less 16 of seals is 74: 53 and 1 high, 20 free."""
        found = in_pouch(instrument(100, width, 1), pouch("90x230"), today())
        assert found.finding("width").status is status

    high = instrument(115, 10, 30, lies_only_as_given=True)

    @pytest.mark.parametrize(("length", "status"), [(115, Status.MET), (115.02, Status.NOT_MET)])
    def test_a_high_thing_leaves_half_its_height_at_the_base(self, length, status):
        """230 less 40 is 190: 115 and 30 high, 15 at the base, 30 at the closing seal."""
        found = in_pouch(replace(self.high, length_mm=length), pouch("90x230"), today())
        assert found.finding("length").status is status

    def test_the_source_names_the_height_where_it_rules(self):
        high = in_pouch(self.high, pouch("90x230"), today()).finding("width")
        low = in_pouch(instrument(100, 10, 3), pouch("90x230"), today()).finding("width")
        assert "taller" in high.source and "taller" not in low.source

    def test_the_fixed_part_of_a_cut(self):
        """5 + 10 + 10 + 30 + 10 + 25 up to 20 mm of height (sum of the segments)."""
        cuts = [cut_length(0, today(), height).exact_mm for height in (0, 20, 30, 70)]
        assert cuts == pytest.approx([90, 90, 95, 120])

    def test_a_roll_leaves_half_the_height_too(self):
        """50 + 30 + 2 x 15 + 16 of side seals is 126."""
        item = instrument(280, 50, 30)
        found = [on_roll(item, roll(width)).finding("width").status for width in (126, 125.9)]
        assert found == [Status.MET, Status.NOT_MET]

    @pytest.mark.parametrize(("height", "said"), [(33, False), (33.1, True)])
    def test_tall_is_a_value_of_its_own(self, height, said):
        found = in_pouch(instrument(100, 40, height), pouch(LARGEST), today())
        assert any("Tall" in caution.text for caution in found.cautions) is said


class TestBulky:
    """Not in pouches: ISO/TS 16775:2014, annex a; the figures are common practice."""

    def status(self, kind=Kind.POUCH, rules=None, **facts: Any) -> Status:
        item = replace(instrument(100, 40, 20, 100), **facts)
        return bulky_finding(item, kind, rules or today()).status

    @pytest.mark.parametrize(
        ("facts", "status"),
        [
            ({"weight_g": 500}, Status.MET),
            ({"weight_g": 500.1}, Status.NOT_MET),
            ({"height_mm": 50}, Status.MET),
            ({"height_mm": 50.1}, Status.NOT_MET),
            ({"pieces": 4}, Status.MET),
            ({"pieces": 5}, Status.NOT_MET),
            ({"weight_g": None}, Status.CANNOT_TELL),
            ({"height_mm": None}, Status.CANNOT_TELL),
            ({"height_mm": None, "weight_g": 501}, Status.NOT_MET),
        ],
    )
    @pytest.mark.parametrize("kind", [Kind.POUCH, Kind.ROLL])
    def test_each_bound(self, kind, facts, status):
        assert self.status(kind, **facts) is status

    @pytest.mark.parametrize(("fact", "asked"), [("weight_g", "weight_g"), ("height_mm", "size")])
    def test_what_is_not_on_record_is_asked_for(self, fact, asked):
        item = replace(instrument(100, 40, 20, 100), **{fact: None})
        assert bulky_finding(item, Kind.POUCH, today()).missing == (asked,)

    def test_without_a_bound_it_is_not_asked(self):
        rules = today(bulky_weight_g=None, bulky_height_mm=None, bulky_pieces=None)
        assert self.status(rules=rules, weight_g=9000) is Status.DOES_NOT_APPLY

    def test_it_is_said_with_figure_and_source(self):
        found = decided(instrument(240, 45, 45, 900), pouch(LARGEST)).findings
        bulky = next(one for one in found if one.rule == "bulky")
        assert bulky.sentence() == (
            "Bulky: 900 g; at most 500 g in a pouch. It is for a wrap or a container."
        )
        assert "ISO/TS 16775" in bulky.source

    @pytest.mark.parametrize("supply", [pouch(LARGEST), roll(250)])
    def test_nothing_else_in_stock_is_none(self, supply):
        assert decided(instrument(240, 45, 45, 900), supply).outcome is Outcome.NONE


class TestSquareFold:
    """Square for large, heavy packs: PAHO manual 2009; 5 kg and 400 mm are common practice."""

    @pytest.mark.parametrize(
        ("size", "weight", "fold"),
        [
            ((480, 250, 50), 5000, "square"),
            ((480, 250, 50), 4999, "envelope"),
            ((400, 250, 50), 5000, "square"),
            ((399, 250, 50), 5000, "envelope"),
            ((250, 400, 50), 5000, "square"),
        ],
    )
    def test_from_the_policys_weight_and_size_on(self, size, weight, fold):
        assert taken(instrument(*size, weight), *WRAPS).details["fold"] == fold

    def test_too_small_a_sheet_for_it_is_still_taken_and_said(self):
        found = taken(instrument(480, 250, 50, 6000), WRAPS[4])
        assert found.details["fold"] == "envelope"
        assert any("too small for that" in caution.text for caution in found.cautions)

    def test_the_fold_asked_for_is_made(self):
        found = taken(instrument(480, 250, 50, 6000), *WRAPS, fold=Fold.ENVELOPE)
        assert found.code == "wrap 1000"

    def test_of_what_is_light_nothing_is_said_of_folds(self):
        found = taken(instrument(480, 250, 50, 2500), *WRAPS)
        assert not any("fold" in caution.text for caution in found.cautions)

    def test_before_it_was_set_both_are_told(self):
        found = taken(instrument(480, 250, 50, 9000), *WRAPS, rules=today(square_fold_from_g=None))
        assert any("opened in the hand" in caution.text for caution in found.cautions)


LADDERS = (
    [pouch.code for pouch in sorted(POUCHES, key=lambda pouch: pouch.material_mm2)],
    [roll.code for roll in ROLLS],
    [sheet.code for sheet in WRAPS],
)
"""The sizes of each kind in stock, smallest first."""


def steps_apart(one: str, other: str) -> float:
    """How many sizes of one kind lie between two packages; without end between two kinds."""
    for ladder in LADDERS:
        if one in ladder and other in ladder:
            return abs(ladder.index(one) - ladder.index(other))
    return float("inf")


@pytest.mark.parametrize("case", cases("kinds"), ids=named)
def test_every_kind_is_within_one_size_of_practice(case):
    facts = {key: case[key] for key in ("hinged", "hollow") if key in case}
    form = Form(case["form"]) if "form" in case else None
    found = taken(instrument(*case["item"], **{"form": form, **facts}))
    assert min(steps_apart(found.code, usual) for usual in case["usual"]) <= 1


def test_at_least_forty_kinds_are_held_to_practice():
    assert len({case["name"] for case in cases("kinds")}) >= 40

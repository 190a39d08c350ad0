"""How an instrument lies: open where it is hinged, on its side where that serves better."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.findings import Status
from assembly.rules.kinds.lying import ACROSS, AS_GIVEN, ON_ITS_SIDE, ways_to_lie
from assembly.rules.limits.several import together
from assembly.rules.telling.explain import headline, name
from catalog.vocabulary import Fold, Form, ItemClass
from tests.rules.deciding.practice import WRAPS, decided, pouch, taken, today
from tests.rules.given import in_pouch, instrument


class TestOnItsSide:
    deaver = instrument(300, 25, 95, 160)

    def hows(self, **facts: Any) -> list[str]:
        return [way.how for way in ways_to_lie(replace(self.deaver, **facts), today())]

    def test_it_may_unless_something_speaks_against_it(self):
        assert self.hows() == [AS_GIVEN, ON_ITS_SIDE]

    @pytest.mark.parametrize(
        "facts",
        [
            {"lies_only_as_given": True},
            {"form": Form.BASIN},
            {"form": Form.SCOPE},
            {"form": Form.POWERED},
            {"hollow": True},
            {"item_class": ItemClass.UTENSILS},
            {"hinged": True, "width_open_mm": 60},
        ],
    )
    def test_not_where_it_must_lie_as_it_is(self, facts):
        assert self.hows(**facts) == [AS_GIVEN]

    def test_not_where_the_policy_does_not_let_it(self):
        ways = ways_to_lie(self.deaver, today(lie_on_side=False))
        assert [way.how for way in ways] == [AS_GIVEN]

    def test_only_as_given_the_deaver_needs_a_wrap(self):
        assert taken(replace(self.deaver, lies_only_as_given=True)).kind == "wrap"

    def test_each_way_across_too_where_the_policy_lets_it(self):
        hows = [way.how for way in ways_to_lie(self.deaver, today(allow_rotate=True))]
        assert hows == [AS_GIVEN, ON_ITS_SIDE, ACROSS, f"{ON_ITS_SIDE}, {ACROSS}"]

    def test_it_is_said(self):
        found = taken(self.deaver)
        assert "Lay it on its side, 25 mm high." in [one.sentence() for one in found.cautions]
        assert name(found) == "roll roll 200 cut to 420 mm, on its side"

    def test_what_lies_well_as_it_is_stays_so(self):
        assert taken(instrument(125, 10, 3, 22)).details["way_to_lie"] == AS_GIVEN

    def test_several_are_turned_one_by_one(self):
        """Two of 25 x 95 with a gap of 10: 60 wide and 95 high, or 200 wide and 25 high."""
        (_, side) = ways_to_lie(together(self.deaver, 2, today()), today())
        assert (side.item.width_mm, side.item.height_mm) == (200, 25)

    def test_one_that_might_serve_on_its_side_is_undecided(self):
        """As given it is too high; on its side only its weight is not known."""
        found = in_pouch(replace(self.deaver, weight_g=None), pouch("300x450"), today())
        assert (found.status, found.details["way_to_lie"]) == (Status.CANNOT_TELL, ON_ITS_SIDE)


class TestHinged:
    mosquito = instrument(125, 62, 9, 24, hinged=True)

    def width(self, **facts: Any):
        return in_pouch(replace(self.mosquito, **facts), pouch("130x250"), today()).finding("width")

    def test_the_width_open_is_reckoned(self):
        """62 x 1.3 + 9 + 20 (common practice: they open to 1.2 to 1.5 times their width)."""
        assert self.width().figure == pytest.approx(109.6)

    def test_and_said_to_be_reckoned(self):
        assert (
            self.width()
            .sentence()
            .endswith("It lies open: 80.6 mm is reckoned from 62 mm closed, not measured.")
        )

    def test_measured_it_is_taken_as_it_is(self):
        found = self.width(width_open_mm=85)
        assert found.figure == pytest.approx(114) and "reckoned" not in found.sentence()

    @pytest.mark.parametrize(("wide", "status"), [(85, Status.MET), (85.02, Status.NOT_MET)])
    def test_measured_to_the_limit(self, wide, status):
        assert self.width(width_open_mm=wide).status is status

    def test_never_less_than_closed(self):
        assert self.width(width_open_mm=50).figure == pytest.approx(91)

    def test_without_a_hinge_it_does_not_open(self):
        assert self.width(hinged=False).figure == pytest.approx(91)

    def test_rings_open_where_no_record_says_otherwise(self):
        assert self.width(hinged=None, form=Form.RINGS).figure == pytest.approx(109.6)

    def test_two_open_each_for_itself(self):
        """2 x 80.6 + 10 between them."""
        pair = together(self.mosquito, 2, today())
        assert ways_to_lie(pair, today())[0].item.width_mm == pytest.approx(171.2)

    def test_two_measured_ones_too(self):
        pair = together(replace(self.mosquito, width_open_mm=85), 2, today())
        assert ways_to_lie(pair, today())[0].item.width_mm == pytest.approx(180)

    def test_the_width_open_is_asked_for(self):
        assert "width, open" in [one.missing for one in self.mosquito.not_on_record]

    @pytest.mark.parametrize("facts", [{"hinged": False}, {"width_open_mm": 80}])
    def test_but_only_where_it_opens_and_is_not_known(self, facts):
        item = replace(self.mosquito, **facts)
        assert "width, open" not in [one.missing for one in item.not_on_record]

    def test_it_is_wrapped_open(self):
        """130 closed is 169 open: 169 + 100 + 9 + 60 along the sides of the envelope."""
        wide = instrument(140, 130, 10, 200, hinged=True)
        closed = taken(replace(wide, hinged=False), *WRAPS, fold=Fold.ENVELOPE)
        opened = taken(wide, *WRAPS, fold=Fold.ENVELOPE)
        assert opened.details["sheet_side_mm"] > closed.details["sheet_side_mm"]
        assert "reckoned" in opened.finding("sheet").sentence()


def test_the_headline_says_how_it_lies():
    words = headline(decided(instrument(300, 25, 95, 160)))
    assert words == "Take roll roll 200 cut to 420 mm, on its side"

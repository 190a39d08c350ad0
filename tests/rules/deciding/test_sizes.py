"""Sizes as practice has them: what is taken today for things of known size."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.deciding.giving_way import CHOICE
from assembly.rules.facts.supplies import Pouch, Roll, Supply
from assembly.rules.findings import Candidate, Decision, Outcome, Status
from assembly.rules.kinds.lying import ACROSS, AS_GIVEN, ON_ITS_SIDE, ways_to_lie
from assembly.rules.kinds.rolls import cut_length, roll_candidate
from assembly.rules.limits.clearances import BASE, CLOSING, SIDE, clearance
from assembly.rules.limits.handling import bulky_finding
from assembly.rules.limits.several import together
from assembly.rules.policy.values import Policy, default_policy
from assembly.rules.telling.explain import headline, name, sections
from catalog.vocabulary import Fold, Form, ItemClass, Kind, Material
from tests.rules.given import CASES, cases, in_pouch, instrument, named, question, routes, wrap

TODAY = date(2026, 12, 1)
READING = tomllib.loads((CASES / "sizes.toml").read_text())
LARGEST = "380x550"


@cache
def today(**overrides: object) -> Policy:
    return default_policy(TODAY, overrides)


@cache
def pouch(code: str, **more: Any) -> Pouch:
    """A self-seal pouch named by its outer size, as the cases read it."""
    width, length = (int(side) for side in code.split("x"))
    seal_width, seal_length = READING["seals"]
    return Pouch(
        code=code,
        outer_width_mm=width,
        outer_length_mm=length,
        inner_width_mm=width - seal_width,
        inner_length_mm=length - seal_length,
        material=Material.PAPER_FILM,
        closure="self-seal",
        rated_g=2000,
        **more,
    )


def roll(width: float, **more: Any) -> Roll:
    facts = {"side_seal_mm": 8, "material": Material.PAPER_FILM, "rated_g": 2000} | more
    return Roll(code=f"roll {width:g}", nominal_width_mm=width, **facts)


POUCHES = tuple(pouch(f"{width}x{length}") for width, length in READING["pouches"])
ROLLS = tuple(roll(width) for width in READING["rolls"])
WRAPS = tuple(replace(wrap(side), code=f"wrap {side}") for side in READING["wraps"])
STOCK: tuple[Supply, ...] = (*POUCHES, *ROLLS, *WRAPS)


def decided(item, *supplies: Supply, rules: Policy | None = None, **more: Any) -> Decision:
    return decide(question(item, *(supplies or STOCK), **more), rules or today())


def taken(item, *supplies: Supply, **more: Any) -> Candidate:
    found = decided(item, *supplies, **more).recommended
    assert found is not None
    return found


def on_roll(item, supply: Roll) -> Candidate:
    return roll_candidate(item, supply, routes(), today())


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


def test_the_headline_says_how_it_lies():
    words = headline(decided(instrument(300, 25, 95, 160)))
    assert words == "Take roll roll 200 cut to 420 mm, on its side"


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

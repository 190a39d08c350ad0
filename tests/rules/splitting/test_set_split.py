"""The split of a set: limits, sections, cycles, what is unknown, and that nothing is lost.

Expected trays and weights were worked by hand from the numbers beside them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.deciding.sets import decide_set
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.policy.values import Policy
from assembly.rules.splitting.set_split import Part, SetSplit, SetSplitOutcome, split_set
from catalog.vocabulary import Filter, Material, Method
from tests.rules.given import policy, steam_run

S134 = CycleOption(method=Method.STEAM, temperature_c=134, exposure_min=3, exposure_max=18)
VAPOR = CycleOption(method=Method.H2O2, cycle_name="Standard", exposure_min=28, exposure_max=28)
EO = CycleOption(method=Method.EO, temperature_c=55, exposure_min=60, exposure_max=60)
STEAM_RUN = steam_run("S134", exposure_min=4)
VAPOR_RUN = Programme(code="VP", method=Method.H2O2, cycle_name="Standard", exposure_min=28)
BOX = Container(
    code="BOX", inner_length_mm=500, inner_width_mm=200, inner_height_mm=130, tare_g=3000,
    rated_g=10_000, programmes=("S134",), filter_material=Filter.POLYPROPYLENE,
)  # fmt: skip
"""7,000 g are left for instruments; one layer counts 500 x 200 x 0.7 = 70,000 mm²."""
SHEET = Wrap(code="W", width_mm=1200, length_mm=1200, material=Material.SMS, layers=2, rated_g=9000)
BASKET = Basket(code="BK", inner_length_mm=480, inner_width_mm=250, inner_height_mm=70, tare_g=600,
                rated_g=8500)  # fmt: skip


def one(name: str, weight: float | None, **changes: Any) -> Instrument:
    facts: dict[str, Any] = {"length_mm": 100, "width_mm": 10, "height_mm": 10, "hinged": False}
    return Instrument(name=name, weight_g=weight, cycles=changes.pop("cycles", (S134,)),
                      **facts | changes)  # fmt: skip


def line(name: str, weight: float | None, quantity: int = 1, section: str = "",
         **changes: Any) -> SetLine:  # fmt: skip
    return SetLine(quantity=quantity, instrument=one(name, weight, **changes), item_number=name,
                   section=section)  # fmt: skip


def asked(*lines: SetLine, **changes: Any) -> SetQuestion:
    question = SetQuestion(
        lines=lines, supplies=(BOX, SHEET), programmes=(STEAM_RUN, VAPOR_RUN), packed_in="BOX"
    )
    return replace(question, **changes)


def parted(
    *lines: SetLine, layers: int | None = None, by: Policy | None = None, **changes: Any
) -> SetSplit:
    question = asked(*lines, **changes)
    return split_set(question, question.packed_in, by or policy(), layers)


def names(found: SetSplit) -> list[dict[str, int]]:
    """Each part as its item numbers with their counts."""
    return [{found.lines[n].item_number: count for n, count in part.pieces} for part in found.parts]


class TestWeight:
    def test_the_parts_with_their_own_container(self) -> None:
        found = parted(line("A", 4000), line("B", 4000), line("C", 2000))
        assert [part.gross_g for part in found.parts] == [9000, 7000]
        assert names(found) == [{"A": 1, "C": 1}, {"B": 1}]

    def test_it_is_proved(self) -> None:
        found = parted(line("A", 4000), line("B", 4000))
        assert (found.outcome, found.proved) == (SetSplitOutcome.SPLIT, True)
        assert found.sentences()[0] == "Proved: no fewer than 2 trays hold it."

    def test_exactly_full_is_one_tray(self) -> None:
        assert parted(line("A", 3500, 2)).outcome is SetSplitOutcome.ONE

    def test_a_hundredth_of_a_gram_over_is_two(self) -> None:
        assert len(parted(line("A", 3500), line("B", 3500.01)).parts) == 2

    def test_two_decimals_of_the_limit_are_kept(self) -> None:
        """25 lb, ANSI/AAMI ST77, 4.3.5 (as reported): 11,339.81 g, of which the box is 3,000."""
        box = replace(BOX, rated_g=12_000)
        lines = (line("A", 4339.81), line("B", 4000))
        assert parted(*lines, supplies=(box,)).outcome is SetSplitOutcome.ONE
        assert len(parted(line("A", 4339.82), lines[1], supplies=(box,)).parts) == 2

    def test_the_limit_that_comes_first_is_named_with_its_source(self) -> None:
        limit = parted(line("A", 4000, 2)).limit
        assert limit is not None
        assert (limit.gross_g, limit.rule, limit.source) == (
            10_000, "rated weight", "the packaging maker's IFU")  # fmt: skip

    def test_the_basket_of_each_part_counts(self) -> None:
        found = parted(line("A", 4000), line("B", 4000), basket=BASKET)
        assert [part.gross_g for part in found.parts] == [7600, 7600]
        assert found.limit is not None and found.limit.room_g == 6400

    def test_what_the_basket_may_hold_is_a_limit(self) -> None:
        found = parted(line("A", 400, 2), basket=replace(BASKET, rated_g=500))
        assert (len(found.parts), found.limit and found.limit.rule) == (2, "basket weight")

    def test_a_net_limit_of_the_policy_is_one(self) -> None:
        found = parted(line("A", 400, 2), by=policy(net_limit_g=600))
        assert (len(found.parts), found.limit and found.limit.rule) == (2, "net weight")

    def test_a_limit_of_the_load_is_one(self) -> None:
        found = parted(
            line("A", 400, 2), by=policy(load_limit_g=600, load_limit_reading="not divided")
        )
        assert (len(found.parts), found.limit and found.limit.rule) == (2, "load weight")

    def test_a_wrap_that_nobody_weighed_leaves_what_the_decision_passes(self) -> None:
        """0.9 of 11,339.81 g; beyond it the decision asks for the weight of the sheet."""
        sheet = replace(SHEET, rated_g=15_000)
        found = parted(line("A", 1000), packed_in="W", supplies=(sheet,))
        assert found.limit is not None and found.limit.room_g == pytest.approx(10_205.829)
        assert not found.proved

    @pytest.mark.parametrize("quantity", [5, 8, 12])
    def test_each_part_is_within_every_limit_of_its_own_decision(self, quantity: int) -> None:
        found = parted(line("A", 1000, quantity), line("B", 900, quantity), line("C", 37.35))
        for part in found.parts:
            lines = tuple(replace(found.lines[n], quantity=count) for n, count in part.pieces)
            decision = decide_set(asked(*lines), policy())
            assert not decision.too_much


class TestTooMuch:
    """What is split at all: a set over a limit, or with instruments that clash."""

    def decided(self, *lines: SetLine) -> bool:
        return decide_set(asked(*lines), policy()).too_much

    def test_over_its_limit(self) -> None:
        assert self.decided(line("A", 4000, 2))

    def test_without_a_common_cycle(self) -> None:
        assert self.decided(line("A", 100), line("S", 100, cycles=(VAPOR,)))

    def test_neither(self) -> None:
        assert not self.decided(line("A", 100), line("B", 100))

    def test_a_weight_that_nobody_knows_is_weighed_not_split(self) -> None:
        assert not self.decided(line("A", 100), line("B", None))


class TestSections:
    def test_a_section_stays_whole(self) -> None:
        found = parted(line("A", 3000, section="top"), line("B", 3000, section="below"),
                       line("C", 2000, section="top"))  # fmt: skip
        assert names(found) == [{"A": 1, "C": 1}, {"B": 1}]

    def test_what_would_do_if_it_were_parted_is_said(self) -> None:
        """Sections of 4,600 g: three trays; their pieces of 2,300 g go three to a tray: two."""
        lines = [line(f"{s}{n}", 2300, section=s) for s in "KLM" for n in (1, 2)]
        found = parted(*lines)
        assert (len(found.parts), found.proved, found.if_parted) == (3, True, 2)
        assert "Everything parted piece by piece, 2 would do." in found.sentences()

    def test_one_that_no_tray_holds_is_parted_by_lines_and_named(self) -> None:
        found = parted(line("A", 4000, section="top"), line("B", 4000, section="top"))
        assert (names(found), found.parted) == ([{"A": 1}, {"B": 1}], ("top",))

    def test_a_line_without_a_section_stays_whole(self) -> None:
        found = parted(line("A", 1000, 5), line("B", 1000, 4))
        assert names(found) == [{"A": 5}, {"B": 4}]

    def test_a_line_that_no_tray_holds_is_parted_by_pieces_and_named(self) -> None:
        found = parted(line("A", 1000, 8))
        assert (names(found), found.parted) == ([{"A": 4}, {"A": 4}], ("A",))

    def test_a_piece_that_no_tray_holds_is_named(self) -> None:
        found = parted(line("A", 100), line("B", 7000.5))
        assert (found.outcome, found.named) == (SetSplitOutcome.TOO_BIG, ("B",))

    def test_more_even_is_said_to_be_open_only_where_it_is(self) -> None:
        found = parted(line("A", 4000), line("B", 4000), line("C", 1000))
        assert found.least_heaviest_g == max(part.gross_g for part in found.parts) == 8000


class TestRoom:
    def test_as_many_layers_as_the_whole_set_takes(self) -> None:
        """120,000 mm² of pieces on layers of 70,000 mm² each."""
        found = parted(line("A", 10, width_mm=600), line("B", 10, width_mm=600))
        assert found.limit is not None and found.limit.layers == 2
        assert found.outcome is SetSplitOutcome.ONE

    def test_fewer_layers_part_it(self) -> None:
        found = parted(line("A", 10, width_mm=600), line("B", 10, width_mm=600), layers=1)
        assert [part.area_share for part in found.parts] == pytest.approx([6 / 7, 6 / 7])

    def test_an_unknown_size_leaves_it_not_proved(self) -> None:
        found = parted(line("A", 4000), line("B", 4000, width_mm=None), layers=2)
        assert not found.proved and "B" in " ".join(found.doubts)

    def test_in_a_wrap_without_a_basket_it_was_not_asked(self) -> None:
        found = parted(line("A", 100), packed_in="W", layers=1)
        assert any("whether a tray has room was not asked" in words for words in found.doubts)


class TestUnknown:
    def test_an_unknown_weight_is_provisional_never_proved(self) -> None:
        found = parted(line("A", 4000), line("B", 4000), line("C", None))
        assert not found.proved
        assert found.sentences()[0] == "Not proved: provisional, 2 trays by what is on record."
        assert any(words.startswith("Not weighed") and "C" in words for words in found.doubts)

    def test_it_counts_at_the_policys_most(self) -> None:
        """3,000 g each: of three such pieces two go to a tray of 7,000 g."""
        assert len(parted(line("C", None, 3)).parts) == 2

    def test_one_that_may_be_too_heavy_is_weighed_first(self) -> None:
        found = parted(line("C", None), by=policy(unweighed_most_g=5000, net_limit_g=4000))
        assert (found.outcome, found.named) == (SetSplitOutcome.UNKNOWN, ("C",))

    def test_a_container_that_nobody_weighed_is_weighed_first(self) -> None:
        found = parted(line("A", 100), supplies=(replace(BOX, tare_g=None),))
        assert found.sentences() == ("Weigh first: BOX.",)

    def test_a_rating_that_nobody_knows_is_a_doubt(self) -> None:
        found = parted(line("A", 5000, 2), supplies=(replace(BOX, rated_g=None),))
        assert (len(found.parts), found.proved) == (2, False)

    def test_without_its_packaging_there_is_no_answer(self) -> None:
        assert parted(line("A", 1), packed_in=None).outcome is SetSplitOutcome.NO_PACKAGING

    def test_without_lines_there_is_nothing(self) -> None:
        assert parted().outcome is SetSplitOutcome.EMPTY


class TestCycles:
    def test_only_what_clashes_is_parted(self) -> None:
        found = parted(line("A", 100), line("S", 100, cycles=(VAPOR,)), line("C", 100))
        assert names(found) == [{"A": 1, "C": 1}, {"S": 1}]
        assert [part.cycle.partition(" ")[0] for part in found.parts] == ["S134", "VP"]

    def test_that_is_proved(self) -> None:
        assert parted(line("A", 100), line("S", 100, cycles=(VAPOR,))).proved

    def test_what_goes_both_ways_stays_with_its_section(self) -> None:
        both = {"cycles": (S134, VAPOR)}
        found = parted(line("A", 100), line("B", 100), line("C", 100, section="scope", **both),
                       line("S", 100, section="scope", cycles=(VAPOR,)))  # fmt: skip
        assert names(found) == [{"A": 1, "B": 1}, {"C": 1, "S": 1}]

    def test_a_group_that_is_too_heavy_is_split_by_weight(self) -> None:
        found = parted(line("A", 4000), line("B", 4000), line("S", 100, cycles=(VAPOR,)))
        assert (len(found.parts), found.proved) == (3, True)

    def test_what_goes_both_ways_saves_a_tray_where_it_can(self) -> None:
        """Steam alone 5,000 g, vapor alone 1,000 g, both ways 4,000 g: two trays, not three."""
        found = parted(line("A", 5000), line("B", 4000, section="x", cycles=(S134, VAPOR)),
                       line("S", 1000, cycles=(VAPOR,)))  # fmt: skip
        assert (len(found.parts), found.proved) == (2, True)

    def test_trays_of_groups_that_cannot_give_to_each_other_are_proved_one_by_one(self) -> None:
        """By hand: two of 2,400 g go to a tray of 7,000 g, and two of 3,000 g: five and three need
        three and two trays, where sums alone ask for two and two."""
        found = parted(line("A", 2400, 5), line("S", 3000, 3, cycles=(VAPOR,)))
        assert (len(found.parts), found.proved) == (5, True)

    def test_nothing_is_moved_to_a_cycle_that_does_not_serve_it(self) -> None:
        """4,000 g for vapor or EO, in each of which 5,000 lie; there is room beside steam."""
        eo_run = Programme(code="EO", method=Method.EO, temperature_c=55, exposure_min=60)
        found = parted(
            line("A", 1000), line("B", 5000, cycles=(VAPOR,)), line("C", 5000, cycles=(EO,)),
            line("D", 4000, cycles=(VAPOR, EO)), programmes=(STEAM_RUN, VAPOR_RUN, eo_run),
        )  # fmt: skip
        assert len(found.parts) == 4

    def test_what_no_cycle_serves_is_named_first_and_lies_apart(self) -> None:
        found = parted(line("A", 100), line("E", 100, cycles=(EO,)))
        assert (names(found), found.apart) == ([{"A": 1}, {"E": 1}], ("E",))
        assert found.sentences()[0] == "No cycle here serves E: apart, in B."

    def test_a_cycle_that_nobody_knows_parts_nothing(self) -> None:
        found = parted(line("A", 100), line("U", 100, cycles=()), line("S", 100, cycles=(VAPOR,)))
        assert len(found.parts) == 2
        assert not found.proved and any("read it first: U" in words for words in found.doubts)

    def test_where_the_department_enters_no_cycle_any_counts(self) -> None:
        found = parted(line("A", 100), line("S", 100, cycles=(VAPOR,)), programmes=None)
        assert (len(found.parts), found.proved) == (2, True)


@pytest.mark.parametrize(
    ("pieces", "words"), [(((0, 1),), "1 piece"), (((0, 1), (3, 1)), "2 pieces")]
)
def test_a_tray_says_how_many_pieces_lie_in_it(
    pieces: tuple[tuple[int, int], ...], words: str
) -> None:
    assert Part("A", pieces, 900.0, None, "").pieces_words == words


@pytest.mark.parametrize(
    ("cycle", "orphans", "words"),
    [("S134", False, "S134"), ("", True, "no cycle serves it"), ("", False, "no cycle is certain")],
)
def test_a_tray_says_its_cycle_or_why_none(cycle: str, orphans: bool, words: str) -> None:
    assert Part("A", ((0, 1),), 900.0, None, cycle, orphans).cycle_words == words


def test_the_answer_as_json() -> None:
    told = parted(line("A", 4000.25), line("B", 4000)).as_json()
    assert told["proved"] is True
    assert told["trays"][0] == {
        "part": "A", "lines": [{"item_number": "A", "name": "A", "quantity": 1}],
        "gross_g": 7000.25, "limit_g": 10_000.0, "cycle": told["trays"][1]["cycle"],
    }  # fmt: skip


WEIGHTS = st.none() | st.integers(1, 700_000).map(lambda hundredths: hundredths / 100)
CYCLES = [(S134,), (VAPOR,), (S134, VAPOR), (EO,), ()]
sheets = st.lists(
    st.builds(
        line, st.sampled_from("ABCDEFGH"), WEIGHTS,
        st.integers(1, 6), section=st.sampled_from(["", "", "top", "below"]),
        cycles=st.sampled_from(CYCLES),
    ),
    min_size=1, max_size=12,
)  # fmt: skip


@given(sheets, st.none() | st.integers(1, 3))
def test_the_parts_add_up_exactly_to_the_count_sheet(
    lines: list[SetLine], layers: int | None
) -> None:
    found = parted(*lines, layers=layers)
    if found.parts:
        whole: Counter[int] = Counter()
        for part in found.parts:
            whole.update(dict(part.pieces))
        assert whole == {n: one.quantity for n, one in enumerate(lines)}


@given(sheets)
def test_no_part_is_over_its_limit(lines: list[SetLine]) -> None:
    found = parted(*lines)
    limit = found.limit.gross_g if found.limit else 0
    assert all(part.gross_g <= limit + 1e-6 for part in found.parts)


@given(sheets)
def test_what_leans_on_something_unknown_is_never_proved(lines: list[SetLine]) -> None:
    unknown = any(one.instrument.weight_g is None for one in lines)
    assert not (unknown and parted(*lines).proved)

"""Which size serves is what the scalar rules say; a double counts both; nothing unknown passes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import Status
from assembly.rules.kinds.pouches import footprint, free_round
from assembly.rules.kinds.rolls import roll_candidate
from assembly.rules.stock.stock_plan import plans, told
from assembly.rules.stock.stock_sizes import (
    Wanted,
    for_rolls,
    further_pouch,
    further_roll,
    pouch_sizes,
    roll_sizes,
)
from catalog.vocabulary import Kind, Material
from tests.rules.given import in_pouch, instrument, policy, pouch, rolls, routes, stock

SCISSORS, HOLDER, BOWL = (
    instrument(115, 58, 8), instrument(180, 70, 12), instrument(100, 100, 45),
)  # fmt: skip
ROD = instrument(640, 12, 12)


def wanted(item: Instrument, count: int = 1, **more: object) -> Wanted:
    return Wanted("HF-1", item, count, **more)  # type: ignore[arg-type]


def test_each_gets_the_smallest_of_the_sizes_that_the_rules_let_it_have() -> None:
    items = [SCISSORS, HOLDER, BOWL]
    found = pouch_sizes([wanted(one, 10) for one in items], stock(), None, policy())
    for row, item in enumerate(items):
        serves = [in_pouch(item, pouch(code)).status is Status.MET for code in found.codes]
        assert [bool(mm2 < float("inf")) for mm2 in found.table.alone[row]] == serves


def test_material_is_counted_laid_flat_and_money_by_the_price_of_one() -> None:
    found = pouch_sizes([wanted(SCISSORS, 10)], stock(), None, policy())
    [plan] = plans(found, 5)
    assert (plan.codes, plan.material_mm2) == (("P04",), 10 * 150 * 300)
    assert plan.money == pytest.approx(10 * (pouch("P04").cost or 0))


def test_a_double_counts_the_inner_and_the_outer_pouch() -> None:
    pouches = stock(P04=("P07",))
    found = pouch_sizes([wanted(SCISSORS, 3, double=True)], pouches, None, policy())
    [one, two] = plans(found, 5)
    assert (one.material_mm2, one.lost, one.proved) == (None, 3, True)
    assert two.codes == ("P04", "P07")
    assert two.material_mm2 == 3 * (150 * 300 + 200 * 400)
    assert [use.packages for use in two.uses] == [3, 3]


def test_a_double_without_a_validated_pair_is_uncovered() -> None:
    found = pouch_sizes([wanted(SCISSORS, double=True, kind=Kind.POUCH)], stock(), None, policy())
    assert [one.instrument for one in found.uncovered] == [SCISSORS] and not found.doubles


def test_an_unknown_size_is_left_out_by_name_and_never_covered() -> None:
    open_ = wanted(instrument(None, 58, 8))
    for found in (pouch_sizes([open_], stock(), None, policy()),
                  roll_sizes([open_], rolls(), None, policy())):  # fmt: skip
        assert (found.unknown, found.wanted, found.uncovered) == ((open_,), (), ())


def test_what_no_pouch_serves_is_uncovered_where_it_was_packed_in_one_else_for_a_roll() -> None:
    packed, never, rolled = wanted(ROD, kind=Kind.POUCH), wanted(ROD), wanted(BOWL, kind=Kind.ROLL)
    every = [packed, never, rolled]
    found = pouch_sizes(every, stock(), None, policy())
    assert found.uncovered == (packed,)
    assert for_rolls(every, found) == [never, rolled]


def test_a_roll_is_used_by_the_length_that_is_cut() -> None:
    found = roll_sizes([wanted(SCISSORS, 4), wanted(BOWL)], rolls(), None, policy())
    [one, two] = plans(found, 5)
    assert (one.codes, one.proved, two.codes) == (("R250",), True, ("R150", "R250"))
    cut = [roll_candidate(item, roll, routes(), policy()).details["cut_length_mm"]
           for item, roll in ((SCISSORS, rolls()[4]), (BOWL, rolls()[6]))]  # fmt: skip
    assert two.material_mm2 == 4 * cut[0] * 150 + cut[1] * 250
    assert two.money is None  # no price is on record


def test_a_roll_costs_by_the_meter() -> None:
    found = roll_sizes([wanted(SCISSORS, 4)], rolls(cost=0.5), None, policy())
    [plan] = plans(found, 5)
    assert plan.money == pytest.approx(0.5 * plan.uses[0].amount / 1000)


def test_three_of_what_a_size_is_used_for_most_are_named() -> None:
    every = [wanted(SCISSORS, count) for count in (1, 5, 3, 9)]
    [use] = plans(pouch_sizes(every, stock(), None, policy()), 5)[0].uses
    assert (use.packages, [one.count for one in use.most]) == (18, [9, 5, 3])


def test_packages_that_no_chosen_size_serves_are_lost() -> None:
    found = pouch_sizes([wanted(SCISSORS, 10), wanted(BOWL, 2)], stock(), None, policy())
    plan = told(found, found.numbers(("P04",)))
    assert (plan.lost, plan.money) == (2, None)


def test_a_size_without_a_price_costs_nothing_where_nothing_is_packed_in_it() -> None:
    some = [replace(one, cost=None) if one.code == "P08" else one for one in stock()]
    found = pouch_sizes([wanted(SCISSORS, 10)], some, None, policy())
    assert told(found, found.numbers(("P04", "P08"))).money is not None


def test_dropping_a_size_says_what_more_it_takes_and_who_is_left_without() -> None:
    found = pouch_sizes([wanted(SCISSORS, 10), wanted(BOWL, 2)], stock(), None, policy())
    plan = told(found, found.numbers(("P04", "P08")))
    small, large = plan.uses
    assert (small.more_mm2, small.lost) == (10 * (250 * 400 - 150 * 300), 0)
    assert (large.more_mm2, large.lost) == (0, 2)


def test_dropping_a_size_says_what_more_it_costs_where_all_prices_are_known() -> None:
    found = pouch_sizes([wanted(SCISSORS, 10)], stock(), None, policy())
    [small, _] = told(found, found.numbers(("P04", "P08"))).uses
    cost = (pouch("P08").cost or 0) - (pouch("P04").cost or 0)
    assert small.more_money == pytest.approx(10 * cost)
    unpriced = [replace(one, cost=None) for one in stock()]
    found = pouch_sizes([wanted(SCISSORS, 10)], unpriced, None, policy())
    assert told(found, found.numbers(("P04", "P08"))).uses[0].more_money is None


def test_the_check_figures_worked_by_enumeration_by_way_of_the_rules() -> None:
    """Pouches without seals, and blades that need just so much with what is left free round."""
    free = free_round(footprint(SCISSORS.box), policy())
    sizes = [(100, 200), (100, 300), (150, 300), (150, 400), (200, 400)]
    needs = [(80, 150, 10), (80, 250, 20), (120, 250, 30), (120, 350, 5), (180, 300, 8)]
    pouches = [Pouch(code=f"{w}x{h}", inner_width_mm=w, inner_length_mm=h, outer_width_mm=w,
                     outer_length_mm=h, rated_g=500, material=Material.PAPER_FILM)
               for w, h in sizes]  # fmt: skip
    blades = [
        wanted(instrument(long - free.closing - free.base - 1, wide - 2 * free.side - 1, 1), count)
        for wide, long, count in needs
    ]
    found = plans(pouch_sizes(blades, pouches, None, policy()), 5)
    assert [(one.material_mm2 or 0) / 1e4 for one in found] == [584, 374, 329, 319, 309]
    assert found[1].codes == ("150x300", "200x400")


def test_a_further_pouch_takes_after_the_largest_that_is_no_larger() -> None:
    made = further_pouch(160, 320, stock(), policy())
    assert (made.code, made.rated_g, made.cost) == ("160x320", pouch("P04").rated_g, None)
    assert (made.inner_width_mm, made.inner_length_mm) == (144, 280)


def test_a_further_pouch_of_a_size_that_is_here_takes_after_that_one() -> None:
    some = [replace(one, rated_g=1234) if one.code == "P04" else one for one in stock()]
    width, length = pouch("P04").inner_width_mm or 0, pouch("P04").inner_length_mm or 0
    made = further_pouch(width + 16, length + 40, some, policy())
    assert (made.rated_g, made.gusset_mm) == (1234, 0)


def test_a_further_pouch_smaller_than_all_takes_after_the_smallest() -> None:
    assert further_pouch(60, 100, stock(), policy()).rated_g == pouch("P01").rated_g


@pytest.mark.parametrize("size", [(16, 200), (100, 40)])
def test_a_pouch_that_is_all_seal_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(FactsError, match="seals take all"):
        further_pouch(*size, stock(), policy())


def test_nothing_to_take_after_is_refused() -> None:
    with pytest.raises(FactsError, match="no pouch"):
        further_pouch(100, 200, (), policy())
    with pytest.raises(FactsError, match="no roll"):
        further_roll(100, ())


@pytest.mark.parametrize(("width", "after"), [(10, 0), (75, 1), (100, 2), (140, 3), (900, -1)])
def test_a_further_roll_takes_after_the_widest_that_is_no_wider(width: int, after: int) -> None:
    some = [replace(one, rated_g=100 + n) for n, one in enumerate(rolls())]
    assert further_roll(width, some).rated_g == some[after].rated_g


def test_a_further_roll_is_planned_with_like_any() -> None:
    more = further_roll(140, rolls())
    [plan] = plans(roll_sizes([wanted(SCISSORS)], [*rolls(), more], None, policy()), 1)
    assert plan.codes == ("roll 140",)

"""Single pouches over many made-up sizes: larger and smaller, order, brute force."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import CLOSE_MM, Status
from tests.rules.given import (
    in_pouch,
    instrument,
    policy,
    pouch,
    question,
    stock,
)

items = st.tuples(st.floats(5, 350), st.floats(2, 200), st.floats(1, 100), st.floats(1, 1200))
pouches = st.builds(
    lambda w, length, g, rated: replace(
        pouch("P01"), outer_width_mm=None, outer_length_mm=None, inner_width_mm=w,
        inner_length_mm=length, gusset_mm=g, rated_g=rated,
    ),
    st.floats(40, 400), st.floats(80, 600), st.floats(0, 60), st.floats(50, 1500),
)  # fmt: skip


def met(item, supply) -> set[str]:
    found = in_pouch(instrument(*item), supply).findings
    return {finding.rule for finding in found if finding.status is Status.MET}


@given(items, pouches, st.integers(0, 3), st.floats(1, 3))
def test_a_larger_instrument_meets_no_rule_that_a_smaller_fails(item, supply, which, factor):
    larger = tuple(size * factor if n == which else size for n, size in enumerate(item))
    assert met(larger, supply) <= met(item, supply)


@given(
    items,
    pouches,
    st.sampled_from(["inner_width_mm", "inner_length_mm", "gusset_mm", "rated_g"]),
    st.floats(1, 3),
)
def test_a_larger_pouch_fails_no_rule_that_a_smaller_meets(item, supply, field, factor):
    larger = replace(supply, **{field: getattr(supply, field) * factor})
    assert met(item, supply) <= met(item, larger)


@given(items, pouches, st.sampled_from([1.27, 2.0, 3.0]))
def test_the_unit_of_length_does_not_matter(item, supply, k):
    """Instrument, pouch and policy all scaled: the same findings, away from the limits."""
    rules = ("side_clearance_mm", "base_clearance_mm", "closing_clearance_mm")
    scaled_policy = policy(**{name: policy().number(name) * k for name in rules})
    one = in_pouch(instrument(*item), supply)
    assume(all(abs(f.margin or 1) > 4 * CLOSE_MM / k for f in one.findings if f.unit == "mm"))
    scaled = replace(
        supply, inner_width_mm=supply.inner_width_mm * k,
        inner_length_mm=supply.inner_length_mm * k, gusset_mm=supply.gusset_mm * k,
    )  # fmt: skip
    length, width, height, weight = item
    other = in_pouch(instrument(length * k, width * k, height * k, weight), scaled, scaled_policy)
    assert [f.status for f in other.findings] == [f.status for f in one.findings]


@given(items)
def test_every_pouch_passed_over_says_why(item):
    candidates = [in_pouch(instrument(*item), supply) for supply in stock()]
    assert all(bool(c.reasons) is (c.status is not Status.MET) for c in candidates)


def by_hand(item, supply: Pouch) -> bool:
    """The rules written out a second time, as plain arithmetic."""
    length, width, height, weight = item
    opened = supply.inner_width_mm + 2 * supply.gusset_mm
    area = supply.inner_width_mm * supply.inner_length_mm
    return (
        width + height + 50 <= opened + CLOSE_MM
        and length + height + 55 <= supply.inner_length_mm + CLOSE_MM
        and (length + height) * (width + height) <= 0.75 * area + 1e-6 * area
        and weight <= supply.rated_g + 0.05
    )


@given(items)
def test_choice_is_the_least_material_of_all_that_serve(item):
    serving = [supply for supply in stock() if by_hand(item, supply)]
    best = min(serving, key=lambda s: (s.material_mm2, s.cost, s.code), default=None)
    found = decide(question(instrument(*item), *stock()), policy()).recommended
    assert (found and found.code) == (best and best.code)


def material(item, supplies) -> float:
    """Material of the pouch taken, infinite where none serves."""
    found = decide(question(instrument(*item), *supplies), policy()).recommended
    return found.order[0] if found else math.inf


@given(items, items)
def test_a_smaller_instrument_never_takes_more_material(one, other):
    assert material(tuple(map(min, one, other)), stock()) <= material(one, stock())


@given(items, st.permutations(stock()))
def test_choice_does_not_depend_on_the_order_of_the_stock(item, shuffled):
    one = decide(question(instrument(*item), *stock()), policy())
    other = decide(question(instrument(*item), *shuffled), policy())
    assert one.as_json() == other.as_json()


@given(items, st.sampled_from(stock()))
def test_one_pouch_less_in_stock_never_saves_material(item, gone):
    rest = [supply for supply in stock() if supply is not gone]
    assert material(item, rest) >= material(item, stock())

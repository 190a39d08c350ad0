"""Water that condenses on a set: by hand, by another formula, and what is not on record."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.computing.condensate import (
    Mass,
    Wetting,
    condensate_g,
    given_up,
    heats,
    wetting,
)
from assembly.rules.facts.checks import FactsError
from catalog.vocabulary import MadeOf

grams = st.floats(0.1, 20_000)
BASKET_MM2 = 480 * 250


@pytest.mark.parametrize(
    ("mass_g", "made_of", "water_g"),
    [
        pytest.param(10_000, MadeOf.STEEL, 252, id="10 x 0.50 x 109 / 2162"),
        pytest.param(3_200, MadeOf.ALUMINUM, 145, id="3.2 x 0.90 x 109 / 2162"),
    ],
)
def test_by_hand(mass_g: float, made_of: MadeOf, water_g: float) -> None:
    """Worked by hand, from 25 to 134 °C: 0.25 kg and 0.145 kg."""
    assert condensate_g(mass_g, made_of, 25, 134) == pytest.approx(water_g, abs=0.5)


@pytest.mark.parametrize("at_c", [100, 105, 121, 132, 134, 140])
def test_the_heat_of_steam_is_what_another_formula_gives(at_c: float) -> None:
    """Watson 1943, r = r0 ((Tc - T) / (Tc - T0))^0.38 from 100 °C on; from memory, to 1 %."""
    watson = 2256.4 * ((374.0 - at_c) / (374.0 - 100)) ** 0.38
    assert given_up(at_c) == pytest.approx(watson, rel=0.01)


@pytest.mark.parametrize("at_c", [99.9, 140.1])
def test_outside_its_table_steam_is_not_guessed(at_c: float) -> None:
    with pytest.raises(FactsError, match="from 100 to 140"):
        given_up(at_c)


def test_every_material_has_its_heat() -> None:
    assert set(heats()) == set(MadeOf)


def set_of(*more: Mass, area: float | None = BASKET_MM2) -> Wetting:
    pieces = (Mass("rasp", 600, quantity=10), Mass("mallet", 900))
    return wetting((*pieces, *more), area, 25, 134)


def test_metal_its_room_and_the_heaviest_piece() -> None:
    """By hand: 6,900 g on 1,200 cm² are 5.75 g/cm²; 6,900 x 0.50 x 109 / 2162 = 173.9 g."""
    found = set_of()
    assert (found.metal_g, found.metal_per_cm2) == (6_900, 5.75)
    assert found.condensate_g == pytest.approx(173.9, abs=0.1)
    assert found.heaviest and found.heaviest.name == "mallet"
    assert not found.at_least


def test_a_container_is_metal_and_no_piece() -> None:
    found = set_of(Mass("RC-FULL", 3_200, MadeOf.ALUMINUM, holds=True))
    assert found.metal_g == 10_100
    assert found.heaviest and found.heaviest.name == "mallet"


def test_plastic_takes_up_heat_and_is_no_metal() -> None:
    found = set_of(Mass("case", 1_000, MadeOf.PLASTIC, holds=True))
    assert found.metal_g == 6_900
    assert found.condensate_g > set_of().condensate_g


def test_what_is_not_weighed_is_named_and_makes_it_at_least() -> None:
    found = set_of(Mass("clamp", None, quantity=2))
    assert found.unweighed == ("clamp",)
    assert found.at_least


def test_what_is_not_weighed_adds_no_metal() -> None:
    assert set_of(Mass("clamp", None, quantity=2)).metal_g == 6_900


@pytest.mark.parametrize("from_c", [134, 140])
def test_nothing_condenses_on_what_is_as_hot_as_the_steam(from_c: float) -> None:
    assert condensate_g(1_000, MadeOf.STEEL, from_c, 134) == 0


def test_what_is_of_no_material_on_record_counts_as_the_one_that_takes_least() -> None:
    found = set_of(Mass("RC-HALF", 1_900, None, holds=True))
    steel = set_of(Mass("RC-HALF", 1_900, MadeOf.STEEL, holds=True))
    assert found.of_unknown == ("RC-HALF",)
    assert found.condensate_g == steel.condensate_g
    assert found.metal_g == 6_900


def test_without_the_size_of_the_tray_nothing_is_said_by_area() -> None:
    assert set_of(area=None).metal_per_cm2 is None


@given(grams, grams, st.sampled_from(list(MadeOf)))
def test_the_heavier_has_more_water(one: float, other: float, made_of: MadeOf) -> None:
    light, heavy = sorted((one, other))
    assert condensate_g(light, made_of, 25, 134) <= condensate_g(heavy, made_of, 25, 134)


@given(grams, st.sampled_from(list(MadeOf)))
def test_what_nobody_knows_is_never_more_than_what_it_may_be(mass: float, made_of: MadeOf) -> None:
    assert condensate_g(mass, None, 25, 134) <= condensate_g(mass, made_of, 25, 134)

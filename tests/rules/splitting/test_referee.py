"""The split against OR-tools' CP-SAT, which shares nothing with it: equal in all that it proves.

Its answers are kept, as it takes 30 MB; ``python -m tests.bench.rules.referee`` asks it again.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from assembly.rules.splitting.trays import Unit, split
from tests.rules.splitting import drawn
from tests.rules.splitting.test_set_split import line, parted

PROVED = tomllib.loads((Path(__file__).parents[1] / "cases" / "proved_splits.toml").read_text())


@pytest.mark.parametrize(("seed", "trays"), [*enumerate(PROVED["trays"])])
def test_trays_by_weight_and_room(seed: int, trays: int) -> None:
    units = [Unit(name=str(n), weight_g=weight / 100, area_mm2=area)
             for n, (weight, area) in enumerate(drawn.with_room(seed))]  # fmt: skip
    found = split(units, drawn.WEIGHT_G, drawn.AREA_MM2)
    assert (len(found.trays), found.proved) == (trays, True)


@pytest.mark.parametrize(("seed", "heaviest"), [*enumerate(PROVED["heaviest_of_two"])])
def test_the_heaviest_of_two_trays(seed: int, heaviest: int) -> None:
    weights, capacity_g = drawn.for_two_trays(seed)
    found = split([Unit(name=str(n), weight_g=w / 100) for n, w in enumerate(weights)], capacity_g)
    assert [len(found.trays), found.trays[0].weight_g] == [2, pytest.approx(heaviest / 100)]


@pytest.mark.parametrize(("seed", "parts"), [*enumerate(PROVED["parts"])])
def test_trays_of_sections_that_bear_one_cycle_two_or_either(seed: int, parts: int) -> None:
    lines = [line(f"n{n}", weight / 100, section=f"s{n}", cycles=cycles)
             for n, (weight, cycles) in enumerate(drawn.of_cycles(seed))]  # fmt: skip
    assert len(parted(*lines).parts) == parts

"""The split against OR-tools' CP-SAT, which shares nothing with it: equal in all that it proves."""

from __future__ import annotations

from random import Random

import pytest

from assembly.rules.splitting.trays import Unit, split
from tests.rules.splitting.test_set_split import CYCLES, line, parted

pytestmark = pytest.mark.needs("OR-tools")
WEIGHT_G, AREA_MM2 = 8500, 40_000
ROOM_G = 7000
"""What the container of the set's tests leaves."""
ALLOWED = {CYCLES[0]: 0b01, CYCLES[1]: 0b10, CYCLES[2]: 0b11}


@pytest.mark.parametrize("seed", range(12))
def test_trays_by_weight_and_room(seed: int) -> None:
    from tests.bench import referee

    random = Random(seed)
    sizes = [(random.randint(20_000, 300_000), random.randint(500, 12_000)) for _ in range(14)]
    found = split([Unit(name=str(n), weight_g=w / 100, area_mm2=a)
                   for n, (w, a) in enumerate(sizes)], WEIGHT_G, AREA_MM2)  # fmt: skip
    ruled = referee.fewest(sizes, WEIGHT_G * 100, AREA_MM2, len(found.trays))
    assert found.proved and (ruled.value, ruled.proved) == (len(found.trays), True)


@pytest.mark.parametrize("seed", range(12))
def test_the_heaviest_of_two_trays(seed: int) -> None:
    from tests.bench import referee

    random = Random(seed)
    weights = [random.randint(1, 170_000) for _ in range(13)]
    units = [Unit(name=str(n), weight_g=w / 100) for n, w in enumerate(weights)]
    capacity = (sum(weights) / 2 + max(weights)) / 100
    found = split(units, capacity)
    ruled = referee.lightest([(w, 0) for w in weights], int(capacity * 100), 1, len(found.trays))
    assert len(found.trays) == 2
    if ruled.proved:
        assert found.trays[0].weight_g == pytest.approx((ruled.value or 0) / 100)


@pytest.mark.parametrize("seed", range(40))
def test_trays_of_sections_that_bear_one_cycle_two_or_either(seed: int) -> None:
    from tests.bench import referee

    random = Random(seed)
    weights = [random.randint(10_000, 450_000) for _ in range(random.randint(4, 11))]
    cycles = [random.choice(list(ALLOWED)) for _ in weights]
    lines = [line(f"n{n}", w / 100, section=f"s{n}", cycles=c)
             for n, (w, c) in enumerate(zip(weights, cycles, strict=True))]  # fmt: skip
    found = parted(*lines)
    ruled = referee.fewest([(w, 0) for w in weights], ROOM_G * 100, 1, len(weights),
                           [ALLOWED[c] for c in cycles])  # fmt: skip
    assert ruled.proved and len(found.parts) == ruled.value

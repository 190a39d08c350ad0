"""Sets drawn by a seed, small enough that a solver for any problem proves its answer to each."""

from __future__ import annotations

from random import Random

from assembly.rules.facts.cycles import CycleOption
from tests.rules.splitting.test_set_split import CYCLES

Size = tuple[int, int]
WEIGHT_G, AREA_MM2 = 8500, 40_000
ROOM_G = 7000
"""What the container of the set's tests leaves."""
ALLOWED = {CYCLES[0]: 0b01, CYCLES[1]: 0b10, CYCLES[2]: 0b11}
TWO = 2


def with_room(seed: int) -> list[Size]:
    """Weight in 0.01 g and area in mm² of each unit."""
    random = Random(seed)
    return [(random.randint(20_000, 300_000), random.randint(500, 12_000)) for _ in range(14)]


def for_two_trays(seed: int) -> tuple[list[int], float]:
    """The weight of each unit in 0.01 g; what a tray bears in g, so that two bear all."""
    random = Random(seed)
    weights = [random.randint(1, 170_000) for _ in range(13)]
    return weights, (sum(weights) / TWO + max(weights)) / 100


def of_cycles(seed: int) -> list[tuple[int, tuple[CycleOption, ...]]]:
    """The weight of each section in 0.01 g, and the cycles that it may have."""
    random = Random(seed)
    weights = [random.randint(10_000, 450_000) for _ in range(random.randint(4, 11))]
    return [(weight, random.choice(list(ALLOWED))) for weight in weights]

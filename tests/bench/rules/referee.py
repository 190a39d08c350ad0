"""A solver for any problem, as the referee of the split of a set: OR-tools' CP-SAT.

Development only (``pip install -e '.[bench]'``). It shares nothing with our search: units are
0 or 1 in each tray, and the solver proves the least number of trays and the lightest heaviest.
Run as ``python -m tests.bench.rules.referee`` it writes anew what the tests keep of its answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from ortools import __version__
from ortools.sat.python import cp_model

from tests.rules.splitting import drawn

Size = tuple[int, int]
"""Weight and area, whole numbers of any unit."""
SECONDS = 10.0
KEPT = Path(__file__).parents[2] / "rules" / "cases" / "proved_splits.toml"


@dataclass(frozen=True, slots=True)
class Ruled:
    """What the referee found, and whether it proved that nothing is better; None: found nothing."""

    value: int | None
    proved: bool


def fewest(
    sizes: Sequence[Size], weight: int, area: int, most: int, allowed: Sequence[int] | None = None,
    seconds: float = SECONDS,
) -> Ruled:  # fmt: skip
    """The least number of trays, at most ``most``. ``allowed``: for each unit the cycles that serve
    it, as bits; all units of a tray go through one cycle."""
    model, used, _ = _model(sizes, weight, area, most, allowed)
    for one, other in pairwise(used):
        model.add(one >= other)
    model.minimize(sum(used))
    return _solved(model, seconds)


def lightest(
    sizes: Sequence[Size], weight: int, area: int, trays: int, seconds: float = SECONDS
) -> Ruled:
    """The weight of the heaviest of so many trays, as light as can be."""
    model, _, loads = _model(sizes, weight, area, trays, None)
    heaviest = model.new_int_var(0, weight, "heaviest")
    for load in loads:
        model.add(load <= heaviest)
    model.minimize(heaviest)
    return _solved(model, seconds)


def _model(
    sizes: Sequence[Size], weight: int, area: int, most: int, allowed: Sequence[int] | None
) -> tuple[Any, list[Any], list[Any]]:
    model = cp_model.CpModel()
    used = [model.new_bool_var(f"used {b}") for b in range(most)]
    lies = [[model.new_bool_var(f"{n} in {b}") for b in range(most)] for n in range(len(sizes))]
    loads = []
    for n, row in enumerate(lies):
        model.add_exactly_one(row)
        for b in range(n + 1, most):  # trays are alike: unit n lies in one of the first n + 1
            model.add(row[b] == 0)
    for b in range(most):
        load = sum(size[0] * row[b] for size, row in zip(sizes, lies, strict=True))
        model.add(load <= weight * used[b])
        model.add(sum(size[1] * row[b] for size, row in zip(sizes, lies, strict=True)) <= area)
        loads.append(load)
        if allowed is not None:
            _one_cycle(model, [row[b] for row in lies], allowed, b)
    return model, used, loads


def _one_cycle(model: Any, inside: Sequence[Any], allowed: Sequence[int], tray: int) -> None:
    cycles = range(max(mask.bit_length() for mask in allowed))
    runs = [model.new_bool_var(f"cycle {c} of {tray}") for c in cycles]
    model.add_exactly_one(runs)
    for lies, mask in zip(inside, allowed, strict=True):
        for c in cycles:
            if not mask >> c & 1:
                model.add(lies + runs[c] <= 1)


def _solved(model: Any, seconds: float) -> Ruled:
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    state = solver.solve(model)
    if state not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Ruled(None, state == cp_model.INFEASIBLE)
    return Ruled(round(solver.objective_value), state == cp_model.OPTIMAL)


def _proved(ruled: Ruled) -> int:
    if not ruled.proved or ruled.value is None:
        raise SystemExit("Not proved in its time: draw smaller ones.")
    return ruled.value


def main() -> None:
    """What it proves of each set that is drawn for the tests, by seed."""
    rooms = map(drawn.with_room, range(12))
    pairs = [drawn.for_two_trays(seed) for seed in range(12)]
    mixed = [drawn.of_cycles(seed) for seed in range(40)]
    kept = {
        "trays": [_proved(fewest(sizes, drawn.WEIGHT_G * 100, drawn.AREA_MM2, len(sizes)))
                  for sizes in rooms],
        "heaviest_of_two": [
            _proved(lightest([(w, 0) for w in weights], int(bears_g * 100), 1, drawn.TWO))
            for weights, bears_g in pairs
        ],
        "parts": [_proved(fewest([(w, 0) for w, _ in lines], drawn.ROOM_G * 100, 1, len(lines),
                                 [drawn.ALLOWED[cycles] for _, cycles in lines]))
                  for lines in mixed],
    }  # fmt: skip
    about = f"# Proved by CP-SAT of OR-tools {__version__}, written by tests.bench.rules.referee"
    KEPT.write_text("\n".join([about, *(f"{key} = {found}" for key, found in kept.items()), ""]))


if __name__ == "__main__":
    main()

"""Seconds of the processor for a layout, against one greedy shelf, and layers against CP-SAT.

``python -m tests.bench.rules.layout``. Boxes by chance, five draws each, 480 x 250 mm, 3
mm apart. The referee of the layers is OR-tools (extra ``bench``): fewest layers of equal height
that it proves or finds in the time given; without it that column is left out.
"""

from __future__ import annotations

import math
import random
import statistics
import time
from collections.abc import Callable, Sequence

from assembly.rules.layers.blocks import Block, Room
from assembly.rules.layers.layout import arrange, layers_by
from assembly.rules.layers.packing import WAYS

ROOM, GAP, DRAWS = Room(long=480, wide=250, high=5000), 3, 5
SECONDS = 20.0
"""What CP-SAT has for each draw."""


def drawn(count: int, seed: int) -> list[Block]:
    """Boxes as long as instruments are, 80 to 300 mm, and 8 to 80 mm wide."""
    chance = random.Random(seed)
    return [
        Block(key=f"{n:03}", name="box", length_mm=chance.randint(80, 300),
              width_mm=chance.randint(8, 80), height_mm=10)
        for n in range(count)
    ]  # fmt: skip


def timed(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def by_referee(blocks: Sequence[Block], most: int) -> str:
    """The fewest layers that CP-SAT finds below ``most``: no two boxes of a layer overlap."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    long, wide = int(ROOM.long) + GAP, int(ROOM.wide) + GAP
    along, across = [], []
    layers = model.new_int_var(1, most, "layers")
    for n, block in enumerate(blocks):
        sizes = int(block.length_mm) + GAP, int(block.width_mm) + GAP
        turned = model.new_bool_var(f"turned {n}")
        a = model.new_int_var(min(sizes), max(sizes), "")
        b = model.new_int_var(min(sizes), max(sizes), "")
        for flag, (p, q) in ((turned.negated(), sizes), (turned, sizes[::-1])):
            model.add(a == p).only_enforce_if(flag)
            model.add(b == q).only_enforce_if(flag)
        layer = model.new_int_var(0, most - 1, "")
        x, y = model.new_int_var(0, long * most, ""), model.new_int_var(0, wide, "")
        end_x, end_y = model.new_int_var(0, long * most, ""), model.new_int_var(0, wide, "")
        model.add(x >= layer * long)
        model.add(end_x <= (layer + 1) * long)
        along.append(model.new_interval_var(x, a, end_x, ""))
        across.append(model.new_interval_var(y, b, end_y, ""))
        model.add(layers >= layer + 1)
    model.add_no_overlap_2d(along, across)
    model.minimize(layers)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SECONDS
    solver.parameters.num_workers = 1
    answer = solver.solve(model)
    if answer == cp_model.OPTIMAL:
        return f"{solver.value(layers)} (proved)"
    return f"{solver.value(layers)} (found)" if answer == cp_model.FEASIBLE else "none in time"


def least_layers(blocks: Sequence[Block], room: Room, gap: float) -> int:
    """So few layers the boxes take at the least, by their areas with the gap (mm) round them."""
    areas = sum((one.length_mm + gap) * (one.width_mm + gap) for one in blocks)
    return math.ceil(areas / ((room.long + gap) * (room.wide + gap)) - 1e-9)


def main() -> None:
    shelf = (WAYS[4],)
    for count in (12, 20, 60, 120, 200):
        times, bare, rows = [], [], []
        for seed in range(DRAWS):
            blocks = drawn(count, seed)
            times.append(timed(lambda blocks=blocks: arrange(blocks, ROOM, GAP)))  # type: ignore[misc]
            bare.append(timed(lambda blocks=blocks: layers_by(blocks, ROOM, GAP, shelf)))  # type: ignore[misc]
            ours = len(arrange(blocks, ROOM, GAP).layers)
            alone = len(layers_by(blocks, ROOM, GAP, shelf))
            rows.append((ours, alone, least_layers(blocks, ROOM, GAP), _refereed(blocks, ours)))
        ms, base = statistics.median(times) * 1e3, statistics.median(bare) * 1e3
        print(f"{count} boxes: {ms:.0f} ms, a shelf {base:.1f} ms, {ms / base:.0f} times; "
              "layers (ours, shelf, least by area, CP-SAT): "
              + "; ".join(f"{a}, {b}, {c}, {d}" for a, b, c, d in rows))  # fmt: skip


def _refereed(blocks: Sequence[Block], most: int) -> str:
    if len(blocks) > 20:
        return "not asked"
    try:
        return by_referee(blocks, most)
    except ImportError:
        return "not installed"


if __name__ == "__main__":
    main()

"""The whole catalog in pieces of roll, as arrays: as :mod:`assembly.rules.kinds.rolls`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assembly.rules.comparing.sheets import FAILS, OPEN, UNKNOWN, rated_flags
from assembly.rules.computing.catalogue import BIT, Bits, Needs
from assembly.rules.computing.columns import Floats
from assembly.rules.facts.supplies import MM2_IN_M2, Roll
from assembly.rules.findings import CLOSE_MM, CLOSE_RATIO
from assembly.rules.kinds.rolls import inner_width_mm
from assembly.rules.limits.handling import BULKY
from assembly.rules.policy.values import Policy


class Cut:
    """What is cut for each instrument as it lies, as :func:`assembly.rules.kinds.rolls.cut_length`.

    ``known`` where every size that it hangs on is; else the figures are the least (mm).
    """

    def __init__(self, way: Needs, policy: Policy) -> None:
        seal, step = policy.number("roll_seal_mm"), policy.number("roll_step_mm")
        beyond, peel = (policy.number(f"roll_{n}_allowance_mm") for n in ("base", "peel"))
        closing, base = way.ends
        exact = beyond + seal + base + way.along + closing + seal + peel
        self.mm = np.ceil(exact / step - CLOSE_RATIO) * step
        self.inner_mm = self.mm - (beyond + seal + seal + peel)
        self.known = way.open & BIT["length"] == 0


def rolls_judged(
    ways: Sequence[Needs], rolls: Sequence[Roll], said: Bits, policy: Policy
) -> tuple[Bits, Floats, Floats]:
    """The flags of each row in each roll, with what is ``said`` of it, its material (mm2), inf
    where it is not known, and the weight of the piece (g); each as it lies best."""
    shape = (len(ways[0].weight), len(rolls))
    flags = np.empty(shape, np.uint8)
    material, weight = np.full(shape, np.inf), np.empty(shape)
    cuts = [Cut(way, policy) for way in ways]
    for n, roll in enumerate(rolls):
        rank = np.full(shape[0], -1, np.int8)
        for way, cut in zip(ways, cuts, strict=True):
            here = said[:, n] | _flags(way, cut, roll, policy)
            used = _material(roll, cut)
            ranked = np.where(here & FAILS, 0, np.where(here, 1, 2)).astype(np.int8)
            less = np.round(used, 3) < np.round(material[:, n], 3)
            better = way.may & ((ranked > rank) | ((ranked == rank) & less))
            rank = np.where(better, ranked, rank)
            piece = used * (1 / MM2_IN_M2) * (np.nan if roll.weight_g_m2 is None else
                                             roll.weight_g_m2)  # fmt: skip
            piece = np.where(np.isinf(used), np.nan, piece)
            for kept, new in ((flags, here), (material, used), (weight, piece)):
                kept[:, n] = np.where(better, new, kept[:, n])
    return flags, material, weight


def _material(roll: Roll, cut: Cut) -> Floats:
    width = roll.nominal_width_mm
    if width is None:
        return np.full(len(cut.mm), np.inf)
    return np.where(cut.known, (width + 2 * roll.gusset_mm) * cut.mm, np.inf)


def _flags(way: Needs, cut: Cut, roll: Roll, policy: Policy) -> Bits:
    """The flags of the arithmetic of one roll: width, side seal, cut, fill, weight, bulk."""
    flags = np.where(way.fails & BIT[BULKY.name], FAILS, 0)
    flags |= np.where(way.open & BIT[BULKY.name], OPEN, 0)
    flags |= _width(way, roll)
    seal, floor = roll.side_seal_mm, policy.number("roll_side_seal_floor_mm")
    flags |= UNKNOWN if seal is None else FAILS if floor > seal + CLOSE_MM else 0
    longest = roll.longest_cut_mm
    flags |= np.where(cut.known, 0, OPEN)
    if longest is not None:
        flags |= np.where(cut.mm > longest + CLOSE_MM, FAILS, 0)
    flags |= _fill(way, cut, roll, policy)
    return flags.astype(np.uint8) | rated_flags(way.weight, roll.rated_g)


def _width(way: Needs, roll: Roll) -> NDArray[np.int_]:
    if roll.nominal_width_mm is None:
        return np.full(len(way.width), UNKNOWN)
    inner = inner_width_mm(roll)
    has = (roll.nominal_width_mm if inner is None else inner) + 2 * roll.gusset_mm
    over = way.width > has + CLOSE_MM
    if inner is None:
        return np.where(over, FAILS, UNKNOWN)
    return np.where(over, FAILS, np.where(way.open & BIT["width"], OPEN, 0))


def _fill(way: Needs, cut: Cut, roll: Roll, policy: Policy) -> NDArray[np.int_]:
    width = inner_width_mm(roll)
    if not width:
        return np.full(len(way.width), UNKNOWN)
    over = way.covered / (width * cut.inner_mm) > policy.number("fill_limit") + CLOSE_RATIO
    return np.where(over, FAILS, np.where(way.open & BIT["fill"], OPEN, 0))

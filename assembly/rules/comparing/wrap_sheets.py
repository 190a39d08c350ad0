"""The whole catalog in wraps, as arrays: as :mod:`assembly.rules.kinds.wraps`."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from assembly.rules.comparing.sheets import FAILS, OPEN, UNKNOWN, Mask, rated_flags
from assembly.rules.computing.catalogue import Bits
from assembly.rules.computing.columns import Columns, Floats
from assembly.rules.facts.supplies import Wrap
from assembly.rules.findings import CLOSE_G, CLOSE_MM
from assembly.rules.kinds.folds import Folding
from assembly.rules.policy.values import Policy


def wraps_judged(opened: Columns, wraps: Sequence[Wrap], policy: Policy) -> tuple[Bits, Mask]:
    """The flags of each row in each wrap, of sheet and weight, and whether the fold in which it
    serves is the one that suits the pack. ``opened``: what is hinged lies open."""
    shape = (len(opened), len(wraps))
    flags, suits = np.empty(shape, np.uint8), np.empty(shape, bool)
    square_suits = _large_and_heavy(opened, policy)
    growth = policy.number("wrap_growth_mm")
    for n, wrap in enumerate(wraps):
        envelope, square = _in_sheet(opened, wrap, 0.0 if wrap.layers == 2 else growth, policy)
        first = np.where(square_suits, square, envelope)
        second = np.where(square_suits, envelope, square)
        suits[:, n] = _worse(first) <= _worse(second)
        sheet = np.where(suits[:, n], first, second)
        flags[:, n] = sheet | rated_flags(opened.weight_g, wrap.rated_g)
    return flags, suits


def _worse(flags: Bits) -> Bits:
    """0 where a sheet serves, 1 where it cannot be told, 2 where it is too small."""
    return np.where(flags & FAILS, 2, flags & OPEN != 0).astype(np.uint8)


def _large_and_heavy(pack: Columns, policy: Policy) -> Mask:
    """Whether the square fold suits the pack, as far as its sizes and weight are known."""
    from_g = policy.number_or_none("square_fold_from_g")
    if from_g is None:
        return np.zeros(len(pack), bool)
    side = np.fmax(np.nan_to_num(pack.length_mm, nan=0.0), np.nan_to_num(pack.width_mm, nan=0.0))
    large = side >= policy.number("square_fold_from_mm") - CLOSE_MM
    return large & (pack.weight_g >= from_g - CLOSE_G)


def _in_sheet(pack: Columns, wrap: Wrap, growth: float, policy: Policy) -> tuple[Bits, Bits]:
    """The flags of one sheet, in the envelope and in the square fold."""
    if wrap.width_mm is None or wrap.length_mm is None:
        blank = np.full(len(pack), UNKNOWN, np.uint8)
        return blank, blank
    measured = (pack.length_mm, pack.width_mm, pack.height_mm)
    length, width, height = (np.nan_to_num(one + growth, nan=0.0) for one in measured)
    missing = np.isnan(measured[0] + measured[1] + measured[2])
    folding, sheet = Folding.of(policy), sorted((wrap.width_mm, wrap.length_mm))

    def flags(fits: Mask) -> Bits:
        return np.where(fits, missing * OPEN, FAILS).astype(np.uint8)

    side = np.minimum(_half_diagonal(length, width, height, folding),
                      _half_diagonal(width, length, height, folding))  # fmt: skip
    envelope = math.sqrt(2) * side <= sheet[0] + CLOSE_MM
    square = np.zeros(len(pack), bool)
    for along, across in ((length, width), (width, length)):
        a, b = _square(along, across, height, folding)
        for there in (sheet, sheet[::-1]):
            square |= (a <= there[0] + CLOSE_MM) & (b <= there[1] + CLOSE_MM)
    return flags(envelope), flags(square)


def _half_diagonal(sides: Floats, near: Floats, height: Floats, folding: Folding) -> Floats:
    """As :func:`assembly.rules.kinds.folds.envelope_terms`: the largest of them (mm)."""
    overlap, back, tuck = folding.overlap_mm, folding.turnback_mm, folding.tuck_mm
    if folding.whole_top:
        near_flap = 1.5 * near + height + np.maximum(sides / 2, back)
        last_flap = 1.5 * near + height + tuck
    else:
        near_flap = near + height + overlap + back
        last_flap = near + height + overlap + tuck
    side_flaps = sides + height + overlap + back
    closure = (sides + near) / 2 + height + overlap / math.sqrt(2)
    return np.maximum.reduce([near_flap, side_flaps, last_flap, closure])


def _square(
    along: Floats, across: Floats, height: Floats, folding: Folding
) -> tuple[Floats, Floats]:
    """As in :func:`assembly.rules.kinds.folds.square_sheets`: round the pack, and along it (mm)."""
    overlap, back = folding.overlap_mm, folding.turnback_mm
    if folding.whole_top:
        return (3 * across + 2 * height + 2 * back, 2 * along + 2 * height + 2 * overlap)
    return (
        2 * across + 2 * height + 2 * overlap + 2 * back,
        along + 2 * height + 2 * folding.end_reach_mm,
    )

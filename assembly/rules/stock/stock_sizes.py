"""What each size would take of what is packed by itself: the rules' answers as a table.

Which pouch an instrument fits is what :mod:`assembly.rules.computing.catalogue` says, which roll
and how long a piece what :mod:`assembly.rules.kinds.rolls` says, which validated pair where a
double is needed what :mod:`assembly.rules.kinds.doubles` says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from assembly.rules.computing.catalogue import UNDECIDED, evaluate
from assembly.rules.computing.columns import columns_from, floats
from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch, Roll
from assembly.rules.findings import Status
from assembly.rules.kinds.doubles import double_candidates
from assembly.rules.kinds.pouches import material_reckoned
from assembly.rules.kinds.rolls import roll_candidate
from assembly.rules.methods.routes import routes_for
from assembly.rules.policy.values import Policy
from assembly.rules.stock.stocking import Chosen, Floats, Table, no_rows
from catalog.vocabulary import Kind

BOTH_SHEETS, MM_IN_M = 2, 1000


@dataclass(frozen=True, slots=True)
class Wanted:
    """So many packages of one instrument, as it lies in its package, protector on. ``kind`` is what
    it was packed in, None where nobody has; ``double``: in two pouches."""

    number: str
    instrument: Instrument
    count: int
    kind: Kind | None = None
    double: bool = False


@dataclass(frozen=True, slots=True)
class Sizes:
    """The sizes of one kind and what each wanted row uses of them: pouches, or mm of a roll.

    ``flat_mm2`` is what one pouch, or a mm of a roll, takes laid flat (one side), ``price`` what
    it costs, NaN where that is not on record. ``wanted`` are the rows of ``used``, ``doubles``
    those of ``used_double``, by ``pairs``. What no size serves is ``uncovered``; ``unknown`` is
    that of which no size serves for certain and some might.
    """

    kind: Kind
    codes: tuple[str, ...]
    flat_mm2: Floats
    price: Floats
    wanted: tuple[Wanted, ...]
    used: Floats
    doubles: tuple[Wanted, ...] = ()
    pairs: tuple[tuple[int, int], ...] = ()
    used_double: Floats = field(default_factory=no_rows)
    uncovered: tuple[Wanted, ...] = ()
    unknown: tuple[Wanted, ...] = ()

    @property
    def table(self) -> Table:
        """The material (mm2, laid flat) that each row takes of each size."""
        return self.weighed(self.flat_mm2)

    def weighed(self, each: Floats) -> Table:
        """What each row takes where one of each size takes so much."""
        both = floats(each[inner] + each[outer] for inner, outer in self.pairs)
        return Table(self.used * each, self.pairs, self.used_double * both)

    def numbers(self, codes: Sequence[str]) -> Chosen:
        """Which sizes bear these codes."""
        return tuple(n for n, code in enumerate(self.codes) if code in codes)


def pouch_sizes(
    wanted: Sequence[Wanted],
    pouches: Sequence[Pouch],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
) -> Sizes:
    """Every pouch of which the material is known, for what is not wanted in a roll.

    What nobody has packed yet and no pouch serves is for a roll: it is not among the uncovered.
    """
    known = [one for one in pouches if material_reckoned(one, policy) is not None]
    alone = [one for one in wanted if one.kind != Kind.ROLL and not one.double]
    found = evaluate(columns_from(one.instrument for one in alone), known, programmes, policy)
    serves = (found.not_met | found.cannot_tell) == 0
    counts = floats(one.count for one in alone)
    used = np.where(serves, counts[:, None], np.inf)
    paired = [one for one in wanted if one.kind != Kind.ROLL and one.double]
    pairs, doubled, unsure = _doubled(paired, found.pouches, programmes, policy)
    served, covered = _any(serves), _any(np.isfinite(doubled))
    none = [one for one, any_, best in zip(alone, served, found.best, strict=True)
            if not any_ and best != UNDECIDED and one.kind]  # fmt: skip
    open_ = [one for one, best in zip(alone, found.best, strict=True) if best == UNDECIDED]
    lost = [one for one, any_ in zip(paired, covered, strict=True) if not any_]
    return Sizes(
        Kind.POUCH,
        tuple(one.code for one in found.pouches),
        floats(material_reckoned(one, policy) for one in found.pouches) / BOTH_SHEETS,
        floats(one.cost for one in found.pouches),
        tuple(one for one, any_ in zip(alone, served, strict=True) if any_),
        used[served],
        tuple(one for one, any_ in zip(paired, covered, strict=True) if any_),
        pairs,
        doubled[covered],
        (*none, *(one for one in lost if one not in unsure)),
        (*open_, *(one for one in lost if one in unsure)),
    )


def _any(serves: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Of each row whether some size serves it."""
    return np.asarray(serves.any(axis=1))


def _doubled(
    wanted: Sequence[Wanted],
    pouches: Sequence[Pouch],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
) -> tuple[tuple[tuple[int, int], ...], Floats, list[Wanted]]:
    """The pairs that their maker has validated, what each row uses of them, and the rows of which
    some pair cannot be told."""
    place, unsure = {one.code: n for n, one in enumerate(pouches)}, list[Wanted]()
    pairs = tuple(
        (place[one.code], place[outer])
        for one in pouches for outer in dict.fromkeys(one.doubles_in)
        if outer in place and outer != one.code
    )  # fmt: skip
    used = np.full((len(wanted), len(pairs)), np.inf)
    for n, one in enumerate(wanted):
        item = one.instrument
        routes = routes_for(item.cycles, programmes, policy, item.contents)
        question = Question(instrument=item, supplies=tuple(pouches), double=True)
        for candidate in double_candidates(question, routes, policy):
            if candidate.status is Status.MET:
                inner, outer = (
                    place[str(code)] for code in (candidate.code, *candidate.with_codes)
                )
                used[n, pairs.index((inner, outer))] = one.count
            elif candidate.status is Status.CANNOT_TELL and one not in unsure:
                unsure.append(one)
    return pairs, used, unsure


def roll_sizes(
    wanted: Sequence[Wanted],
    rolls: Sequence[Roll],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
) -> Sizes:
    """Every roll of which the width is known, the narrowest first. What one costs is of a meter, as
    rolls are counted."""
    known = sorted((one for one in rolls if one.nominal_width_mm is not None),
                   key=lambda one: (one.material_mm2(1.0) or 0.0, one.code))  # fmt: skip
    used = np.full((len(wanted), len(known)), np.inf)
    unsure = np.zeros(len(wanted), dtype=bool)
    for row, one in enumerate(wanted):
        item = one.instrument
        routes = routes_for(item.cycles, programmes, policy, item.contents)
        for column, roll in enumerate(known):
            candidate = roll_candidate(item, roll, routes, policy)
            if candidate.status is Status.MET:
                used[row, column] = one.count * candidate.details["cut_length_mm"]
            unsure[row] |= candidate.status is Status.CANNOT_TELL
    served = _any(np.isfinite(used))
    left = [(one, open_) for one, any_, open_ in zip(wanted, served, unsure, strict=True)
            if not any_]  # fmt: skip
    return Sizes(
        Kind.ROLL,
        tuple(one.code for one in known),
        floats(one.material_mm2(1.0) for one in known),
        floats(one.cost for one in known) / MM_IN_M,
        tuple(one for one, any_ in zip(wanted, served, strict=True) if any_),
        used[served],
        uncovered=tuple(one for one, open_ in left if not open_),
        unknown=tuple(one for one, open_ in left if open_),
    )


def for_rolls(wanted: Sequence[Wanted], pouches: Sizes) -> list[Wanted]:
    """What was packed in a roll, and what nobody has packed yet and no pouch may serve."""
    served = {id(one) for one in (*pouches.wanted, *pouches.unknown)}
    return [one for one in wanted
            if one.kind == Kind.ROLL or (one.kind is None and id(one) not in served)]  # fmt: skip


# --- sizes that nobody stocks yet -----------------------------------------------------------


def further_pouch(
    width_mm: float, length_mm: float, pouches: Sequence[Pouch], policy: Policy
) -> Pouch:
    """A flat pouch of this outer size, as one might buy it: seals by the policy; material, label
    and rating of the largest one here that is no larger, else of the smallest.

    FactsError where there is none to take after, or no room between the seals.
    """
    inner = {"width": width_mm - policy.number("pouch_seals_width_mm"),
             "length": length_mm - policy.number("pouch_seals_length_mm")}  # fmt: skip
    for name, size in inner.items():
        if size <= 0:
            raise FactsError(name, f"{width_mm:g}x{length_mm:g}", "seals take all of it")
    sized = [one for one in pouches if material_reckoned(one, policy) is not None]
    if not sized:
        raise FactsError("size", f"{width_mm:g}x{length_mm:g}", "no pouch to take after")
    sized.sort(key=lambda one: material_reckoned(one, policy) or 0.0)
    within = [one for one in sized if (one.inner_width_mm or math.inf) <= inner["width"]
              and (one.inner_length_mm or math.inf) <= inner["length"]]  # fmt: skip
    return replace(
        (within or sized[:1])[-1],
        code=f"{width_mm:g}x{length_mm:g}",
        inner_width_mm=inner["width"], inner_length_mm=inner["length"],
        outer_width_mm=width_mm, outer_length_mm=length_mm,
        gusset_mm=0.0, weight_g=None, cost=None, doubles_in=(),
    )  # fmt: skip


def further_roll(width_mm: float, rolls: Sequence[Roll]) -> Roll:
    """A flat roll of this width; all else as :func:`further_pouch` takes it of a pouch.

    FactsError where there is none to take after.
    """
    sized = sorted((one for one in rolls if one.nominal_width_mm is not None),
                   key=lambda one: one.nominal_width_mm or 0.0)  # fmt: skip
    if not sized:
        raise FactsError("size", f"roll {width_mm:g}", "no roll to take after")
    within = [one for one in sized if (one.nominal_width_mm or 0.0) <= width_mm]
    return replace((within or sized[:1])[-1], code=f"roll {width_mm:g}", nominal_width_mm=width_mm,
                   gusset_mm=0.0, weight_g_m2=None, cost=None)  # fmt: skip

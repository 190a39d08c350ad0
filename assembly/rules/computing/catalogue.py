"""The whole catalog against all pouches at once, as arrays.

The arithmetic is that of :mod:`assembly.rules.kinds.pouches`, done on arrays; everything that
is no arithmetic (what the IFU forbids, sharp points, material and method) is asked of the
same rules as always, once per distinct case, and looked up. The tests hold every pair
equal to the scalar rules. Unknown numbers are NaN and never pass.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assembly.rules.computing.columns import (
    Columns,
    Floats,
    floats,
    grouped,
    handling_case,
)
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import (
    CLOSE_BY_UNIT,
    CLOSE_G,
    CLOSE_MM,
    CLOSE_RATIO,
    Finding,
    Status,
)
from assembly.rules.kinds.pouches import order_of
from assembly.rules.limits.clearances import BASE, CLOSING, SIDE
from assembly.rules.limits.handling import BULKY, BULKY_BOUNDS, allowed_finding, sharp_finding
from assembly.rules.methods.materials import method_finding
from assembly.rules.methods.routes import routes_for
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

Bits = NDArray[np.uint8]

RULES = (
    "allowed", "method", "sharp points", BULKY.name, "width", "length", "fill", "contents weight",
)  # fmt: skip
"""The rules in their order; rule number ``n`` is bit ``n`` of the reasons."""
BIT = {rule: np.uint8(1 << n) for n, rule in enumerate(RULES)}
NONE = -1
"""No pouch of the stock serves the instrument."""
UNDECIDED = -2
"""None is certain to, and at least one might: something is not on record."""
CHUNK = 4096
"""Instruments taken at a time, to bound the memory."""


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Every instrument against every pouch.

    ``pouches`` are in the order of choice, least material first; column ``j`` of both
    matrices is pouch ``j``. ``best`` holds the column of the smallest suitable pouch, or
    NONE or UNDECIDED. Bit ``n`` of a pair's byte is set where rule ``n`` of RULES is not
    met, or cannot be told.
    """

    pouches: tuple[Pouch, ...]
    best: NDArray[np.int32]
    not_met: Bits
    cannot_tell: Bits

    def status(self, row: int, column: int) -> Status:
        """All rules of one pair together, by the same contract as for one package."""
        if self.not_met[row, column]:
            return Status.NOT_MET
        return Status.CANNOT_TELL if self.cannot_tell[row, column] else Status.MET

    def reasons(self, row: int, column: int) -> tuple[tuple[str, Status], ...]:
        """The rules that stand in the way of one pair, in their order."""
        pairs = ((self.not_met, Status.NOT_MET), (self.cannot_tell, Status.CANNOT_TELL))
        return tuple(
            (rule, status)
            for rule, bit in BIT.items()
            for bits, status in pairs
            if bits[row, column] & bit
        )


def evaluate(
    columns: Columns,
    pouches: Sequence[Pouch],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
    chunk: int = CHUNK,
) -> Evaluation:
    """Every instrument in every single pouch; equal to the scalar rules pair by pair.

    ``programmes`` None: the department's are not part of the question. Rows are taken
    ``chunk`` at a time, which changes nothing but the memory.

    >>> from datetime import date
    >>> from assembly.rules.computing.columns import columns_from
    >>> from assembly.rules.facts.instruments import Instrument
    >>> from assembly.rules.policy.values import default_policy
    >>> columns = columns_from([Instrument(name="clamp")])
    >>> found = evaluate(columns, [Pouch(code="P01")], None, default_policy(date(2026, 1, 1)))
    >>> found.best.tolist(), found.status(0, 0)
    ([-2], <Status.CANNOT_TELL: 'cannot tell'>)
    """
    ranked = sorted(pouches, key=lambda pouch: order_of(pouch, policy))
    shape = (len(columns), len(ranked))
    best = np.full(len(columns), NONE, dtype=np.int32)
    not_met, cannot_tell = np.empty(shape, np.uint8), np.empty(shape, np.uint8)
    if not_met.size == 0:
        return Evaluation(tuple(ranked), best, not_met, cannot_tell)
    stock = _Stock(ranked, policy)
    ways = [Needs(way, policy) for way in ways_to_lie(columns, policy)]
    tables = _tables(columns, ranked, programmes, policy)
    for start in range(0, len(columns), chunk):
        rows = slice(start, start + chunk)
        _judge(not_met[rows], cannot_tell[rows], rows, ways[0], stock, tables)
        room = _room(not_met[rows], rows, ways[0], stock) if ways[1:] else floats(())
        for way in ways[1:]:
            _turn(not_met[rows], cannot_tell[rows], room, rows, way, stock, tables)
        _choose(best[rows], not_met[rows], cannot_tell[rows])
    return Evaluation(tuple(ranked), best, not_met, cannot_tell)


def ways_to_lie(columns: Columns, policy: Policy) -> list[Columns]:
    """As in :func:`assembly.rules.kinds.lying.ways_to_lie`: as given, on its side, across.

    ``turns`` of a way is true of the rows that may lie so.
    """
    gaps = (columns.pieces - 1) * policy.number("item_gap_mm")
    ways = [replace(_open(columns, gaps, policy), turns=np.ones(len(columns), dtype=bool))]
    if policy.flag("lie_on_side"):
        side = replace(
            columns,
            width_mm=columns.pieces * columns.height_mm + gaps,
            height_mm=(columns.width_mm - gaps) / columns.pieces,
        )
        asks = policy.number("clearance_height_share") * columns.height_mm > policy.number(SIDE)
        lower = ~(side.height_mm >= columns.height_mm)
        side = replace(side, turns=columns.turns & asks & lower)
        ways.append(_open(side, gaps, policy))
    if policy.flag("allow_rotate"):
        ways += [replace(way, length_mm=way.width_mm, width_mm=way.length_mm) for way in ways]
    return ways


def _open(columns: Columns, gaps: Floats, policy: Policy) -> Columns:
    """As in :func:`assembly.rules.kinds.lying.lies_open`: what is hinged, as wide as open."""
    closed, measured = columns.width_mm, columns.width_open_mm
    reckoned = (closed - gaps) * policy.number("hinged_open_share") + gaps
    width = np.where(np.isnan(measured), reckoned, np.fmax(measured, closed))
    return replace(columns, width_mm=np.where(columns.opens, width, closed))


class Needs:
    """What each instrument asks, as in :func:`assembly.rules.kinds.pouches.footprint`.

    ``along`` is the sheet that it takes up (mm; of what is known, the least), ``ends`` what is
    left free at the closing seal and the base, ``flat`` its own area (mm2).
    """

    def __init__(self, columns: Columns, policy: Policy) -> None:
        length, width, height = columns.length_mm, columns.width_mm, columns.height_mm
        low, across, along = (np.nan_to_num(size, nan=0.0) for size in (height, width, length))
        across, along = across + low, along + low
        known = ~(np.isnan(width) | np.isnan(height))
        round_ = columns.round_section & known
        half = math.pi / 2 * np.fmax(width, height)
        across = np.where(round_, np.minimum(across, half), across)
        ball = round_ & (length == width) & (width == height)
        along = np.where(ball, math.pi / 2 * length, along)
        grown = policy.number("clearance_height_share") * low
        side, *ends = (np.fmax(policy.number(name), grown) for name in (SIDE, CLOSING, BASE))
        plain = policy.word("fill_reading") == "plain"
        self.along, self.ends = along, tuple(ends)
        self.width = across + 2 * side
        self.length = along + sum(ends)
        self.flat = np.nan_to_num(length, nan=0.0) * np.nan_to_num(width, nan=0.0)
        self.covered = self.flat if plain else across * along
        self.weight = columns.weight_g
        self.may = columns.turns
        self.fails, unsure = _bulky(columns, policy)
        self.open = self._open(columns, known, plain) | unsure

    def _open(self, columns: Columns, known: NDArray[np.bool_], plain: bool) -> Bits:
        """The rules that an unknown size or weight leaves open, as bits."""
        width, length = np.isnan(columns.width_mm), np.isnan(columns.length_mm)
        along = length | np.isnan(columns.height_mm)
        open_ = np.where(~known, BIT["width"], 0) | np.where(along, BIT["length"], 0)
        fill = width | length if plain else ~known | along
        open_ = open_ | np.where(fill, BIT["fill"], 0)
        weight = np.where(np.isnan(columns.weight_g), BIT["contents weight"], 0)
        return (open_ | weight).astype(np.uint8)


def _bulky(columns: Columns, policy: Policy) -> tuple[Bits, Bits]:
    """As in :func:`assembly.rules.limits.handling.bulky_finding`: bits of not met, of open."""
    fails, unsure = np.zeros(len(columns), np.uint8), np.zeros(len(columns), np.uint8)
    for name, fact, unit, _ in BULKY_BOUNDS:
        limit = policy.number_or_none(name)
        if limit is not None:
            figure = getattr(columns, fact)
            over = figure > limit + CLOSE_BY_UNIT.get(unit, 0.0)
            fails |= np.where(over, BIT[BULKY.name], 0).astype(np.uint8)
            unsure |= np.where(np.isnan(figure), BIT[BULKY.name], 0).astype(np.uint8)
    return fails, unsure


class _Stock:
    """What each pouch offers, with the distance at which two amounts count as equal."""

    def __init__(self, pouches: Sequence[Pouch], policy: Policy) -> None:
        self.has_width = floats(pouch.opened_width_mm for pouch in pouches)
        self.has_length = floats(pouch.inner_length_mm for pouch in pouches)
        self.width = self.has_width + CLOSE_MM
        self.length = self.has_length + CLOSE_MM
        self.area = floats(pouch.inner_width_mm for pouch in pouches) * self.has_length
        self.rated = floats(pouch.rated_g for pouch in pouches) + CLOSE_G
        self.covered = self.area * (policy.number("fill_limit") + CLOSE_RATIO)
        self.open = (
            np.where(np.isnan(self.width), BIT["width"], 0)
            | np.where(np.isnan(self.length), BIT["length"], 0)
            | np.where(np.isnan(self.area), BIT["fill"], 0)
            | np.where(np.isnan(self.rated), BIT["contents weight"], 0)
        ).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class _Tables:
    """Bits of the rules that are no arithmetic, by case and pouch, and each row's case."""

    not_met: Bits
    cannot_tell: Bits
    cases: NDArray[np.intp]


def _tables(
    columns: Columns,
    pouches: Sequence[Pouch],
    programmes: tuple[Programme, ...] | None,
    policy: Policy,
) -> _Tables:
    """Each case against each pouch by the scalar rules, each distinct question asked once."""
    examples = columns.examples
    cycles, by_cycles = grouped(examples, lambda example: (example.cycles, example.contents))
    kinds, by_kind = grouped(pouches, lambda pouch: (pouch.material, pouch.methods))
    cases, by_case = grouped(examples, handling_case)
    methods = [
        [(method_finding(routes, pouch.material, pouch.methods),) for pouch in by_kind]
        for routes in (
            routes_for(example.cycles, programmes, policy, example.contents)
            for example in by_cycles
        )
    ]
    handling = [
        [(allowed_finding(example, Kind.POUCH), sharp_finding(example, Kind.POUCH))]
        for example in by_case
    ]
    not_met, cannot_tell = (
        _marks(methods, status)[np.ix_(cycles, kinds)] | _marks(handling, status)[cases]
        for status in (Status.NOT_MET, Status.CANNOT_TELL)
    )
    return _Tables(not_met, cannot_tell, columns.cases)


def _marks(answers: Sequence[Sequence[tuple[Finding, ...]]], status: Status) -> Bits:
    """The bits of the findings that have this status, cell by cell."""
    bits = [
        [sum(int(BIT[finding.rule]) for finding in cell if finding.status is status)
         for cell in row]
        for row in answers
    ]  # fmt: skip
    return np.array(bits, dtype=np.uint8)


def _judge(
    not_met: Bits,
    cannot_tell: Bits,
    rows: slice,
    needs: Needs,
    stock: _Stock,
    tables: _Tables,
) -> None:
    """Fill the bits of one chunk in place.

    A comparison with NaN is false, so an unknown never shows as not met; it is open where
    the row or the column lacks the number and what is known does not already fail.
    """
    np.take(tables.not_met, tables.cases[rows], axis=0, out=not_met, mode="clip")
    np.take(tables.cannot_tell, tables.cases[rows], axis=0, out=cannot_tell, mode="clip")
    if (bulky := needs.fails[rows]).any():
        np.bitwise_or(not_met, bulky[:, None], out=not_met)
    fails = np.empty(not_met.shape, dtype=bool)
    bits = fails.view(np.uint8)
    for rule, figure, limit in (
        ("width", needs.width[rows, None], stock.width),
        ("length", needs.length[rows, None], stock.length),
        ("fill", needs.covered[rows, None], stock.covered),
        ("contents weight", needs.weight[rows, None], stock.rated),
    ):
        np.greater(figure, limit, out=fails)
        np.multiply(bits, BIT[rule], out=bits)
        np.bitwise_or(not_met, bits, out=not_met)
    np.bitwise_or(needs.open[rows, None], stock.open, out=bits)
    np.bitwise_or(cannot_tell, bits, out=cannot_tell)
    np.bitwise_and(cannot_tell, np.bitwise_not(not_met, out=bits), out=cannot_tell)


def _turn(
    not_met: Bits,
    cannot_tell: Bits,
    room: Floats,
    rows: slice,
    way: Needs,
    stock: _Stock,
    tables: _Tables,
) -> None:
    """Take another way to lie where it serves better or, both alike, leaves more room."""
    other, open_ = np.empty_like(not_met), np.empty_like(cannot_tell)
    _judge(other, open_, rows, way, stock, tables)
    now, before = _rank(other, open_), _rank(not_met, cannot_tell)
    left = _room(other, rows, way, stock)
    better = ((now > before) | ((now == before) & (left > room))) & way.may[rows, None]
    for kept, new in ((not_met, other), (cannot_tell, open_), (room, left)):
        np.copyto(kept, new, where=better)


def _rank(not_met: Bits, cannot_tell: Bits) -> Bits:
    """0 where a rule is not met, 1 where one cannot be told, 2 where all are met."""
    rank = np.where(not_met != 0, 0, np.where(cannot_tell != 0, 1, 2))
    return rank.astype(np.uint8)


def _room(not_met: Bits, rows: slice, needs: Needs, stock: _Stock) -> Floats:
    """The smaller share of room left in width and length; none known counts as no room."""
    least = np.full(not_met.shape, np.inf)
    for rule, need, has in (
        ("width", needs.width[rows, None], stock.has_width),
        ("length", needs.length[rows, None], stock.has_length),
    ):
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (has - need) / need
        open_ = (needs.open[rows, None] & BIT[rule] != 0) & (not_met & BIT[rule] == 0)
        np.fmin(least, np.where(open_ | (need == 0), np.nan, share), out=least)
    return np.where(np.isinf(least), -np.inf, least)


def _choose(best: NDArray[np.int32], not_met: Bits, cannot_tell: Bits) -> None:
    """The first column without any bit; else UNDECIDED where one has no *not met*."""
    suits = (not_met | cannot_tell) == 0
    open_ = not_met == 0
    every = np.arange(len(best))
    first, second = suits.argmax(axis=1), open_.argmax(axis=1)
    otherwise = np.where(open_[every, second], UNDECIDED, NONE)
    best[:] = np.where(suits[every, first], first, otherwise)

"""The pieces of a set as blocks: what is on a stringer is one, every other piece its own.

A block is a box. An instrument is none: scissors take about half of theirs, so that what is
found of boxes is never said against a set unless it is proved of one piece (:mod:`layers`).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.laying import as_it_lies
from assembly.rules.drawing.looks import STRUNG, look_of
from assembly.rules.facts.checks import check_numbers
from assembly.rules.facts.instruments import Instrument
from assembly.rules.kinds.lying import ways_to_lie
from assembly.rules.policy.values import Policy

STRINGER = "Stringer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The inside of a basket or container: along, across and up to where pieces may stand (mm)."""

    long: float
    wide: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What lies there as one box (mm, g). ``holds``: pieces by the place of their line, from 1.

    ``contents`` names them where they are several. ``weight_g`` is None where one of them is not
    weighed. FactsError for a size of 0.
    """

    key: str
    name: str
    length_mm: float
    width_mm: float
    height_mm: float
    weight_g: float | None = None
    holds: tuple[tuple[int, int], ...] = ()
    contents: str = ""

    def __post_init__(self) -> None:
        check_numbers(self)

    @property
    def strung(self) -> bool:
        """Whether it is a stringer."""
        return self.key.startswith("s")

    @property
    def label(self) -> str:
        """What stands on it in a drawing: the number of its line, of a stringer S and its own."""
        return self.key.partition(".")[0].upper()

    @property
    def words(self) -> str:
        """Its name, and of a stringer what is on it."""
        return f"{self.name} ({self.contents})" if self.contents else self.name


@dataclass(frozen=True, slots=True)
class _Piece:
    """One piece as it lies lowest, and the line that it is of."""

    line: int
    item: Instrument

    @property
    def sizes(self) -> tuple[float, float, float]:
        """Length, width and height (mm); all known here."""
        item = self.item
        return item.length_mm or 0.0, item.width_mm or 0.0, item.height_mm or 0.0


def blocks_of(
    lines: Sequence[SetLine], room: Room, levels: int, policy: Policy
) -> tuple[tuple[Block, ...], tuple[str, ...]]:
    """The blocks of a count sheet, and the names of what has no size on record.

    Ring-handled pieces that open go on stringers, which lean so far that ``levels`` of them go
    on top of each other in the room.
    """
    pieces, unknown = [], []
    for place, line in enumerate(lines, 1):
        lain = as_it_lies(line, policy)
        if lain is None or lain.item.height_mm is None:
            unknown.append(line.instrument.name)
        else:
            pieces += [_Piece(place, lain.item)] * line.quantity
    strung = [one for one in pieces if _goes_on(one.item)]
    groups = _groups(strung, room, levels)
    strings = [group for group in groups if len(group) > 1]
    alone = [piece for piece in pieces if not _goes_on(piece.item)]
    alone += [group[0] for group in groups if len(group) == 1]
    found = [_stringer(group, n, room.high / levels) for n, group in enumerate(strings, 1)]
    seen = Counter[int]()
    for piece in sorted(alone, key=lambda one: one.line):
        seen[piece.line] += 1
        found.append(_single(piece, f"{piece.line}.{seen[piece.line]}"))
    return tuple(found), tuple(dict.fromkeys(unknown))


def boxes_mm3(lines: Sequence[SetLine], policy: Policy) -> float:
    """The volume of the boxes of all pieces (mm³), each lying as it takes least, without gaps.

    The blocks of a set take as much or more, however its stringers lean: plates that lean keep
    their volume. What has no size on record counts as nothing.
    """
    return sum(
        line.quantity
        * min(way.item.box.volume_mm3 or 0.0 for way in ways_to_lie(line.instrument, policy))
        for line in lines
    )


def _goes_on(item: Instrument) -> bool:
    return item.opens and look_of(item) in STRUNG


def _groups(pieces: Iterable[_Piece], room: Room, levels: int) -> list[list[_Piece]]:
    """The pieces of each stringer: the longest first, as many as go beside each other there."""
    most = max(room.long, room.wide)
    groups: list[list[_Piece]] = []
    for piece in sorted(pieces, key=lambda one: (-one.sizes[0], one.line)):
        if groups and leaning(_plates([*groups[-1], piece]), room.high / levels)[0] <= most:
            groups[-1].append(piece)
        else:
            groups.append([piece])
    return groups


def _plates(pieces: Iterable[_Piece]) -> list[tuple[float, float]]:
    """How wide each stands open, and how thick it is (mm)."""
    return [piece.sizes[1:] for piece in pieces]


def leaning(plates: Sequence[tuple[float, float]], high: float) -> tuple[float, float]:
    """What plates (width, thickness) on one stringer take up across, and how high (mm).

    They stand on edge where ``high`` lets the widest, else all lean alike, each on the one
    before; infinite where not even that goes. Worked by hand: at an angle a the widest stands
    w sin a + t cos a high, and each takes up t / sin a beside the next.

    >>> leaning([(80, 10)] * 6, 90)
    (60.0, 80)
    >>> [round(size, 1) for size in leaning([(94, 11)] * 12, 50)]
    [394.9, 50]
    """
    width, thick = max(w for w, _ in plates), max(t for _, t in plates)
    every = sum(t for _, t in plates)
    if width <= high:
        return float(every), width
    if thick >= high:
        return math.inf, thick
    angle = math.asin(high / math.hypot(width, thick)) - math.atan2(thick, width)
    return every / math.sin(angle) + width * math.cos(angle), high


def _stringer(pieces: Sequence[_Piece], number: int, high: float) -> Block:
    """All on one stringer: as long as the longest, as wide as they lean."""
    across, tall = leaning(_plates(pieces), high)
    weights = [one.item.weight_g for one in pieces]
    return Block(
        key=f"s{number}",
        name=f"{STRINGER} {number}",
        length_mm=max(one.sizes[0] for one in pieces),
        width_mm=across,
        height_mm=tall,
        weight_g=None if None in weights else sum(one or 0.0 for one in weights),
        holds=tuple(sorted(Counter(one.line for one in pieces).items())),
        contents=counted(one.item.name for one in pieces),
    )


def counted(names: Iterable[str]) -> str:
    """Names, each once with how many.

    >>> counted(["Chisel", "Hook", "Chisel"])
    '2 × Chisel, Hook'
    """
    each = Counter(names).items()
    return ", ".join(f"{count} × {name}" if count > 1 else name for name, count in each)


def _single(piece: _Piece, key: str) -> Block:
    length, width, height = piece.sizes
    return Block(
        key=key, name=piece.item.name, length_mm=length, width_mm=width, height_mm=height,
        weight_g=piece.item.weight_g, holds=((piece.line, 1),),
    )  # fmt: skip

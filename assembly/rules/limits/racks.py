"""How many packages stand in a sterilizer's rack: a lower bound that can be reckoned by hand.

Boxes (containers, wrapped packs) stand in one grid, all the same way; pouches stand on edge, long
edge down, in lanes. Mixed ways to turn them are not searched, so that what is found is "at least".
A gap is kept between neighbours and none to the walls: the sterilizer maker's IFU comes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from assembly.rules.facts.checks import FactsError

TENTHS = 10


@dataclass(frozen=True, slots=True)
class Shelf:
    """The room on one shelf of a rack, or in one basket (mm); ``height`` up to the next shelf."""

    length: float
    width: float
    height: float

    def __post_init__(self) -> None:
        for name in ("length", "width", "height"):
            if getattr(self, name) <= 0:
                raise FactsError(name, getattr(self, name), "it must be more than 0")


@dataclass(frozen=True, slots=True)
class Piece:
    """A package as it stands. A box: its length and width on the shelf, its height up. A pouch on
    edge: its length on the shelf, its thickness as ``width``, its width up."""

    code: str
    length: float
    width: float
    height: float
    pouch: bool = False
    gross_g: float | None = None

    def __post_init__(self) -> None:
        for name in ("length", "width", "height"):
            if getattr(self, name) <= 0:
                raise FactsError(name, getattr(self, name), "it must be more than 0")


@dataclass(frozen=True, slots=True)
class Grid:
    """So many along the shelf's length, across its width and one above the other."""

    along: int
    across: int
    up: int
    turned: bool = False

    @property
    def count(self) -> int:
        return self.along * self.across * self.up


def fitting(room: float, size: float, gap: float) -> int:
    """How many of a size stand in a room with a gap between them, in whole tenths of a mm.

    >>> fitting(132.0, 60.9, 10), fitting(480, 14, 10)
    (2, 20)
    """
    step = round(TENTHS * (size + gap))
    return max(0, round(TENTHS * (room + gap)) // step)


def boxes_on(shelf: Shelf, piece: Piece, gap: float, above: float, *, stacked: bool) -> Grid:
    """The most equal boxes that stand upright on one shelf, all one way."""
    up = fitting(shelf.height, piece.height, above)
    up = up if stacked else min(up, 1)
    ways = [
        Grid(fitting(shelf.length, one, gap), fitting(shelf.width, other, gap), up, turned)
        for one, other, turned in (
            (piece.length, piece.width, False), (piece.width, piece.length, True)
        )
    ]  # fmt: skip
    return max(ways, key=lambda way: way.count)


def pouches_on(shelf: Shelf, piece: Piece, gap: float) -> Grid:
    """The most equal pouches that stand on edge on one shelf, in lanes along or across it."""
    up = int(fitting(shelf.height, piece.height, 0) > 0)
    ways = [
        Grid(fitting(a, piece.width, gap), fitting(b, piece.length, gap), up, turned)
        for a, b, turned in (
            (shelf.length, shelf.width, False), (shelf.width, shelf.length, True)
        )
    ]  # fmt: skip
    return max(ways, key=lambda way: way.count)


def why_not(shelf: Shelf, piece: Piece) -> str:
    """Which size of a piece is more than the shelf has; "" where it stands there alone."""
    if piece.height > shelf.height:
        return f"{piece.height:g} mm high, {shelf.height:g} mm between the shelves"
    long, short = sorted((piece.length, piece.width), reverse=True)
    room_long, room_short = sorted((shelf.length, shelf.width), reverse=True)
    if long > room_long:
        return f"{long:g} mm long, the shelf {room_long:g} mm"
    if short > room_short:
        return f"{short:g} mm wide, the shelf {room_short:g} mm"
    return ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece seen from above: its corner nearest to the shelf's, and what it takes (mm)."""

    piece: Piece
    x: float
    y: float
    length: float
    width: float


def arranged(
    pieces: Iterable[Piece], shelf: Shelf, gap: float, most_g: float | None = None
) -> list[list[Placed]] | None:
    """The pieces on as few shelves as one grid for equal boxes and lanes for pouches take.

    ``most_g`` is what a shelf may bear; pieces then need their weight. None where one of them
    stands on no shelf.
    """
    found = list(pieces)
    if any(why_not(shelf, one) for one in found):
        return None
    boxes = sorted((one for one in found if not one.pouch), key=_size, reverse=True)
    shelves: list[list[Placed]] = []
    for _, equal in groupby(boxes, key=_size):
        shelves += _in_grids(list(equal), shelf, gap, most_g)
    pouches = [one for one in found if one.pouch]
    ways = [_in_lanes(pouches, shelf, gap, most_g, turned=turned) for turned in (False, True)]
    return shelves + min((way for way in ways if way is not None), key=len, default=[])


def _size(piece: Piece) -> tuple[float, float, float]:
    return piece.height, piece.length, piece.width


def _in_grids(
    equal: Sequence[Piece], shelf: Shelf, gap: float, most_g: float | None
) -> list[list[Placed]]:
    grid = boxes_on(shelf, equal[0], gap, 0, stacked=False)
    length, width = equal[0].length, equal[0].width
    if grid.turned:
        length, width = width, length
    shelves: list[list[Placed]] = []
    for piece in equal:
        if not shelves or len(shelves[-1]) == grid.count or _too_heavy(shelves[-1], piece, most_g):
            shelves.append([])
        row, place = divmod(len(shelves[-1]), grid.along)
        shelves[-1].append(
            Placed(piece, place * (length + gap), row * (width + gap), length, width)
        )
    return shelves


def _in_lanes(
    pouches: Sequence[Piece], shelf: Shelf, gap: float, most_g: float | None, *, turned: bool
) -> list[list[Placed]] | None:
    """Pouches one behind the other in lanes as deep as the longest; None where none is so deep."""
    a, b = (shelf.width, shelf.length) if turned else (shelf.length, shelf.width)
    longest = max((one.length for one in pouches), default=1.0)
    lanes = fitting(b, longest, gap)
    if not lanes:
        return None
    shelves: list[list[Placed]] = []
    lane, at = lanes, 0.0
    for piece in sorted(pouches, key=lambda one: (-one.height, -one.length, one.code)):
        if at + piece.width > a:
            lane, at = lane + 1, 0.0
        if not shelves or lane >= lanes or _too_heavy(shelves[-1], piece, most_g):
            shelves.append([])
            lane, at = 0, 0.0
        deep = lane * (longest + gap)
        x, y, along, across = at, deep, piece.width, piece.length
        if turned:
            x, y, along, across = y, x, across, along
        shelves[-1].append(Placed(piece, x, y, along, across))
        at += piece.width + gap
    return shelves


def _too_heavy(shelf: Sequence[Placed], piece: Piece, most_g: float | None) -> bool:
    if most_g is None:
        return False
    return sum(one.piece.gross_g or 0 for one in shelf) + (piece.gross_g or 0) > most_g

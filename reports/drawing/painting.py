"""Words on a canvas: plain, set to the right, and white on black. All in points."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from reports.drawing import fonts
from reports.drawing.fitting import Block
from reports.drawing.measures import points

T = TypeVar("T")
PADDING = points(1.0)
CORNER = points(0.6)
BASELINE = 0.76  # of the size: from the top of a line of text down to its baseline


Paint = Callable[[Any, float, float], None]
"""Paints on a canvas, from the left and the top given."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Something ``height`` points high that is painted from its top left corner."""

    height: float
    paint: Paint


def stacked(pieces: Sequence[Piece]) -> Piece:
    """Pieces under each other, as one."""

    def paint(canvas: Any, left: float, top: float) -> None:
        for piece in pieces:
            piece.paint(canvas, left, top)
            top -= piece.height

    return Piece(sum(piece.height for piece in pieces), paint)


def side_by_side(columns: Sequence[Piece], shift: float) -> Piece:
    """A column every ``shift`` points."""

    def paint(canvas: Any, start: float, top: float) -> None:
        for place, piece in enumerate(columns):
            piece.paint(canvas, start + place * shift, top)

    return Piece(max(piece.height for piece in columns), paint)


def shared_out(
    items: Iterable[T], room: float, height: Callable[[T], float], first: float | None = None
) -> list[list[T]]:
    """Items to pages with ``room`` points each, the first page with ``first``; none is parted."""
    pages: list[list[T]] = [[]]
    left = room if first is None else first
    for item in items:
        if height(item) > left:
            pages.append([])
            left = room
        pages[-1].append(item)
        left -= height(item)
    return pages


def paint_block(canvas: Any, block: Block, left: float, top: float, gray: float = 0.0) -> None:
    """The lines of ``block`` with the top of the first one at ``top``."""
    base = top - block.size * BASELINE
    for number, line in enumerate(block.lines):
        fonts.draw(canvas, left, base - number * block.step, line, block.face, block.size, gray)


def as_piece(block: Block, after: float = 0.0) -> Piece:
    """``block`` with free room after it, in points."""
    return Piece(
        block.height + after, lambda canvas, left, top: paint_block(canvas, block, left, top)
    )


def paint_down(canvas: Any, blocks: Iterable[Block], left: float, top: float) -> float:
    """Blocks under each other from ``top`` down; returns where the next one begins."""
    for block in blocks:
        paint_block(canvas, block, left, top)
        top -= block.height
    return top


def paint_to_the_right(canvas: Any, block: Block, right: float, top: float) -> None:
    """As ``paint_block``, each line ending at ``right``."""
    for line in block.lines:
        single = Block((line,), block.face, block.size, block.leading)
        paint_block(canvas, single, right - single.width, top)
        top -= block.step


def box_height(block: Block) -> float:
    """The height of a black box around ``block``."""
    return block.height + PADDING * 0.8


def paint_reversed(canvas: Any, block: Block, left: float, top: float) -> None:
    """``block`` in white on a black box whose top left corner is at ``left``, ``top``."""
    height = box_height(block)
    canvas.setFillGray(0)
    width = block.width + 2 * PADDING
    canvas.roundRect(left, top - height, width, height, CORNER, stroke=0, fill=1)
    slack = block.step - block.size
    paint_block(canvas, block, left + PADDING, top - PADDING * 0.4 - slack / 2, gray=1.0)

"""A poster as one page: title, drawings as large as they go, whose document it is.

What is read from 2 m is at least 24 pt: capitals are then 5.6 mm high, which is 9 or 10
minutes of arc there, twice what eyes of normal sight need (our reckoning, no source). The
line of document control is at least 14 pt; only the foot is small.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from reports.documents.posters import Figure, Panel, Poster
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Block, PrintRefused, Style, at_size, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import (
    Piece,
    box_height,
    paint_block,
    paint_reversed,
    stacked,
)
from reports.drawing.scenes import paint_scene

FROM_2_M = 24.0
MARGIN, GAP, PAD = points(10.0), points(3.5), points(2.2)
TITLE = Style(Face.BOLD, 56.0, 34.0, 1.0)
HEADLINE = Style(Face.SEMIBOLD, 28.0, FROM_2_M, 1.1)
AMOUNT = Style(Face.BOLD, 120.0, 40.0, 1.1)
WORDS = Style(Face.SEMIBOLD, 32.0, FROM_2_M, 1.1)
NOTICE = Style(Face.BOLD, 30.0, FROM_2_M, 1.15)
CONTROL = Style(Face.SEMIBOLD, 18.0, 14.0, 1.15)
FOOT = Style(Face.REGULAR, 9.0, 7.0, 1.2)
CONTROL_SHARES = ((0.0, 0.45, 0), (0.45, 0.22, 0), (0.67, 0.33, 0))
UPRIGHT_SHARES = ((0.0, 1.0, 0), (0.0, 0.5, 1), (0.5, 0.5, 1))
"""Where owner, number and last day begin and how wide each is, as shares of the width, and in
which row."""
BOLD = 2.4
"""How many times the lines of a drawing are as thick as on a card."""
GOOD_FRAME, FRAME = 2.6, 1.0
SIGN = 1.35
"""The sign of a panel, as a share of the type of its words."""
LEAST_DRAWING = points(28.0)


def draw_poster(poster: Poster, paper: str = "A4") -> bytes:
    """The poster on A4 or letter; PrintRefused where its words find no room at a size to read."""
    size = paper_points(paper)
    across, high = size if poster.upright else (size[1], size[0])
    width = across - 2 * MARGIN
    head, foot = stacked(list(_head(poster, width))), stacked(list(_foot(poster, width)))
    room = high - 2 * MARGIN - head.height - foot.height - GAP
    out = io.BytesIO()
    canvas = new_canvas(out, (across, high), poster.title)
    canvas.setStrokeGray(0)
    head.paint(canvas, MARGIN, high - MARGIN)
    _grid(poster, width, room).paint(canvas, MARGIN, high - MARGIN - head.height)
    foot.paint(canvas, MARGIN, MARGIN + foot.height)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _in_few_lines(field: str, text: str, style: Style, room: float, most: int = 2) -> Block:
    """On one line where a size allowed fits there, else on two, or ``most``."""
    with suppress(PrintRefused):
        return fit(field, text, style, room, 1)
    return fit(field, text, style, room, most)


def _words(block: Block, after: float = 0.0, inset: float = 0.0) -> Piece:
    return Piece(
        block.height + after,
        lambda canvas, left, top: paint_block(canvas, block, left + inset, top),
    )


def _head(poster: Poster, width: float) -> Iterator[Piece]:
    yield _words(fit("title", poster.title, TITLE, width, 1), points(1))
    if poster.headline:
        yield _words(fit("headline", poster.headline, HEADLINE, width, 2), points(2))
    if poster.notice:
        loud = fit("notice", poster.notice, NOTICE, width - points(3), 2)
        yield Piece(box_height(loud) + points(2),
                    lambda canvas, left, top: paint_reversed(canvas, loud, left, top))  # fmt: skip
    if poster.figures:
        yield _figures(poster.figures, width)
    yield Piece(points(2), lambda canvas, left, top: None)


def _figures(figures: Sequence[Figure], width: float) -> Piece:
    """The amounts beside each other, each with its words under it, all in one size."""
    each = width / len(figures)
    room = each - 2.5 * GAP
    size = min(fit("amount", one.amount, AMOUNT, room, 1).size for one in figures)
    amounts = [at_size("amount", one.amount, AMOUNT, size, room) for one in figures]
    words = [fit("limit", one.words, HEADLINE, room, 3) for one in figures]
    high = amounts[0].height

    def paint(canvas: Any, left: float, top: float) -> None:
        for place, (amount, said) in enumerate(zip(amounts, words, strict=True)):
            paint_block(canvas, amount, left + place * each, top)
            paint_block(canvas, said, left + place * each, top - high)

    return Piece(high + max(said.height for said in words) + points(2), paint)


@dataclass(frozen=True, slots=True)
class _Cell:
    """The room of one panel in points, and the common size of all words."""

    width: float
    height: float
    said: float
    size: float

    @property
    def drawing(self) -> tuple[float, float]:
        """The room that is left for its drawing."""
        return self.width - 2 * PAD, self.height - self.said - 2.5 * PAD


def _grid(poster: Poster, width: float, room: float) -> Piece:
    """The panels in rows, all drawings at one scale."""
    panels, columns = poster.panels, poster.columns
    rows = -(-len(panels) // columns)
    across, high = (width + GAP) / columns - GAP, (room + GAP) / rows - GAP
    size = min(_caption(one, across).size for one in panels)
    said = max(_caption(one, across, size).height for one in panels)
    cell = _Cell(across, high, max(said, size * SIGN), size)
    if min(cell.drawing) < LEAST_DRAWING:
        raise PrintRefused("poster", "its words leave no room for its drawings. Shorten them.")
    scale = max(
        max(points(one.scene.width) / cell.drawing[0], points(one.scene.height) / cell.drawing[1])
        for one in panels
    )

    def paint(canvas: Any, left: float, top: float) -> None:
        for place, panel in enumerate(panels):
            row, column = divmod(place, columns)
            at = (left + column * (across + GAP), top - row * (high + GAP))
            _panel(canvas, panel, cell, at, scale)

    return Piece(room, paint)


def _caption(panel: Panel, across: float, size: float | None = None) -> Block:
    """The words of a panel beside its sign, in two lines at most."""
    room = across - 3.2 * PAD - WORDS.largest * SIGN
    if size is None:
        return _in_few_lines("words", panel.words, WORDS, room)
    return at_size("words", panel.words, WORDS, size, room)


def _panel(canvas: Any, panel: Panel, cell: _Cell, at: tuple[float, float], scale: float) -> None:
    left, top = at
    canvas.setLineWidth(FRAME if panel.mark == "fault" else GOOD_FRAME)
    canvas.roundRect(left, top - cell.height, cell.width, cell.height, points(2), stroke=1, fill=0)
    side = cell.size * SIGN
    _sign(canvas, panel.mark, left + PAD, top - PAD, side)
    words = _caption(panel, cell.width, cell.size)
    paint_block(canvas, words, left + PAD * 2.2 + side, top - PAD)
    across, high = points(panel.scene.width) / scale, points(panel.scene.height) / scale
    x = left + (cell.width - across) / 2
    y = top - cell.said - PAD * 1.5 - (cell.drawing[1] - high) / 2
    paint_scene(canvas, panel.scene, x, y, scale, bold=BOLD, letters=FROM_2_M)


def _sign(canvas: Any, mark: str | int, left: float, top: float, side: float) -> None:
    """A tick in a black disc, a cross in a square, or the number of a step in a disc."""
    middle = (left + side / 2, top - side / 2)
    canvas.saveState()
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    canvas.setFillGray(0)
    if mark == "fault":
        canvas.setLineWidth(side * 0.05)
        canvas.rect(left, top - side, side, side)
        canvas.setLineWidth(side * 0.16)
        inset = side * 0.24
        for low, high in ((top - side + inset, top - inset), (top - inset, top - side + inset)):
            canvas.line(left + inset, low, left + side - inset, high)
    else:
        canvas.circle(*middle, side / 2, stroke=0, fill=1)
        if mark == "good":
            canvas.setStrokeGray(1)
            canvas.setLineWidth(side * 0.14)
            tick = canvas.beginPath()
            tick.moveTo(left + side * 0.26, top - side * 0.54)
            tick.lineTo(left + side * 0.43, top - side * 0.71)
            tick.lineTo(left + side * 0.75, top - side * 0.31)
            canvas.drawPath(tick)
        else:
            number = fit("number", str(mark), Style(Face.BOLD, side * 0.74, 8.0, 1.0), side, 1)
            paint_block(canvas, number, middle[0] - number.width / 2, top - side * 0.1, gray=1.0)
    canvas.restoreState()


def _foot(poster: Poster, width: float) -> Iterator[Piece]:
    """Whose document it is under a rule, and what it was made from."""
    shares = UPRIGHT_SHARES if poster.upright else CONTROL_SHARES
    name = "owner, number, valid until"
    said = [
        (words, left * width, share * width - points(2))
        for words, (left, share, _) in zip(poster.control.words, shares, strict=True)
    ]
    size = min(_in_few_lines(name, words, CONTROL, room, 4).size for words, _, room in said)
    blocks = [at_size(name, words, CONTROL, size, room) for words, _, room in said]
    rows = [row for *_, row in shares]
    first = max(block.height for block, row in zip(blocks, rows, strict=True) if row == 0)
    rest = [block.height for block, row in zip(blocks, rows, strict=True) if row == 1]

    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(1.2)
        canvas.line(left, top - points(1), left + width, top - points(1))
        for block, (_, at, _), row in zip(blocks, said, rows, strict=True):
            paint_block(canvas, block, left + at, top - points(2) - row * first)

    yield Piece(first + max(rest, default=0.0) + points(2.5), paint)
    yield _words(fit("foot", poster.foot, FOOT, width, 2))

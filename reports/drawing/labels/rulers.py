"""The ruler page of a label stock: print it, hold it against the stock, correct the measures.

Every label is outlined where the stock's measures place it. On a sheet, rules in mm along two
edges begin where an office printer prints; their figures count from the paper's own edge.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import paint_block
from reports.drawing.stocks import PRINTED_FROM_MM, Grid, Stock

HAIR = 0.3
WORDS = Style(Face.REGULAR, 7.0, 5.0, 1.25)
STRONG = Style(Face.SEMIBOLD, 8.0, 5.0, 1.25)
FIGURE = Style(Face.REGULAR, 5.5, 5.0, 1.0)
CONTROL_MM = 50.0
FIGURE_MM = 2
"""Half of the width of a figure, and a little."""
INSET_MM, CLEAR_OF_RULES_MM = 1.0, 13.0
"""From the margin to the words of a label; from the edge of a sheet past the rules there."""


def draw_ruler(stock: Stock) -> bytes:
    """The ruler page of ``stock``: one label, or its whole sheet."""
    out = io.BytesIO()
    grid = stock.grid
    size = paper_points(grid.paper) if grid else (points(stock.width_mm), points(stock.height_mm))
    canvas = new_canvas(out, size, f"Ruler page: {stock.name}")
    canvas.setStrokeGray(0)
    canvas.setLineWidth(HAIR)
    corners = [grid.corner_mm(place) for place in range(grid.labels)] if grid else [(0.0, 0.0)]
    for number, (left, top) in enumerate(corners, start=1):
        _label(canvas, stock, number, points(left), size[1] - points(top))
    if grid:
        _edge_rules(canvas, size)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _label(canvas: Any, stock: Stock, number: int, left: float, top: float) -> None:
    """The outline, the margin inside it, its measures as far as there is room, and a rule."""
    width, height, margin = (
        points(side) for side in (stock.width_mm, stock.height_mm, stock.margin_mm)
    )
    canvas.rect(left, top - height, width, height)
    canvas.setDash(1, 2)
    canvas.rect(left + margin, top - height + margin, width - 2 * margin, height - 2 * margin)
    canvas.setDash()
    left_mm, top_mm = stock.grid.corner_mm(number - 1) if stock.grid else (CLEAR_OF_RULES_MM,) * 2
    inset, above = (max(INSET_MM, CLEAR_OF_RULES_MM - mm - stock.margin_mm)
                    for mm in (left_mm, top_mm))  # fmt: skip
    room_mm = stock.width_mm - 2 * stock.margin_mm - inset - INSET_MM
    inner, base = left + margin + points(inset), top - height + margin + points(3.5)
    line = top - margin - points(above)
    for words, style in _measures(stock, number):
        block = fit("ruler page", words, style, points(room_mm))
        if line - block.height > base + points(3.5):
            paint_block(canvas, block, inner, line)
            line -= block.height
    _rule(canvas, inner, base, min(CONTROL_MM, room_mm // 10 * 10))


def _measures(stock: Stock, number: int) -> Iterator[tuple[str, Style]]:
    """What a label says of itself, the first things first."""
    size = f"{stock.width_mm:g} x {stock.height_mm:g} mm"
    yield f"{number}. {size}, margin {stock.margin_mm:g} mm", STRONG
    yield stock.name, WORDS
    if stock.grid:
        yield _place(stock.grid, number), WORDS


def _place(grid: Grid, number: int) -> str:
    """Where on the sheet a label begins."""
    left, top = grid.corner_mm(number - 1)
    return f"left edge at {left:g} mm, top edge at {top:g} mm"


def _tall(mm: int) -> float:
    """The length of the tick at ``mm``, in points."""
    return points(3.0 if mm % 10 == 0 else 2.0 if mm % 5 == 0 else 1.2)


def _figure(canvas: Any, words: str, middle: float, top: float) -> None:
    """A figure on white, so that it is read on the outline of a label too."""
    block = fit("ruler page", words, FIGURE, points(20), 1)
    left = middle - fit("ruler page", words.split()[0], FIGURE, points(20), 1).width / 2
    canvas.setFillGray(1)
    canvas.rect(left, top - block.height, block.width, block.height, stroke=0, fill=1)
    paint_block(canvas, block, left, top)


def _rule(canvas: Any, left: float, base: float, length_mm: float) -> None:
    """A rule with a tick each mm, and under each 10 mm how many."""
    canvas.line(left, base, left + points(length_mm), base)
    for mm in range(int(length_mm) + 1):
        canvas.line(left + points(mm), base, left + points(mm), base + _tall(mm))
        if mm % 10 == 0:
            _figure(canvas, f"{mm}" if mm else "0 mm", left + points(mm), base - 1)


def _edge_rules(canvas: Any, size: tuple[float, float]) -> None:
    """Rules along the top and the left, figures from the paper's edges, to see a shift."""
    wide, high = size
    edge = points(PRINTED_FROM_MM)
    canvas.line(edge, high - edge, wide - edge, high - edge)
    canvas.line(edge, edge, edge, high - edge)
    for mm in range(PRINTED_FROM_MM, int((wide - edge) / points(1)) + 1):
        canvas.line(points(mm), high - edge, points(mm), high - edge - _tall(mm))
        if mm % 10 == 0 and points(mm + FIGURE_MM) <= wide - edge:
            _figure(canvas, f"{mm}", points(mm), high - edge - points(3.2))
    for mm in range(PRINTED_FROM_MM, int((high - edge) / points(1)) + 1):
        down = high - points(mm)
        canvas.line(edge, down, edge + _tall(mm), down)
        if mm % 10 == 0 and mm > 10:  # the first stands where the other rule has its own
            _figure(canvas, f"{mm}", edge + points(4.8), down + FIGURE.largest / 2)

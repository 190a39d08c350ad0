"""The ruler page of a label stock: print it, hold it against the stock, correct the numbers.

Every label is outlined where the stock's numbers place it; rules in mm along two edges
show how far the printer shifts and whether it shrinks.
"""

from __future__ import annotations

import io
from typing import Any

from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import paint_block, paint_down
from reports.drawing.stocks import Stock

HAIR = 0.3
WORDS = Style(Face.REGULAR, 7.0, 5.0, 1.25)
STRONG = Style(Face.SEMIBOLD, 8.0, 5.0, 1.25)
CONTROL_MM = 50.0


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
    """The outline, the margin inside it, a 50 mm rule and the numbers."""
    width, height, margin = (
        points(side) for side in (stock.width_mm, stock.height_mm, stock.margin_mm)
    )
    canvas.rect(left, top - height, width, height)
    canvas.setDash(1, 2)
    canvas.rect(left + margin, top - height + margin, width - 2 * margin, height - 2 * margin)
    canvas.setDash()
    inner, room = left + margin + points(1.5), width - 2 * margin - points(3)
    edge = f"Edge {stock.width_mm:g} x {stock.height_mm:g} mm; dashed: margin of "
    edge += f"{stock.margin_mm:g} mm. Print at actual size."
    said = ((f"{number}. {stock.name}", STRONG), (edge, WORDS))
    blocks = (fit("ruler page", words, style, room) for words, style in said)
    paint_down(canvas, blocks, inner, top - margin - points(1))
    _rule(canvas, inner, top - height + margin + points(4), CONTROL_MM)


def _rule(canvas: Any, left: float, base: float, length_mm: float) -> None:
    """A rule with a tick each mm, longer at 5 and 10, and its length beside it."""
    canvas.line(left, base, left + points(length_mm), base)
    for mm in range(int(length_mm) + 1):
        tall = 3.0 if mm % 10 == 0 else 2.0 if mm % 5 == 0 else 1.2
        canvas.line(left + points(mm), base, left + points(mm), base + points(tall))
    words = fit("ruler page", f"{length_mm:g} mm", WORDS, points(20), 1)
    paint_block(canvas, words, left, base - 1)


def _edge_rules(canvas: Any, size: tuple[float, float]) -> None:
    """Rules from the paper's top left corner, to see how far the print is shifted."""
    for mm in range(0, 101):
        tall = points(4.0 if mm % 10 == 0 else 2.5 if mm % 5 == 0 else 1.5)
        canvas.line(points(mm), size[1], points(mm), size[1] - tall)
        canvas.line(0, size[1] - points(mm), tall, size[1] - points(mm))

"""The label of a shelf, a bin or a place, planned on a stock.

Framed, with a black band across the top that has the number in large white letters: nobody takes
it for the label of a package, which has neither.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from reports.documents.labels import ShelfLabelDocument
from reports.drawing.fitting import Block, PrintRefused, Style, fit
from reports.drawing.fonts import Face, named
from reports.drawing.labels.codes import Code, Placed, code_of, placed
from reports.drawing.labels.parts import (
    LEADING,
    Part,
    Setting,
    paint_stack,
    stack_height,
    text_part,
)
from reports.drawing.measures import points
from reports.drawing.painting import BASELINE, paint_block
from reports.drawing.stocks import Stock

GAP = points(0.6)
INSET = points(0.8)
FRAME = 0.9
BAND_LARGEST = 1.6
"""How many times the stock's largest type the number may be."""
BAND_SHARE = 0.34
"""Of the label's height the band takes at the most."""
STEPS = 12


@dataclass(frozen=True, slots=True)
class ShelfPlan:
    """The number in its band, the words under it, and the code beside them."""

    stock: Stock
    number: Block
    words: list[Part]
    code: Placed

    @property
    def band(self) -> float:
        return self.number.height + INSET

    @property
    def fits(self) -> bool:
        beside = self.code.beside.height if self.code.beside else 0.0
        below = max(stack_height(self.words, GAP), beside) + GAP
        below += self.code.bars.height + GAP if self.code.bars else 0.0
        return self.band + below <= points(self.stock.height_mm - 2 * self.stock.margin_mm)

    def paint(self, canvas: Any) -> None:
        """The label, its bottom left corner at 0, 0."""
        stock, margin = self.stock, points(self.stock.margin_mm)
        wide, high = points(stock.width_mm), points(stock.height_mm)
        outer = margin - INSET
        canvas.setStrokeGray(0)
        canvas.setLineWidth(FRAME)
        canvas.rect(outer, outer, wide - 2 * outer, high - 2 * outer)
        canvas.setFillGray(0)
        bottom = high - margin - self.band
        canvas.rect(outer, bottom, wide - 2 * outer, high - outer - bottom, stroke=0, fill=1)
        slack = self.number.size * (1 - BASELINE)
        paint_block(canvas, self.number, margin, high - margin - INSET / 2 + slack / 3, gray=1.0)
        top = bottom - GAP
        paint_stack(canvas, self.words, margin, top, GAP)
        if self.code.beside:
            self.code.beside.paint(canvas, wide - margin, top)
        if self.code.bars:
            self.code.bars.paint(canvas, margin, margin + self.code.bars.height)


def plan_of_shelf(document: ShelfLabelDocument, stock: Stock) -> ShelfPlan:
    """The label at its largest; PrintRefused where it does not fit at the smallest."""
    code = code_of(document, stock)
    assert code is not None
    problem: PrintRefused | None = None
    for dots in code.dots:
        for step in range(STEPS + 1):
            try:
                plan = _plan_at(document, stock, code, dots, step / STEPS)
            except PrintRefused as refusal:
                problem = refusal
                continue
            if plan.fits:
                return plan
    raise problem or PrintRefused(
        "shelf label", f"the words do not fit on {stock.name}. Use a larger label."
    )


def _plan_at(
    document: ShelfLabelDocument, stock: Stock, code: Code, dots: int, shrink: float
) -> ShelfPlan:
    width = points(stock.width_mm - 2 * stock.margin_mm)
    setting = Setting(stock, shrink, width)
    at = placed(code, dots, stock)
    beside = replace(setting, width=width - at.width)
    large, small = stock.name_pt
    size = _band_size(stock, large)
    number = Style(Face.BOLD, size - (size - small) * shrink, small, 1.0)
    name = Style(Face.SEMIBOLD, large, min(small, stock.text_pt[0]), 1.1)
    return ShelfPlan(
        stock=stock,
        number=fit("number", document.number, number, width, 1),
        words=[
            text_part(beside, "name", named(document.number, document.name, name.face), name),
            text_part(beside, "usual package", document.note,
                      Style(Face.REGULAR, *stock.text_pt, LEADING)),
        ],
        code=at,
    )  # fmt: skip


def _band_size(stock: Stock, large: float) -> float:
    return min(large * BAND_LARGEST, points(stock.height_mm) * BAND_SHARE)

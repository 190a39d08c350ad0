"""The code on a label: which symbol, how wide its modules, and the words it reads as."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reports.documents.labels import AnyLabel, LabelDocument
from reports.drawing import barcodes
from reports.drawing.barcodes import Symbol
from reports.drawing.fitting import Block, PrintRefused, Style, fit, fit_or_smallest
from reports.drawing.fonts import Face
from reports.drawing.labels.parts import LEADING, Part
from reports.drawing.measures import dots_mm, down_to_dot, points
from reports.drawing.painting import Piece, paint_block, paint_to_the_right
from reports.drawing.stocks import Stock

CODE_FIELD = "label code"
COLUMN_GAP = points(2.0)
LEAST_BAR = points(5.0)
BAR_SLACK = points(0.2)
MOST_CODE_PT = 8.0
"""The words of a code are no larger than this on a stock of small type: read at arm's length."""
WIDE_CODE = 0.4
"""The share of a label's width that the words of a long code may take."""


@dataclass(frozen=True, slots=True)
class Code:
    """A symbol with how many dots wide its modules may be on a stock, the most first.

    ``words`` is what stands under it: of a GS1 code all of it, where there is little room our own
    part alone.
    """

    symbol: Symbol
    dots: Sequence[int]
    words: Block

    def size_mm(self, dots: int, stock: Stock) -> tuple[float, float]:
        """How wide a module of ``dots`` and the whole symbol are, quiet zones left out."""
        module = dots_mm(dots, stock.printer_dpi)
        return module, module * len(self.symbol.rows[0])

    @property
    def linear(self) -> bool:
        return len(self.symbol.rows) == 1


def code_of(document: AnyLabel, stock: Stock) -> Code | None:
    """The code of a label; none on one that is void, so that no scanner takes it.

    PrintRefused for a text that is no code, and for one that is too wide for the stock.
    """
    if isinstance(document, LabelDocument):
        if document.void:
            return None
        prefix, text, small = document.gs1_prefix, document.barcode_text, document.small_code
    else:
        prefix, text, small = "", document.code, True
    symbol = _symbol(text, document.symbol, prefix)
    dots = _dots(symbol, stock, small=small)
    words = _code_words(text if small else symbol.text, prefix, stock)
    if len(symbol.rows) == 1:
        style = Style(Face.SEMIBOLD, stock.text_pt[0], stock.text_pt[0], LEADING)
        words = fit(CODE_FIELD, symbol.text, style, points(stock.width_mm - 2 * stock.margin_mm))
    return Code(symbol, dots, words)


@lru_cache(maxsize=8)
def _symbol(text: str, kind: str, prefix: str) -> Symbol:
    """The symbol; kept while the wordings of one label are tried."""
    if prefix:
        return barcodes.asset_data_matrix(prefix, text, CODE_FIELD)
    if kind == "code 128":
        return barcodes.code_128(text, CODE_FIELD)
    return barcodes.data_matrix(text, CODE_FIELD)


def _dots(symbol: Symbol, stock: Stock, *, small: bool) -> Sequence[int]:
    limits, dpi = stock.modules, stock.printer_dpi
    if len(symbol.rows) == 1:
        room = stock.width_mm - 2 * stock.margin_mm
        widths = barcodes.module_dots(symbol, room, dpi, limits, field=CODE_FIELD)
        return range(widths.most, widths.least - 1, -1)
    wanted = limits.wanted_mm(stock.height_mm)
    widths = barcodes.module_dots(symbol, stock.barcode_room_mm, dpi, limits, wanted, CODE_FIELD)
    return range(widths.most, (widths.least if small else widths.preferred) - 1, -1)


@dataclass(frozen=True, slots=True)
class Placed:
    """The code at one width of its modules: beside the words, or bars under them."""

    beside: Piece | None = None
    width: float = 0.0
    bars: Part | None = None


def placed(code: Code | None, dots: int, stock: Stock) -> Placed:
    """The code with modules of ``dots`` printer dots."""
    if code is None:
        return Placed()
    module = points(dots_mm(dots, stock.printer_dpi))
    if code.linear:
        return Placed(bars=_bars(code, module, stock))
    side = len(code.symbol.rows) + code.symbol.quiet
    piece = _matrix(code.symbol, module, code.words, stock)
    return Placed(beside=piece, width=COLUMN_GAP + max(side * module, code.words.width))


def _matrix(symbol: Symbol, module: float, words: Block, stock: Stock) -> Piece:
    """The symbol left of where it is painted, on whole dots counted from the top left of the
    label, with its words under it. The margin is its quiet zone above and to the right."""
    side, quiet = len(symbol.rows) * module, symbol.quiet * module

    def paint(canvas: Any, right: float, top: float) -> None:
        page = points(stock.height_mm)
        left = down_to_dot(right - side, stock.printer_dpi)
        from_top = down_to_dot(page - top, stock.printer_dpi)
        barcodes.draw(canvas, symbol, left, page - from_top, module)
        paint_to_the_right(canvas, words, right, top - side - quiet)

    return Piece(side + quiet + words.height, paint)


def _code_words(text: str, prefix: str, stock: Stock) -> Block:
    """What the code says, under it, to be read at arm's length; a long GS1 key breaks after the
    company's prefix and may be wider than the symbol, any other is broken anywhere."""
    largest = max(stock.text_pt[0], min(stock.name_pt[1], MOST_CODE_PT))
    style = Style(Face.SEMIBOLD, largest, stock.caption_pt[1], LEADING)
    try:
        return fit_or_smallest(CODE_FIELD, text, style, points(stock.barcode_room_mm), 1, 2)
    except PrintRefused:
        broken = text.replace(prefix, f"{prefix} ", 1) if prefix else text
        return fit(CODE_FIELD, broken, style, points(stock.width_mm * WIDE_CODE))


def _bars(code: Code, module: float, stock: Stock) -> Part:
    """A linear code over the width, on whole dots from the label's left edge, its words under
    it."""
    symbol, words = code.symbol, code.words
    bars = max(LEAST_BAR, stock.modules.bars_share * len(symbol.rows[0]) * module)

    def paint(canvas: Any, left: float, top: float) -> None:
        start = down_to_dot(left + symbol.quiet * module + BAR_SLACK, stock.printer_dpi)
        barcodes.draw(canvas, symbol, start, top, module, bars)
        paint_block(canvas, words, start, top - bars)

    height = bars + words.height
    return Part(CODE_FIELD, height, height, paint)

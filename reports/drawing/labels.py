"""A package label as a PDF page of exactly the label's size.

From the top: the contents beside the barcode, then what is not decided and the flags
(white on black); at the bottom who packed it, the fields that are filled in when
the package is loaded, and how long it stays sterile. All type shrinks together; when the
words do not fit at the stock's smallest sizes, the label is not printed.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, fields
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from reports.documents import LabelDocument
from reports.drawing import barcodes
from reports.drawing.barcodes import Symbol
from reports.drawing.fitting import Block, PrintRefused, fit, prepared
from reports.drawing.fonts import Face
from reports.drawing.label_parts import (
    Part,
    paint_stack,
    reversed_part,
    stacked,
    style,
    text_part,
    write_in_part,
)
from reports.drawing.measures import down_to_dot, points
from reports.drawing.painting import paint_to_the_right
from reports.drawing.stocks import Stock

GAP = points(0.5)
COLUMN_GAP = points(2.0)
SHRINK_STEPS = 12
AUTHOR = "Packbench"
CODE_FIELD = "label code"
FIELD_WORDS = {
    "what": "contents",
    "packed_by": "packer",
    "barcode_text": CODE_FIELD,
    "item_number": "item number",
    "flags": "flag",
    "notices": "notice",
}


@dataclass(frozen=True, slots=True)
class _Code:
    """The barcode with its text under it, and how wide a module is (points)."""

    symbol: Symbol
    module: float
    words: Block

    @property
    def side(self) -> float:
        return len(self.symbol.rows) * self.module

    @property
    def quiet(self) -> float:
        return self.symbol.quiet * self.module

    @property
    def width(self) -> float:
        return max(self.side + self.quiet, self.words.width)

    @property
    def height(self) -> float:
        return self.side + self.quiet + self.words.height


@dataclass(frozen=True, slots=True)
class _Plan:
    """The parts at one degree of shrinking, and whether they fit together."""

    contents: list[Part]
    flags: list[Part]
    foot: list[Part]
    code: _Code
    room: float

    @property
    def parts(self) -> list[Part]:
        return [*self.contents, *self.flags, *self.foot]

    @property
    def height(self) -> float:
        middle = max(stacked(self.contents, GAP), self.code.height)
        others = stacked([*self.flags, *self.foot], GAP)
        return middle + others + GAP

    @property
    def fits(self) -> bool:
        return self.height <= self.room


def draw_label(document: LabelDocument, stock: Stock) -> bytes:
    """``document`` as a one-page PDF of the size of ``stock``.

    PrintRefused names the field that is too long, that holds a character the typeface
    lacks, or that cannot be a barcode.
    """
    plan = _plan(document, stock)
    out = io.BytesIO()
    size = (points(stock.width_mm), points(stock.height_mm))
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, lang="en")
    canvas.setTitle(f"Label {document.barcode_text}: {document.what}")
    canvas.setAuthor(AUTHOR)
    canvas.setCreator(AUTHOR)
    canvas.setViewerPreference("PrintScaling", "None")
    _paint(canvas, plan, stock)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _plan(document: LabelDocument, stock: Stock) -> _Plan:
    """The largest plan that fits: first with the wider module, then with narrower ones."""
    _check_characters(document)
    symbol = barcodes.data_matrix(document.barcode_text, CODE_FIELD)
    most = barcodes.module_dots(
        symbol, stock.barcode_room_mm, stock.printer_dpi, stock.modules, CODE_FIELD
    )
    plan = None
    for dots in range(most, stock.modules.least_dots - 1, -1):
        module = barcodes.module_points(dots, stock.printer_dpi)
        for step in range(SHRINK_STEPS + 1):
            try:
                plan = _plan_at(document, stock, symbol, module, step / SHRINK_STEPS)
            except PrintRefused:
                if step == SHRINK_STEPS:
                    raise
                continue
            if plan.fits:
                return plan
    assert plan is not None
    raise _too_long(plan, stock)


def _too_long(plan: _Plan, stock: Stock) -> PrintRefused:
    worst = max(plan.parts, key=lambda part: part.height - part.usual)
    return PrintRefused(
        worst.field,
        f"the words do not fit on {stock.name} at the smallest type allowed there. "
        "Shorten them or use a larger label.",
    )


def _plan_at(
    document: LabelDocument, stock: Stock, symbol: Symbol, module: float, shrink: float
) -> _Plan:
    width = points(stock.width_mm - 2 * stock.margin_mm)
    bold = style(Face.BOLD, stock.text_pt)
    marks = [*document.notices, *document.flags]
    code_style = style(Face.SEMIBOLD, (stock.text_pt[1], stock.text_pt[1]))
    words = fit(CODE_FIELD, symbol.text, code_style, points(stock.barcode_room_mm), most_lines=2)
    code = _Code(symbol, module, words)
    return _Plan(
        contents=_contents(document, stock, shrink, width - code.width - COLUMN_GAP),
        flags=[reversed_part("notices and flags", marks, bold, shrink, width)],
        foot=_foot(document, stock, shrink, width),
        code=code,
        room=points(stock.height_mm - 2 * stock.margin_mm),
    )


def _contents(document: LabelDocument, stock: Stock, shrink: float, width: float) -> list[Part]:
    name = style(Face.BOLD, stock.name_pt, leading=1.1)
    text = style(Face.REGULAR, stock.text_pt)
    strong = style(Face.SEMIBOLD, stock.text_pt)
    count = _joined(document.quantity, document.item_number)
    packing = _joined(document.package, document.method)
    return [
        text_part("contents", document.what, name, shrink, width),
        text_part("quantity and item number", count, strong, shrink, width),
        text_part("package and method", packing, text, shrink, width),
    ]


def _foot(document: LabelDocument, stock: Stock, shrink: float, width: float) -> list[Part]:
    text = style(Face.REGULAR, stock.text_pt)
    strong = style(Face.SEMIBOLD, stock.text_pt)
    lot = (
        ("Sterilizer", document.sterilizer),
        ("Cycle", document.cycle),
        ("Load", document.load),
    )
    packed = _joined(document.packed_words, document.department)
    return [
        text_part("packer and department", packed, strong, shrink, width),
        write_in_part(
            lot,
            style(Face.REGULAR, stock.caption_pt),
            strong,
            shrink,
            width,
            points(stock.write_in_mm),
        ),
        text_part("statement", document.shelf_words, text, shrink, width),
    ]


def _joined(*words: str) -> str:
    """The words given, on one line with a raised dot between them.

    >>> _joined("1 piece", "", "NH-1804")
    '1 piece · NH-1804'
    """
    return " · ".join(part for part in words if part.strip())


def _check_characters(document: LabelDocument) -> None:
    """PrintRefused for the first field with a character that the typeface lacks."""
    for field in fields(document):
        value = getattr(document, field.name)
        for words in value if isinstance(value, tuple) else (value,):
            if isinstance(words, str):
                prepared(FIELD_WORDS.get(field.name, field.name), words, Face.BOLD)


def _paint(canvas: Any, plan: _Plan, stock: Stock) -> None:
    margin = points(stock.margin_mm)
    top = points(stock.height_mm) - margin
    canvas.setStrokeGray(0)
    paint_stack(canvas, plan.contents, margin, top, GAP)
    _paint_code(canvas, plan.code, points(stock.width_mm) - margin, top, stock)
    top -= max(stacked(plan.contents, GAP), plan.code.height) + GAP
    paint_stack(canvas, plan.flags, margin, top, GAP)
    paint_stack(canvas, plan.foot, margin, margin + stacked(plan.foot, GAP), GAP)


def _paint_code(canvas: Any, code: _Code, right: float, top: float, stock: Stock) -> None:
    """The symbol in the corner, on whole dots counted from the top left of the label.

    The margin is its quiet zone above and to the right.
    """
    page = points(stock.height_mm)
    left = down_to_dot(right - code.side, stock.printer_dpi)
    from_top = down_to_dot(page - top, stock.printer_dpi)
    barcodes.draw(canvas, code.symbol, left, page - from_top, code.module)
    paint_to_the_right(canvas, code.words, right, top - code.side - code.quiet)

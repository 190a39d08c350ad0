"""Package labels as PDF: a page of exactly the label's size, or sheets of labels.

From the top: the contents beside the barcode, then what is not decided and the flags
(white on black); at the bottom who packed it, the fields that are filled in when
the package is loaded, and how long it stays sterile. All type shrinks together; when the
words do not fit at the stock's smallest sizes, the label is not printed.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, BinaryIO

from reports.documents.papers import LabelDocument, NotPrinted
from reports.drawing import barcodes
from reports.drawing.barcodes import Symbol
from reports.drawing.files import Progress, new_canvas, paper_points
from reports.drawing.fitting import Block, PrintRefused, Style, fit, on_one_line
from reports.drawing.fonts import Face, named
from reports.drawing.labels.parts import (
    LEADING,
    Part,
    Setting,
    paint_stack,
    reversed_part,
    stack_height,
    text_part,
    write_in_parts,
)
from reports.drawing.measures import dots_mm, down_to_dot, points
from reports.drawing.painting import (
    PADDING,
    Piece,
    box_height,
    paint_block,
    paint_down,
    paint_reversed,
    paint_to_the_right,
)
from reports.drawing.stocks import Stock

GAP = points(0.5)
COLUMN_GAP = points(2.0)
SHRINK_STEPS = 12
BAR_HEIGHT = points(7.0)
LEAST_BAR = points(5.0)
BAR_SLACK = points(0.2)
STRIKE = 1.6
CODE_FIELD = "label code"
WIDE_CODE = 0.4
"""The share of a label's width that the words of a long code may take."""


@dataclass(frozen=True, slots=True)
class _Plan:
    """The parts at one degree of shrinking, and whether they fit together."""

    contents: list[Part]
    flags: list[Part]
    foot: list[Part]
    code: Piece | None
    room: float

    @property
    def parts(self) -> list[Part]:
        return [*self.contents, *self.flags, *self.foot]

    @property
    def middle(self) -> float:
        """The height of the contents and of the code beside them, whichever is higher."""
        return max(stack_height(self.contents, GAP), self.code.height if self.code else 0.0)

    @property
    def height(self) -> float:
        return self.middle + stack_height([*self.flags, *self.foot], GAP) + GAP

    @property
    def fits(self) -> bool:
        return self.height <= self.room


def draw_label(document: LabelDocument, stock: Stock) -> bytes:
    """``document`` as a one-page PDF: of the size of ``stock``, or its sheet's first label.

    PrintRefused names the field that is too long, or that cannot be a barcode.
    """
    check_label(document, stock)
    return draw_labels([document], stock, title=f"Label {document.barcode_text}: {document.what}")


def check_label(document: LabelDocument, stock: Stock) -> None:
    """PrintRefused where ``document`` cannot be drawn on ``stock``; it takes a few ms."""
    _plan(document, stock)


def draw_labels(
    documents: Iterable[LabelDocument | NotPrinted], stock: Stock, **options: Any
) -> bytes:
    """As :func:`write_labels`, for a file that is small enough for the memory."""
    out = io.BytesIO()
    write_labels(out, documents, stock, **options)
    return out.getvalue()


def write_labels(
    out: BinaryIO,
    documents: Iterable[LabelDocument | NotPrinted],
    stock: Stock,
    *,
    start_at: int = 1,
    title: str = "Labels",
    progress: Progress = lambda done: None,
) -> list[NotPrinted]:
    """Labels in order, one a page, or filling sheets from position ``start_at`` (1 first).

    Positions count along the rows. One that cannot be printed takes no other with it: in its
    place stands that it is none, and what it would be of; those are returned. Cancelled when
    ``progress`` raises it.
    """
    most = stock.grid.labels if stock.grid else 1
    if not 1 <= start_at <= most:
        raise PrintRefused("first position", f"{start_at} is none; {stock.name} has 1 to {most}.")
    canvas = new_canvas(out, _page(stock), title)
    place = start_at - 1
    refused: list[NotPrinted] = []
    for done, document in enumerate(documents, start=1):
        if place == most:
            canvas.showPage()
            place = 0
        canvas.saveState()
        if stock.grid:
            left, top = stock.grid.corner_mm(place)
            canvas.translate(points(left), _page(stock)[1] - points(top + stock.height_mm))
        if missing := _paint_or_say(canvas, document, stock):
            refused.append(missing)
        canvas.restoreState()
        place += 1
        progress(done)
    canvas.showPage()
    canvas.save()
    return refused


def _paint_or_say(
    canvas: Any, document: LabelDocument | NotPrinted, stock: Stock
) -> NotPrinted | None:
    """The label; else, and returned, what stands in its place."""
    if isinstance(document, LabelDocument):
        try:
            plan = _plan(document, stock)
        except PrintRefused as problem:
            document = NotPrinted(document.barcode_text, document.what, str(problem))
        else:
            _paint(canvas, plan, stock, struck=bool(document.void))
            return None
    _paint_none(canvas, document, stock)
    return document


def _paint_none(canvas: Any, document: NotPrinted, stock: Stock) -> None:
    """No label: its code and name, and where it is said why."""
    margin = points(stock.margin_mm)
    room, size = points(stock.width_mm) - 2 * margin - 2 * PADDING, stock.text_pt[1]
    top = points(stock.height_mm) - margin
    loud = fit("state", "NO LABEL", Style(Face.BOLD, size, size, LEADING), room)
    paint_reversed(canvas, loud, margin, top)
    said = ((document.code, Face.BOLD), (document.what, Face.REGULAR),
            ("Its page says why.", Face.REGULAR))  # fmt: skip
    lines = [on_one_line("label", words, Style(face, size, size, LEADING), room)
             for words, face in said]  # fmt: skip
    paint_down(canvas, lines, margin, top - box_height(loud) - GAP)


def _page(stock: Stock) -> tuple[float, float]:
    if stock.grid:
        return paper_points(stock.grid.paper)
    return points(stock.width_mm), points(stock.height_mm)


def _plan(document: LabelDocument, stock: Stock) -> _Plan:
    """The largest plan that fits: first with the wider module, then with narrower ones."""
    symbol = _symbol(document)
    plan = None
    for dots in _dots(symbol, stock):
        module = points(dots_mm(dots, stock.printer_dpi))
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


def _symbol(document: LabelDocument) -> Symbol | None:
    """The barcode; none on a label that is void, so that no scanner takes it."""
    if document.void:
        return None
    if document.gs1_prefix:
        return barcodes.asset_data_matrix(document.gs1_prefix, document.barcode_text, CODE_FIELD)
    if document.symbol == "code 128":
        return barcodes.code_128(document.barcode_text, CODE_FIELD)
    return barcodes.data_matrix(document.barcode_text, CODE_FIELD)


def _is_linear(symbol: Symbol) -> bool:
    return len(symbol.rows) == 1


def _dots(symbol: Symbol | None, stock: Stock) -> Iterable[int]:
    """How many dots wide a module may be, the preferred number first."""
    if symbol is None:
        return (stock.modules.least_dots,)
    room = stock.width_mm - 2 * stock.margin_mm if _is_linear(symbol) else stock.barcode_room_mm
    most = barcodes.module_dots(symbol, room, stock.printer_dpi, stock.modules, CODE_FIELD)
    least = stock.modules.least_dots
    return (
        dots
        for dots in range(most, least - 1, -1)
        if dots == most or dots_mm(dots, stock.printer_dpi) >= stock.modules.least_mm
    )


def _too_long(plan: _Plan, stock: Stock) -> PrintRefused:
    worst = max(plan.parts, key=lambda part: part.height - part.usual)
    return PrintRefused(
        worst.field,
        f"the words do not fit on {stock.name} at the smallest type allowed there. "
        "Shorten them or use a larger label.",
    )


def _plan_at(
    document: LabelDocument, stock: Stock, symbol: Symbol | None, module: float, shrink: float
) -> _Plan:
    setting = Setting(stock, shrink, points(stock.width_mm - 2 * stock.margin_mm))
    void = (f"VOID: {document.void}",) if document.void else ()
    marks = [*document.notices, *document.flags]
    largest = Style(Face.BOLD, max(stock.name_pt), stock.text_pt[1], LEADING)
    foot = _foot(document, setting)
    code, beside = None, 0.0
    if symbol and _is_linear(symbol):
        foot.append(_bars(symbol, module, setting))
    elif symbol:
        code_style = Style(Face.SEMIBOLD, stock.text_pt[1], stock.caption_pt[1], LEADING)
        words = _code_words(symbol.text, document.gs1_prefix, code_style, stock)
        code = _code(symbol, module, words, stock)
        beside = COLUMN_GAP + max((len(symbol.rows) + symbol.quiet) * module, words.width)
    return _Plan(
        contents=_contents(document, replace(setting, width=setting.width - beside)),
        flags=[
            reversed_part(setting, "void", void, largest),
            reversed_part(setting, "notices and flags", marks, setting.style(Face.BOLD)),
        ],
        foot=foot,
        code=code,
        room=points(stock.height_mm - 2 * stock.margin_mm),
    )


def _code(symbol: Symbol, module: float, words: Block, stock: Stock) -> Piece:
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


def _code_words(text: str, prefix: str, code_style: Style, stock: Stock) -> Block:
    """What the code says, under it; a long GS1 key breaks after the company's prefix and may
    be wider than the symbol, any other is broken anywhere."""
    try:
        return fit(CODE_FIELD, text, code_style, points(stock.barcode_room_mm), 2)
    except PrintRefused:
        broken = text.replace(prefix, f"{prefix} ", 1) if prefix else text
        return fit(CODE_FIELD, broken, code_style, points(stock.width_mm * WIDE_CODE))


def _bars(symbol: Symbol, module: float, setting: Setting) -> Part:
    """A linear code over the whole width, on whole dots from the label's left edge."""
    stock = setting.stock
    code_style = setting.style(Face.SEMIBOLD).at(stock.text_pt[1])
    words = fit(CODE_FIELD, symbol.text, code_style, setting.width)
    bars = BAR_HEIGHT - (BAR_HEIGHT - LEAST_BAR) * setting.shrink

    def paint(canvas: Any, left: float, top: float) -> None:
        start = down_to_dot(left + symbol.quiet * module + BAR_SLACK, stock.printer_dpi)
        barcodes.draw(canvas, symbol, start, top, module, bars)
        paint_block(canvas, words, start, top - bars)

    height = bars + words.height
    return Part(CODE_FIELD, height, height, paint)


def _contents(document: LabelDocument, setting: Setting) -> list[Part]:
    name = Style(Face.BOLD, *setting.stock.name_pt, 1.1)
    count = _joined(document.quantity, document.item_number)
    packing = _joined(document.package, document.single_or_double, document.method)
    strong, text = setting.style(Face.SEMIBOLD), setting.style(Face.REGULAR)
    what = named(document.item_number, document.what, name.face)
    return [
        text_part(setting, "contents", what, name),
        text_part(setting, "quantity and item number", count, strong),
        text_part(setting, "package and method", packing, text),
    ]


def _foot(document: LabelDocument, setting: Setting) -> list[Part]:
    to = f"For: {document.department}" if document.department else ""
    packed = _joined(document.packed_words, to)
    lot_words = f"Lot {document.lot_number}" if document.lot_number else ""
    shelf = "" if document.void else document.shelf_words
    strong, text = setting.style(Face.SEMIBOLD), setting.style(Face.REGULAR)
    return [
        text_part(setting, "packer and department", packed, strong),
        *write_in_parts(setting, document.load_fields),
        text_part(setting, "lot number", lot_words, strong),
        text_part(setting, "statement", shelf, text),
    ]


def _joined(*words: str) -> str:
    """The words given, on one line with a raised dot between them.

    >>> _joined("1 piece", "", "NH-1804")
    '1 piece · NH-1804'
    """
    return " · ".join(part for part in words if part.strip())


def _paint(canvas: Any, plan: _Plan, stock: Stock, *, struck: bool) -> None:
    margin = points(stock.margin_mm)
    top = points(stock.height_mm) - margin
    canvas.setStrokeGray(0)
    if struck:  # under the words: they say why, and stay readable
        _strike(canvas, stock)
    paint_stack(canvas, plan.contents, margin, top, GAP)
    if plan.code:
        plan.code.paint(canvas, points(stock.width_mm) - margin, top)
    top -= plan.middle + GAP
    paint_stack(canvas, plan.flags, margin, top, GAP)
    paint_stack(canvas, plan.foot, margin, margin + stack_height(plan.foot, GAP), GAP)


def _strike(canvas: Any, stock: Stock) -> None:
    """Two lines from corner to corner: nobody takes the label for a good one."""
    margin = points(stock.margin_mm)
    right, top = points(stock.width_mm) - margin, points(stock.height_mm) - margin
    canvas.setLineWidth(STRIKE)
    canvas.line(margin, margin, right, top)
    canvas.line(margin, top, right, margin)

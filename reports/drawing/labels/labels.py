"""Labels as PDF: a page of exactly the label's size, or sheets of labels."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any, BinaryIO

from reports.documents.labels import AnyLabel, LabelDocument
from reports.documents.papers import NotPrinted
from reports.drawing.files import Progress, new_canvas, paper_points
from reports.drawing.fitting import PrintRefused, Style, fit, on_one_line
from reports.drawing.fonts import Face
from reports.drawing.labels.packages import GAP, Plan, plan_of
from reports.drawing.labels.parts import LEADING
from reports.drawing.labels.shelves import ShelfPlan, plan_of_shelf
from reports.drawing.measures import points
from reports.drawing.painting import PADDING, box_height, paint_down, paint_reversed
from reports.drawing.stocks import Stock


def title_of(document: AnyLabel) -> str:
    """What the file of a label is called."""
    kind = "Label" if isinstance(document, LabelDocument) else "Shelf label"
    return f"{kind} {': '.join(named(document))}"


def named(document: AnyLabel) -> tuple[str, str]:
    """The code of a label and what it is of."""
    if isinstance(document, LabelDocument):
        return document.barcode_text, document.what
    return document.number, document.name


def draw_labels(documents: Iterable[AnyLabel | NotPrinted], stock: Stock, **options: Any) -> bytes:
    """As :func:`write_labels`, for a file that is small enough for the memory."""
    out = io.BytesIO()
    write_labels(out, documents, stock, **options)
    return out.getvalue()


def write_labels(
    out: BinaryIO,
    documents: Iterable[AnyLabel | NotPrinted],
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


def _paint_or_say(canvas: Any, document: AnyLabel | NotPrinted, stock: Stock) -> NotPrinted | None:
    """The label; else, and returned, what stands in its place."""
    if not isinstance(document, NotPrinted):
        try:
            planned(document, stock).paint(canvas)
        except PrintRefused as problem:
            document = NotPrinted(*named(document), str(problem))
        else:
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


def planned(document: AnyLabel, stock: Stock) -> Plan | ShelfPlan:
    """A label as it will be drawn; what gave way is no longer in its plan's document."""
    if isinstance(document, LabelDocument):
        return plan_of(document, stock)
    return plan_of_shelf(document, stock)


def _page(stock: Stock) -> tuple[float, float]:
    if stock.grid:
        return paper_points(stock.grid.paper)
    return points(stock.width_mm), points(stock.height_mm)

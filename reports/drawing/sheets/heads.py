"""The head of a count sheet's first page: what set this is, and what to read first."""

from __future__ import annotations

from typing import Any

from reports.documents.papers import CountSheetDocument
from reports.drawing import barcodes
from reports.drawing.fitting import Style, fit, fit_or_smallest
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, paint_block, paint_to_the_right, stacked
from reports.drawing.sheets.parts import INSET, RULE, box, fact

HOSPITAL = Style(Face.REGULAR, 10.0, 8.0, 1.3)
TITLE = Style(Face.BOLD, 22.0, 13.0, 1.12)
CODE = Style(Face.SEMIBOLD, 10.0, 8.0, 1.2)
MODULE = points(0.5)  # our choice for office printers; twice the GS1 floor of 0.254 mm
USUAL_TITLE_LINES = 2
MOST_TITLE_LINES = 6
CODE_ROOM = points(34.0)
GAP = points(4.0)
FACT_GAP = points(5.0)
FACTS_A_ROW = 3
QUIET_STATUS = ("met", "does not apply", "under the limit", "no limit set", "")
"""States that are printed plainly; every other one is printed white on black."""


def head(document: CountSheetDocument, width: float) -> Piece:
    """Everything above the table, measured for ``width`` points."""
    title = _title(document, width)
    facts = stacked(_facts(document, width))
    notices = box("Read first", "notices", document.notices, width) if document.notices else None
    below = facts.height + points(2.0) + (notices.height + GAP if notices else 0.0) + points(1.5)

    def paint(canvas: Any, left: float, top: float) -> None:
        title.paint(canvas, left, top)
        top -= title.height + GAP * 0.5
        canvas.setLineWidth(RULE)
        canvas.line(left, top, left + width, top)
        top -= GAP * 0.5
        facts.paint(canvas, left, top)
        if notices:
            notices.paint(canvas, left, top - facts.height - points(2.0))

    return Piece(title.height + GAP + below, paint)


def _title(document: CountSheetDocument, width: float) -> Piece:
    """Hospital and name, and the barcode beside them."""
    room = width - CODE_ROOM - GAP
    hospital = fit("hospital", f"{document.hospital} · Count sheet", HOSPITAL, room)
    title = fit_or_smallest(
        "name of the set", document.set_name, TITLE, room, USUAL_TITLE_LINES, MOST_TITLE_LINES
    )
    symbol = barcodes.data_matrix(document.set_code, "set code")
    code = fit("set code", document.set_code, CODE, CODE_ROOM, 2)
    side, quiet = MODULE * len(symbol.rows), MODULE * symbol.quiet

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, hospital, left, top)
        paint_block(canvas, title, left, top - hospital.height)
        right = left + width
        barcodes.draw(canvas, symbol, right - side, top, MODULE)
        paint_to_the_right(canvas, code, right, top - side - quiet)

    return Piece(max(hospital.height + title.height, side + quiet + code.height), paint)


def _facts(document: CountSheetDocument, width: float) -> list[Piece]:
    """The grid of facts, row by row."""
    weight_words = document.gross_weight
    if document.weight_status.strip():
        weight_words = f"{document.gross_weight}: {document.weight_status}".lstrip(": ")
    loud = document.weight_status.strip().lower() not in QUIET_STATUS
    revision = f"{document.revision}, {document.revision_state}"
    given = [
        ("Service", document.service, False),
        ("Revision", revision, not document.is_current),
        ("Approval", document.approval, False),
        ("Packaging", document.packaging, False),
        ("Gross weight", weight_words, loud),
        ("Total", document.total_words, False),
    ]
    step = (width + FACT_GAP) / FACTS_A_ROW
    facts = [fact(caption, words, step - FACT_GAP - INSET, loud) for caption, words, loud in given]
    starts = range(0, len(facts), FACTS_A_ROW)
    return [_side_by_side(facts[start : start + FACTS_A_ROW], step) for start in starts]


def _side_by_side(facts: list[Piece], step: float) -> Piece:
    def paint(canvas: Any, left: float, top: float) -> None:
        for number, one in enumerate(facts):
            one.paint(canvas, left + number * step, top)

    return Piece(max(one.height for one in facts) + points(2.2), paint)

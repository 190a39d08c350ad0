"""The end of a count sheet: the total, shortages and substitutions, signatures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reports.documents.papers import CountSheetDocument
from reports.drawing.fitting import Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, paint_block
from reports.drawing.sheets.parts import CAPTION, FACT, HAIRLINE, INSET, RULE, box

TOTAL = Style(Face.BOLD, 11.0, 9.0, 1.2)
WRITE_IN = points(9.0)
EMPTY_LINES = 3
GAP = points(4.0)
SIGN_HEIGHT = points(14.0)
SIGN_FIELDS = (("Assembled by", 3.0), ("Checked by", 3.0), ("Date", 2.0))


def ending(document: CountSheetDocument, width: float) -> Piece:
    """The total, the box for shortages and the signatures: ``width`` points, on one page."""
    total = fit("total", f"Total: {document.total_words}", TOTAL, width)
    shortages = _shortages(document.shortages, width)

    def paint(canvas: Any, left: float, top: float) -> None:
        top -= GAP * 0.6
        paint_block(canvas, total, left, top)
        top -= total.height + GAP
        shortages.paint(canvas, left, top)
        _paint_signatures(canvas, document.signed, left, top - shortages.height, width)

    return Piece(GAP * 3 + total.height + shortages.height + SIGN_HEIGHT, paint)


def _shortages(sentences: Sequence[str], width: float) -> Piece:
    """What is known to be short, and lines to write more."""
    lines = EMPTY_LINES * WRITE_IN + INSET * 0.7
    ruled = box("Shortages and substitutions", "shortages", sentences, width, lines)

    def paint(canvas: Any, left: float, top: float) -> None:
        ruled.paint(canvas, left, top)
        canvas.setLineWidth(HAIRLINE)
        line = top - ruled.height + INSET * 1.2
        for _ in range(EMPTY_LINES):
            canvas.line(left + INSET, line, left + width - INSET, line)
            line += WRITE_IN

    return Piece(ruled.height, paint)


def _paint_signatures(
    canvas: Any, signed: Sequence[str], left: float, top: float, width: float
) -> None:
    gap = points(6.0)
    spare = width - gap * (len(SIGN_FIELDS) - 1)
    share = spare / sum(weight for _, weight in SIGN_FIELDS)
    rule = top - SIGN_HEIGHT
    canvas.setLineWidth(RULE)
    names = (*signed, *[""] * len(SIGN_FIELDS))
    for (words, weight), name in zip(SIGN_FIELDS, names, strict=False):
        canvas.line(left, rule, left + share * weight, rule)
        paint_block(canvas, fit("signature", words, CAPTION, share * weight, 1), left, rule - 2)
        given = fit(words.lower(), name, FACT, share * weight, 2)
        paint_block(canvas, given, left, rule + given.height + 2)
        left += share * weight + gap

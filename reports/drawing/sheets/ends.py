"""The end of a count sheet: the total, shortages and substitutions, signatures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reports.documents.papers import CountSheetDocument
from reports.drawing.fitting import Block, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import paint_block
from reports.drawing.sheets.parts import CAPTION, FACT, HAIRLINE, RULE, bullets

TOTAL = Style(Face.BOLD, 11.0, 9.0, 1.2)
BOX_TITLE = Style(Face.BOLD, 10.0, 10.0, 1.3)
WRITE_IN = points(9.0)
EMPTY_LINES = 3
INSET = points(3.0)
GAP = points(4.0)
SIGN_HEIGHT = points(14.0)
SIGN_FIELDS = (("Assembled by", 3.0), ("Checked by", 3.0), ("Date", 2.0))


@dataclass(frozen=True, slots=True)
class Ending:
    """The measured end of the sheet; kept together on one page. In points."""

    total: Block
    title: Block
    shortages: tuple[Block, ...]
    width: float
    signed: tuple[str, ...] = ()

    @property
    def box_height(self) -> float:
        """The height of the box for shortages and substitutions."""
        words = sum(block.height for block in self.shortages)
        return self.title.height + words + EMPTY_LINES * WRITE_IN + 2 * INSET

    @property
    def height(self) -> float:
        """The height of the total, the box and the signature lines."""
        return GAP * 3 + self.total.height + self.box_height + SIGN_HEIGHT


def ending(document: CountSheetDocument, width: float) -> Ending:
    """The end for ``document``, measured for ``width`` points."""
    return Ending(
        total=fit("total", f"Total: {document.total_words}", TOTAL, width),
        title=fit("box", "Shortages and substitutions", BOX_TITLE, width),
        shortages=tuple(bullets("shortages", document.shortages, width - 2 * INSET)),
        width=width,
        signed=document.signed,
    )


def paint_ending(canvas: Any, content: Ending, left: float, top: float) -> None:
    """The end from ``top`` downwards."""
    top -= GAP * 0.6
    paint_block(canvas, content.total, left, top)
    top -= content.total.height + GAP
    _paint_shortages(canvas, content, left, top)
    _paint_signatures(canvas, content, left, top - content.box_height)


def _paint_shortages(canvas: Any, content: Ending, left: float, top: float) -> None:
    canvas.setLineWidth(RULE)
    canvas.rect(left, top - content.box_height, content.width, content.box_height)
    top -= INSET * 0.8
    paint_block(canvas, content.title, left + INSET, top)
    top -= content.title.height
    for block in content.shortages:
        paint_block(canvas, block, left + INSET, top)
        top -= block.height
    canvas.setLineWidth(HAIRLINE)
    for _ in range(EMPTY_LINES):
        top -= WRITE_IN
        canvas.line(left + INSET, top, left + content.width - INSET, top)


def _paint_signatures(canvas: Any, content: Ending, left: float, top: float) -> None:
    gap = points(6.0)
    spare = content.width - gap * (len(SIGN_FIELDS) - 1)
    share = spare / sum(weight for _, weight in SIGN_FIELDS)
    rule = top - SIGN_HEIGHT
    canvas.setLineWidth(RULE)
    signed = (*content.signed, *[""] * len(SIGN_FIELDS))
    for (words, weight), name in zip(SIGN_FIELDS, signed, strict=False):
        canvas.line(left, rule, left + share * weight, rule)
        paint_block(canvas, fit("signature", words, CAPTION, share * weight, 1), left, rule - 2)
        given = fit(words.lower(), name, FACT, share * weight, 2)
        paint_block(canvas, given, left, rule + given.height + 2)
        left += share * weight + gap

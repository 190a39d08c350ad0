"""The head of a count sheet's first page: what set this is, and what to read first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reports.documents.papers import CountSheetDocument
from reports.drawing import barcodes
from reports.drawing.barcodes import Symbol
from reports.drawing.fitting import Block, PrintRefused, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import paint_block, paint_reversed, paint_to_the_right
from reports.drawing.sheets.parts import RULE, Fact, bullets, fact

HOSPITAL = Style(Face.REGULAR, 10.0, 8.0, 1.3)
TITLE = Style(Face.BOLD, 22.0, 13.0, 1.12)
CODE = Style(Face.SEMIBOLD, 10.0, 8.0, 1.2)
BOX_TITLE = Style(Face.BOLD, 10.0, 10.0, 1.3)
MODULE = points(0.5)  # our choice for office printers; twice the GS1 floor of 0.254 mm
USUAL_TITLE_LINES = 2
MOST_TITLE_LINES = 6
CODE_ROOM = points(34.0)
GAP = points(4.0)
FACT_GAP = points(5.0)
INSET = points(3.0)
FACTS_A_ROW = 3
QUIET_STATUS = ("met", "does not apply", "under the limit", "no limit set", "")
"""States that are printed plainly; every other one is printed white on black."""


@dataclass(frozen=True, slots=True)
class Head:
    """The measured head of the first page. Heights in points."""

    hospital: Block
    title: Block
    symbol: Symbol
    code: Block
    facts: tuple[tuple[Fact, ...], ...]
    notices: tuple[Block, ...]
    width: float

    @property
    def title_height(self) -> float:
        """The height of the title and of the barcode beside it, whichever is higher."""
        side = MODULE * (len(self.symbol.rows) + self.symbol.quiet)
        return max(self.hospital.height + self.title.height, side + self.code.height)

    @property
    def facts_height(self) -> float:
        """The height of the grid of facts."""
        return sum(max(one.height for one in line) + points(2.2) for line in self.facts)

    @property
    def notices_height(self) -> float:
        """The height of the box with the notices; none when there are no notices."""
        if not self.notices:
            return 0.0
        words = sum(block.height for block in self.notices)
        return words + BOX_TITLE.largest * BOX_TITLE.leading + INSET * 1.3

    @property
    def height(self) -> float:
        """The height of everything above the table."""
        notices = self.notices_height + GAP if self.notices else 0.0
        return self.title_height + GAP + self.facts_height + points(2.0) + notices + points(1.5)


def head(document: CountSheetDocument, left: float, width: float) -> Head:
    """The head for ``document``, measured for ``width`` points."""
    column = (width - FACT_GAP * (FACTS_A_ROW - 1)) / FACTS_A_ROW
    revision = f"{document.revision}, {document.revision_state}"
    weight_words = document.gross_weight
    if document.weight_status.strip():
        weight_words = f"{document.gross_weight}: {document.weight_status}".lstrip(": ")
    given = [
        ("Service", document.service, False),
        ("Revision", revision, not document.is_current),
        ("Approval", document.approval, False),
        ("Packaging", document.packaging, False),
        ("Gross weight", weight_words, _is_loud(document.weight_status)),
        ("Total", document.total_words, False),
    ]
    facts = [fact(caption, words, column - INSET, loud) for caption, words, loud in given]
    rows = tuple(
        tuple(facts[start : start + FACTS_A_ROW]) for start in range(0, len(facts), FACTS_A_ROW)
    )
    room = width - CODE_ROOM - GAP
    return Head(
        hospital=fit("hospital", f"{document.hospital} · Count sheet", HOSPITAL, room),
        title=_title(document.set_name, room),
        symbol=barcodes.data_matrix(document.set_code, "set code"),
        code=fit("set code", document.set_code, CODE, CODE_ROOM, 2),
        facts=rows,
        notices=tuple(bullets("notices", document.notices, width - 2 * INSET)),
        width=width,
    )


def _is_loud(weight_status: str) -> bool:
    return weight_status.strip().lower() not in QUIET_STATUS


def _title(name: str, width: float) -> Block:
    """The name as large as two lines allow; a long one on more lines, at the smallest size."""
    field = "name of the set"
    try:
        return fit(field, name, TITLE, width, USUAL_TITLE_LINES)
    except PrintRefused:
        small = Style(TITLE.face, TITLE.smallest, TITLE.smallest, TITLE.leading)
        return fit(field, name, small, width, MOST_TITLE_LINES)


def paint_head(canvas: Any, content: Head, left: float, top: float) -> None:
    """The head from ``top`` downwards."""
    paint_block(canvas, content.hospital, left, top)
    paint_block(canvas, content.title, left, top - content.hospital.height)
    _paint_code(canvas, content, left + content.width, top)
    top -= content.title_height + GAP * 0.5
    canvas.setLineWidth(RULE)
    canvas.line(left, top, left + content.width, top)
    top -= GAP * 0.5
    for line in content.facts:
        _paint_facts(canvas, line, left, top, content.width)
        top -= max(one.height for one in line) + points(2.2)
    top -= points(2.0)
    if content.notices:
        paint_box(canvas, "Read first", content.notices, left, top, content.width)


def _paint_code(canvas: Any, content: Head, right: float, top: float) -> None:
    side = MODULE * len(content.symbol.rows)
    barcodes.draw(canvas, content.symbol, right - side, top, MODULE)
    paint_to_the_right(canvas, content.code, right, top - side - MODULE * content.symbol.quiet)


def _paint_facts(
    canvas: Any, line: tuple[Fact, ...], left: float, top: float, width: float
) -> None:
    step = (width + FACT_GAP) / FACTS_A_ROW
    for number, one in enumerate(line):
        start = left + number * step
        paint_block(canvas, one.caption, start, top)
        if one.reversed:
            paint_reversed(canvas, one.words, start, top - one.caption.height + points(0.4))
        else:
            paint_block(canvas, one.words, start, top - one.caption.height)


def paint_box(
    canvas: Any, title: str, blocks: tuple[Block, ...], left: float, top: float, width: float
) -> None:
    """Sentences under a title in a ruled box."""
    words = sum(block.height for block in blocks)
    heading = fit("box", title, BOX_TITLE, width)
    height = words + heading.height + INSET * 1.3
    canvas.setLineWidth(RULE)
    canvas.rect(left, top - height, width, height, stroke=1, fill=0)
    top -= INSET * 0.8
    paint_block(canvas, heading, left + INSET, top)
    top -= heading.height
    for block in blocks:
        paint_block(canvas, block, left + INSET, top)
        top -= block.height

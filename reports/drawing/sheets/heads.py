"""The heads of a count sheet: what set this is, what is decided for it, what is missing from it."""

from __future__ import annotations

from typing import Any

from assembly.rules.telling.missing import missing_in_all, without_counts
from reports.documents.count_sheets import CountSheetDocument
from reports.drawing import barcodes
from reports.drawing.fitting import Style, fit, fit_or_smallest, on_one_line
from reports.drawing.fonts import Face, width
from reports.drawing.measures import points
from reports.drawing.painting import Piece, paint_block, paint_to_the_right, stacked
from reports.drawing.sheets.parts import INSET, RULE, box, fact, loud

HOSPITAL = Style(Face.REGULAR, 10.0, 8.0, 1.3)
TITLE = Style(Face.BOLD, 20.0, 13.0, 1.12)
CODE = Style(Face.SEMIBOLD, 10.0, 8.0, 1.2)
RUNNING = Style(Face.SEMIBOLD, 10.0, 7.0, 1.25)
RUNNING_LOUD = Style(Face.BOLD, 10.0, 7.0, 1.25)
MODULE = points(0.5)  # our choice for office printers; twice the GS1 floor of 0.254 mm
USUAL_TITLE_LINES = 2
MOST_TITLE_LINES = 6
CODE_ROOM = points(34.0)
GAP = points(4.0)
FACT_GAP = points(5.0)
FACTS_A_ROW = 3
MOST_SAID = 8
"""So many lines that are short are named at the top; all of them in their own cells."""


def head(document: CountSheetDocument, width: float) -> Piece:
    """Everything above the table, measured for ``width`` points."""
    warning = loud("missing", _warnings(document), width)
    pieces = [_title(document, width), _room(1.5)]
    if warning.height:
        pieces += [warning, _room(1.5)]
    pieces += [_rule(width), *_facts(document, width)]
    if document.notices:
        pieces += [box("Read first", "notices", document.notices, width), _room(2.5)]
    return stacked(pieces)


def running_head(document: CountSheetDocument, width: float) -> Piece:
    """Set, code and symbol again on a later page, with what is missing; of a long name only its
    first words, with dots."""
    symbol = barcodes.data_matrix_if_any(document.code)
    side = MODULE * len(symbol.rows)
    room = width - side - GAP
    code = fit("set code", document.code, RUNNING, room / 2)
    name = on_one_line("name of the set", document.set_name, RUNNING, room - code.width - GAP)
    warning = loud("missing", _in_one_line(document, width), width, RUNNING_LOUD)
    top_row = max(side + MODULE * symbol.quiet, name.height, code.height) + points(1.0)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, name, left, top)
        paint_to_the_right(canvas, code, left + room, top)
        barcodes.draw(canvas, symbol, left + width - side, top, MODULE)
        warning.paint(canvas, left, top - top_row)

    return Piece(top_row + warning.height + (points(1.5) if warning.height else 0.0), paint)


def _warnings(document: CountSheetDocument) -> list[str]:
    """Why it is not packed, and what is missing, a sentence a line."""
    said = [document.decided.stop_words, *document.missing[:MOST_SAID]]
    if (more := len(document.missing) - MOST_SAID) > 0:
        said.append(f"and {more} more line{'' if more == 1 else 's'}: see the black cells")
    return [words for words in said if words]


def _in_one_line(document: CountSheetDocument, room: float) -> list[str]:
    """The same in one line: in full, else without what is in, else how much is missing."""
    missing = document.missing
    if not missing:
        return [document.decided.stop] if document.decided.stop else []
    wordings = [missing, [without_counts(words) for words in missing]]
    for each in wordings:
        words = "; ".join(each)
        if width(words, RUNNING_LOUD.face, RUNNING_LOUD.largest) <= room - 2 * INSET:
            return [words]
    return [f"{missing_in_all(missing)}: see page 1"]


def _title(document: CountSheetDocument, width: float) -> Piece:
    """Hospital and name, and the barcode beside them."""
    room = width - CODE_ROOM - GAP
    what = f"Count sheet {document.set_code}" if document.package_code else "Count sheet"
    whose = " · ".join(filter(None, (document.hospital, document.service, what)))
    hospital = fit("hospital and service", whose, HOSPITAL, room)
    title = fit_or_smallest(
        "name of the set", document.set_name, TITLE, room, USUAL_TITLE_LINES, MOST_TITLE_LINES
    )
    symbol = barcodes.data_matrix_if_any(document.code)
    code = fit("set code", document.code, CODE, CODE_ROOM)
    side, quiet = MODULE * len(symbol.rows), MODULE * symbol.quiet

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, hospital, left, top)
        paint_block(canvas, title, left, top - hospital.height)
        right = left + width
        barcodes.draw(canvas, symbol, right - side, top, MODULE)
        paint_to_the_right(canvas, code, right, top - side - quiet)

    return Piece(max(hospital.height + title.height, side + quiet + code.height), paint)


def _facts(document: CountSheetDocument, width: float) -> list[Piece]:
    """The grid of facts, row by row: what is decided first, then what sheet this is."""
    decided = document.decided
    revision = f"{document.revision}, {document.revision_state}"
    given = [
        ("Packed in", decided.package, False),
        ("Cycle", decided.cycle, False),
        (decided.weighed, decided.weight, not decided.weight_holds),
        *((caption, words, False) for caption, words in document.run),
        ("Revision", revision, not document.is_current),
        ("Approved by", document.approval, False),
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

    return Piece(max(one.height for one in facts) + points(1.8), paint)


def _room(mm: float) -> Piece:
    return Piece(points(mm), lambda canvas, left, top: None)


def _rule(width: float) -> Piece:
    def paint(canvas: Any, left: float, top: float) -> None:
        canvas.setLineWidth(RULE)
        canvas.line(left, top, left + width, top)

    return Piece(points(1.5), paint)

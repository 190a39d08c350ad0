"""The end of a count sheet: the total, room for shortages, signatures of assembly and OR."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assembly.rules.drawing.shapes import Scene
from reports.documents.count_sheets import CountSheetDocument
from reports.drawing.fitting import PrintRefused, Style, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import BASELINE, Piece, paint_block, side_by_side, stacked
from reports.drawing.scenes import height_on_paper, paint_scene, scale_for
from reports.drawing.sheets.parts import CAPTION, FACT, GROUP, HAIRLINE, INSET, OR, RULE, box

TOTAL = Style(Face.BOLD, 11.0, 9.0, 1.2)
WRITE_IN = points(8.0)
LEAST_LINES, MOST_LINES = 1, 3
"""To write shortages on: as many as the last page has room for."""
GAP = points(2.0)
SIGN_HEIGHT = points(11.5)
FIELD_GAP = points(5.0)
LEAST_TYPE = 7.0
"""Points, of the figures in a drawing of a layer."""
MOST_LAYER = points(60.0)
TICK = points(4.0)
CORRECT = "Count correct"

Field = tuple[str, float, str]
"""A caption, its share of the width, and what already stands on its line."""


def ending(document: CountSheetDocument, width: float, spare: float = 0.0) -> Piece:
    """The total, the box for shortages and the signatures: ``width`` points, on one page.

    Where ``spare`` points are left on it, the box has more lines to write on.
    """
    drawn = _layers(document.layers, width, spare)
    spare -= drawn.height
    lines = min(MOST_LINES, LEAST_LINES + int(max(spare, 0.0) / WRITE_IN))
    signed = document.signed
    here = (
        ("Assembled by", 3.0, signed.assembled_by),
        ("Date, time", 2.0, signed.assembled_at),
        ("Checked by", 3.0, signed.checked_by),
        ("Date, time", 2.0, signed.checked_at),
    )
    in_the_or = (("Scrub", 3.0, ""), ("Circulating", 3.0, ""), ("Date, time", 2.0, ""))
    pieces = [_total(document, width), drawn, _to_write(width, lines), _signatures("", here, width)]
    if document.or_columns:
        pieces.append(_signatures(OR, in_the_or, width))
    return stacked(pieces)


def _total(document: CountSheetDocument, width: float) -> Piece:
    total = fit("total", f"Total: {document.total_words}", TOTAL, width)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, total, left, top - GAP)

    return Piece(total.height + 2 * GAP, paint)


def _layers(scenes: Sequence[Scene], width: float, room: float) -> Piece:
    """The layers beside and under each other, all of one scale; nothing where there is no room."""
    rows = [scenes[n : n + 2] for n in range(0, len(scenes), 2)]
    each = (width - FIELD_GAP) / 2
    high = min(room / len(rows) - GAP, MOST_LAYER) if rows else 0.0
    try:
        scale = max((scale_for(scene, each, high, LEAST_TYPE) for scene in scenes), default=1.0)
    except PrintRefused:
        rows = []
    pieces = [side_by_side([_drawn(scene, scale) for scene in row], each + FIELD_GAP)
              for row in rows]  # fmt: skip
    return stacked(pieces)


def _drawn(scene: Scene, scale: float) -> Piece:
    return Piece(
        height_on_paper(scene, scale) + GAP,
        lambda canvas, left, top: paint_scene(canvas, scene, left, top, scale, LEAST_TYPE),
    )


def _to_write(width: float, lines: int) -> Piece:
    """Lines to write what is found to be short or other than listed."""
    room = lines * WRITE_IN + INSET * 0.7
    ruled = box("Shortages and substitutions", "shortages", (), width, room)

    def paint(canvas: Any, left: float, top: float) -> None:
        ruled.paint(canvas, left, top)
        canvas.setLineWidth(HAIRLINE)
        line = top - ruled.height + INSET * 1.2
        for _ in range(lines):
            canvas.line(left + INSET, line, left + width - INSET, line)
            line += WRITE_IN

    return Piece(ruled.height, paint)


def _signatures(group: str, fields: Sequence[Field], width: float) -> Piece:
    """Ruled lines to sign, each over its caption; the OR's have a name before them and the
    answer whether the count was correct at their end."""
    answer = _answer() if group else Piece(0.0, lambda canvas, left, top: None)
    before = points(11.0) if group else 0.0
    after = points(39.0) if group else 0.0
    spare = width - before - after - FIELD_GAP * (len(fields) - 1)
    share = spare / sum(weight for _, weight, _ in fields)

    def paint(canvas: Any, left: float, top: float) -> None:
        rule = top - SIGN_HEIGHT + CAPTION.largest * CAPTION.leading
        if group:
            words = fit("heading", group, GROUP, before, 1)
            paint_block(canvas, words, left, rule + words.size * BASELINE)
            answer.paint(canvas, left + width - after + FIELD_GAP, rule)
        left += before
        for caption, weight, given in fields:
            canvas.setLineWidth(RULE)
            canvas.line(left, rule, left + share * weight, rule)
            under = fit("signature", caption, CAPTION, share * weight, 1)
            paint_block(canvas, under, left, rule - 1)
            name = fit(caption.lower(), given, FACT, share * weight)
            paint_block(canvas, name, left, rule + name.height + 1)
            left += share * weight + FIELD_GAP

    return Piece(SIGN_HEIGHT, paint)


def _answer() -> Piece:
    """Yes or no to tick, from the rule that one signs on."""

    def paint(canvas: Any, left: float, rule: float) -> None:
        under = fit("signature", CORRECT, CAPTION, points(34), 1)
        paint_block(canvas, under, left, rule - 1)
        canvas.setLineWidth(RULE)
        for words in ("yes", "no"):
            canvas.rect(left, rule + 1, TICK, TICK)
            block = fit("signature", words, FACT, points(12), 1)
            paint_block(canvas, block, left + TICK + points(1.2), rule + 1 + block.height)
            left += points(15)

    return Piece(TICK, paint)

"""The parts a label is stacked from: text, reversed words, fields to write in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from reports.drawing.fitting import Block, PrintRefused, Style, at_size, fit
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import (
    BASELINE,
    PADDING,
    Paint,
    box_height,
    paint_block,
    paint_reversed,
)
from reports.drawing.stocks import Stock

HAIRLINE = 0.7
LEADING = 1.15
CHIP_GAP = points(0.8)
UNDER_RULE = points(0.9)
CAPTION_GAP = points(1.0)
FIELD_GAP = points(2.0)
OVER_RULE = points(0.7)
LEAST_RULE_MM = 8.0
LEAST_RULES_MM = {"Lot": 18.0, "Date": 13.0}
"""A shorter rule takes no handwritten number, lot or date. Our own bounds."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the stack. ``paint(canvas, left, top)`` draws it; all in points.

    ``usual`` is the height it has when the label's words are of ordinary length.
    """

    field: str
    height: float
    usual: float
    paint: Paint


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """How all parts of a label are set: the stock, how far they shrink (0 to 1), the width. Each
    is itself alone: what is kept by it is found without comparing its stock."""

    stock: Stock
    shrink: float
    width: float

    def style(self, face: Face) -> Style:
        """The stock's text in ``face``."""
        return Style(face, *self.stock.text_pt, LEADING)

    def block(self, field: str, text: str, style: Style, less: float = 0.0) -> Block:
        """Words at the size that all type is shrunk to, ``less`` points narrower."""
        return at_size(field, text, style, style.between(self.shrink), self.width - less)


def text_part(setting: Setting, field: str, text: str, style: Style) -> Part:
    """Words over the whole width; no height when there are none."""
    block = setting.block(field, text, style)

    def paint(canvas: Any, left: float, top: float) -> None:
        paint_block(canvas, block, left, top)

    return Part(field, block.height, block.step, paint)


def reversed_part(
    setting: Setting, field: str, texts: Sequence[str], style: Style, *, one: bool = False
) -> Part:
    """Words in white on black boxes, side by side and on as many rows as they need; or in ``one``
    box under each other."""
    blocks = [setting.block(field, text, style, 2 * PADDING) for text in texts if text.strip()]
    if one:
        lines = tuple(line for block in blocks for line in block.lines)
        blocks = [replace(blocks[0], lines=lines)]
    rows = list(_rows(blocks, setting.width))
    height = sum(_row_height(row) for row in rows) + CHIP_GAP * max(0, len(rows) - 1)

    def paint(canvas: Any, left: float, top: float) -> None:
        for row in rows:
            place = left
            for block in row:
                paint_reversed(canvas, block, place, top)
                place += block.width + 2 * PADDING + CHIP_GAP
            top -= _row_height(row) + CHIP_GAP

    usual = style.between(setting.shrink) * style.leading + PADDING
    return Part(field, height, usual, paint)


def _rows(blocks: Sequence[Block], width: float) -> Iterator[list[Block]]:
    row: list[Block] = []
    taken = 0.0
    for block in blocks:
        needed = block.width + 2 * PADDING
        if row and taken + CHIP_GAP + needed > width:
            yield row
            row, taken = [], 0.0
        taken += needed + (CHIP_GAP if row else 0.0)
        row.append(block)
    if row:
        yield row


def _row_height(row: Sequence[Block]) -> float:
    return max(box_height(block) for block in row)


def write_in_parts(setting: Setting, fields: Sequence[tuple[str, str]]) -> list[Part]:
    """Ruled fields side by side: the words given, or a rule that is long enough to write on.

    No part without fields; PrintRefused where there is no room for the rules or the words.
    """
    return [_write_in(setting, tuple(fields))] if fields else []


@lru_cache(maxsize=64)
def _write_in(setting: Setting, fields: Sequence[tuple[str, str]]) -> Part:
    """The fields as one part: measured once for all labels on which they are blank."""
    caption = Style(Face.REGULAR, *setting.stock.caption_pt, LEADING)
    value, height = setting.style(Face.SEMIBOLD), points(setting.stock.write_in_mm)
    captions = [setting.block(name.lower(), name, caption) for name, _ in fields]
    values = [_value(setting, value, name, words) for name, words in fields]
    rules = _rules(setting, fields, captions, values)
    tallest = UNDER_RULE + max([height] + [words.height + OVER_RULE for words in values])

    def paint(canvas: Any, left: float, top: float) -> None:
        bottom = top - tallest + UNDER_RULE
        canvas.setLineWidth(HAIRLINE)
        for label, words, length in zip(captions, values, rules, strict=True):
            rule = left + label.width + CAPTION_GAP
            for block, start in ((label, left), (words, rule)):
                paint_block(canvas, block, start, bottom + OVER_RULE + block.size * BASELINE)
            canvas.line(rule, bottom, rule + length, bottom)
            left = rule + length + FIELD_GAP

    field = ", ".join(name.lower() for name, _ in fields)
    return Part(field, tallest, height + UNDER_RULE, paint)


def _value(setting: Setting, style: Style, name: str, words: str) -> Block:
    """Words on one line, at the size that all type is shrunk to, else at the smallest."""
    block = setting.block(name.lower(), words, style)
    if len(block.lines) <= 1:
        return block
    return fit(name.lower(), words, style.at(style.smallest), setting.width, 1)


def _rules(
    setting: Setting, fields: Sequence[tuple[str, str]], captions: Sequence[Block],
    values: Sequence[Block],
) -> list[float]:  # fmt: skip
    """How long each rule is: what it needs, and an equal share of what is left."""
    needed = [
        words.width or points(LEAST_RULES_MM.get(name, LEAST_RULE_MM))
        for (name, _), words in zip(fields, values, strict=True)
    ]
    taken = sum(label.width + CAPTION_GAP for label in captions)
    left = setting.width - taken - FIELD_GAP * (len(fields) - 1) - sum(needed)
    if left >= 0:
        return [length + left / len(fields) for length in needed]
    field = ", ".join(name.lower() for name, _ in fields)
    raise PrintRefused(field, f"{setting.stock.name} has no room to write them on. "
                       "Use a larger label, or print it from the load.")  # fmt: skip


def stack_height(parts: Sequence[Part], gap: float) -> float:
    """The height of ``parts`` on top of each other, leaving out those without height."""
    heights = [part.height for part in parts if part.height > 0]
    return sum(heights) + gap * max(0, len(heights) - 1)


def paint_stack(canvas: Any, parts: Sequence[Part], left: float, top: float, gap: float) -> None:
    """``parts`` from ``top`` downwards."""
    for part in parts:
        if part.height > 0:
            part.paint(canvas, left, top)
            top -= part.height + gap

"""The label of a package, planned on a stock.

From the top: the contents beside the code, then flags and what is not as it should be (white on
black); at the bottom who packed it, the fields that are filled in when the package is loaded, and
how long it stays sterile. The code is as large as leaves the type at least half of its range; then
all type shrinks together; then what gives way gives way (:mod:`reports.documents.giving_way`). When
the rest does not fit at the stock's smallest sizes, the label is not printed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import Enum
from functools import cached_property, lru_cache
from operator import attrgetter
from typing import Any, NamedTuple

from reports.documents.giving_way import WHAT_IT_IS, wordings
from reports.documents.labels import LabelDocument
from reports.drawing.fitting import PrintRefused, Style
from reports.drawing.fonts import Face, named
from reports.drawing.labels.codes import Code, code_of, placed
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
from reports.drawing.measures import points
from reports.drawing.painting import Piece
from reports.drawing.stocks import Stock

GAP = points(0.5)
SHRINK_STEPS = 6
HALF = SHRINK_STEPS // 2
FAR = 1.3
"""So many times the room a label may be too high for the next sizes to be tried at once."""
STRIKE = 1.6


class Boxed(Enum):
    """How what stands white on black is parted, from the most room to the least: each mark in a
    box of its own; all in one box, each on a line of its own; one after the other."""

    APART, IN_LINES, RUN_ON = range(3)


@dataclass(frozen=True)
class Plan:
    """The parts at one size of type and code, and whether they fit together."""

    document: LabelDocument
    stock: Stock
    contents: list[Part]
    flags: list[Part]
    foot: list[Part]
    code: Piece | None
    code_mm: tuple[float, float] = (0.0, 0.0)
    """How wide a module and the whole code is, quiet zones left out."""

    @property
    def parts(self) -> list[Part]:
        return [*self.contents, *self.flags, *self.foot]

    @cached_property
    def middle(self) -> float:
        """The height of the contents and of the code beside them, whichever is higher."""
        return max(stack_height(self.contents, GAP), self.code.height if self.code else 0.0)

    @cached_property
    def height(self) -> float:
        return self.middle + stack_height([*self.flags, *self.foot], GAP) + GAP

    @property
    def room(self) -> float:
        return points(self.stock.height_mm - 2 * self.stock.margin_mm)

    @property
    def fits(self) -> bool:
        return self.height <= self.room

    def paint(self, canvas: Any) -> None:
        """The label, its bottom left corner at 0, 0."""
        stock = self.stock
        margin = points(stock.margin_mm)
        top = points(stock.height_mm) - margin
        canvas.setStrokeGray(0)
        if self.document.void:  # under the words: they say why, and stay readable
            _strike(canvas, stock)
        paint_stack(canvas, self.contents, margin, top, GAP)
        if self.code:
            self.code.paint(canvas, points(stock.width_mm) - margin, top)
        top -= self.middle + GAP
        paint_stack(canvas, self.flags, margin, top, GAP)
        paint_stack(canvas, self.foot, margin, margin + stack_height(self.foot, GAP), GAP)


def plan_of(document: LabelDocument, stock: Stock) -> Plan:
    """The fullest wording of a label that fits, at its largest.

    PrintRefused names the field that is too long even where all gave way that may, or that cannot
    be a barcode.
    """
    problem: PrintRefused | None = None
    what = named(document.item_number, document.what, Face.BOLD)
    if what != document.what:
        document = replace(document, what=what)
    for wording in wordings(document):
        try:
            return _largest(wording, stock)
        except PrintRefused as refusal:
            problem = refusal
    assert problem is not None
    raise problem


def _largest(document: LabelDocument, stock: Stock) -> Plan:
    """The plan with the largest code and type that fits; PrintRefused where the smallest does
    not. That one is planned before others where the largest is far from fitting."""
    code = code_of(document, stock)
    below = _Below(document, stock, _settings(stock), _words(document))
    smallest: Plan | None = None
    for number, (dots, step, boxed) in enumerate(_sizes(code)):
        plan = _tried(below, code, dots, step, boxed=boxed)
        if plan and plan.fits:
            return plan
        far = plan is None or plan.height > FAR * plan.room
        if smallest is None and (far or number >= HALF):
            least = code.dots[-1] if code else 0
            smallest = _plan_at(below, code, least, SHRINK_STEPS, boxed=Boxed.RUN_ON)
            if not smallest.fits:
                raise _too_long(smallest)
    assert smallest is not None
    return smallest


def _tried(below: _Below, code: Code | None, dots: int, step: int, *, boxed: Boxed) -> Plan | None:
    try:
        return _plan_at(below, code, dots, step, boxed=boxed)
    except PrintRefused:  # of a word that is too wide at this size
        return None


def _sizes(code: Code | None) -> Iterator[tuple[int, int, Boxed]]:
    """Dots of a module, steps of shrinking, and how the marks stand in their boxes, in the order
    in which they are tried. The last of all is the smallest."""
    dots = code.dots if code else (0,)
    for many in dots:
        yield from ((many, step, Boxed.APART) for step in range(HALF + 1))
    small = range(HALF + 1, SHRINK_STEPS + 1)
    yield from ((dots[-1], step, boxed) for boxed in Boxed for step in small)


@dataclass(frozen=True, slots=True)
class _Below:
    """What stands below the contents at each step of shrinking, whatever the size of the code:
    measured once."""

    document: LabelDocument
    stock: Stock
    settings: tuple[Setting, ...]
    words: _Words
    kept: dict[tuple[int, Boxed], tuple[list[Part], tuple[Part, ...]]] = field(default_factory=dict)

    def at(self, step: int, *, boxed: Boxed) -> tuple[list[Part], tuple[Part, ...]]:
        """The flags and the foot."""
        if (step, boxed) not in self.kept:
            setting = self.settings[step]
            flags = _flags(self.document, setting, boxed=boxed)
            self.kept[step, boxed] = flags, _foot(self.words, setting)
        return self.kept[step, boxed]


def _too_long(plan: Plan) -> PrintRefused:
    worst = max(plan.parts, key=lambda part: part.height - part.usual)
    return PrintRefused(
        worst.field,
        f"the words do not fit on {plan.stock.name} at the smallest type allowed there. "
        "Shorten them or use a larger label.",
    )


def _plan_at(below: _Below, code: Code | None, dots: int, step: int, *, boxed: Boxed) -> Plan:
    document, stock, setting = below.document, below.stock, below.settings[step]
    at = placed(code, dots, stock)
    beside = replace(setting, width=setting.width - at.width)
    contents, (flags, foot) = _contents(document, beside), below.at(step, boxed=boxed)
    plan = Plan(
        document=document,
        stock=stock,
        contents=contents,
        flags=flags,
        foot=[*foot, *([at.bars] if at.bars else [])],
        code=at.beside,
        code_mm=code.size_mm(dots, stock) if code else (0.0, 0.0),
    )
    if not (step > HALF and flags and plan.code):
        return plan
    try:
        within = [*contents, *_flags(document, beside, boxed=boxed)]
    except PrintRefused:  # of a word too wide for beside the code
        return plan
    return min(plan, replace(plan, contents=within, flags=[]), key=attrgetter("height"))


def _flags(document: LabelDocument, setting: Setting, *, boxed: Boxed) -> list[Part]:
    """What stands white on black."""
    stock = setting.stock
    parts = []
    if document.void:
        largest = Style(Face.BOLD, max(stock.name_pt), stock.text_pt[1], LEADING)
        parts.append(reversed_part(setting, "void", [f"VOID: {document.void}"], largest))
    if document.marks:
        bold, lines = setting.style(Face.BOLD), boxed is Boxed.IN_LINES
        marks = _marks(document, boxed)
        parts.append(reversed_part(setting, "notices and flags", marks, bold, one=lines))
    return parts


def _marks(document: LabelDocument, boxed: Boxed) -> tuple[str, ...]:
    """Each mark by itself; where they have a line each, what it is on one; or all as one."""
    if boxed is Boxed.APART:
        return document.marks
    if boxed is Boxed.RUN_ON:
        return (_joined(*document.marks),)
    short = [mark for mark in document.marks if mark in WHAT_IT_IS]
    return (_joined(*short), *(mark for mark in document.marks if mark not in short))


def _contents(document: LabelDocument, setting: Setting) -> list[Part]:
    name = Style(Face.BOLD, *setting.stock.name_pt, 1.1)
    packing = _joined(document.package, document.single_or_double, document.method)
    strong, text = setting.style(Face.SEMIBOLD), setting.style(Face.REGULAR)
    return _texts(
        setting,
        ("contents", document.what, name),
        ("quantity and item number", _joined(*document.count_words), strong),
        ("package and method", packing, text),
    )


def _texts(setting: Setting, *given: tuple[str, str, Style]) -> list[Part]:
    """A part for each that has words."""
    return [text_part(setting, *one) for one in given if one[1]]


class _Words(NamedTuple):
    """What stands at the bottom, in words: alike on many labels of a day."""

    packed: str
    to: str
    load: tuple[tuple[str, str], ...]
    lot: str
    shelf: str


def _words(document: LabelDocument) -> _Words:
    return _Words(
        document.packed_words,
        f"For: {document.department}" if document.department else "",
        tuple(document.load_fields),
        f"Lot {document.lot_number}" if document.lot_number else "",
        "" if document.void else document.shelf_words,
    )


@lru_cache(maxsize=64)
def _settings(stock: Stock) -> tuple[Setting, ...]:
    """The type of a label of this stock at each step of shrinking."""
    width = points(stock.width_mm - 2 * stock.margin_mm)
    return tuple(Setting(stock, step / SHRINK_STEPS, width) for step in range(SHRINK_STEPS + 1))


@lru_cache(maxsize=256)
def _foot(words: _Words, setting: Setting) -> tuple[Part, ...]:
    """What stands at the bottom, measured once for all labels on which it is the same."""
    return (
        *_packed(words, setting),
        *_load(words, setting),
        *_texts(setting, ("statement", words.shelf, setting.style(Face.REGULAR))),
    )


def _packed(words: _Words, setting: Setting) -> list[Part]:
    """Who packed it and where it goes: on one line, or each on its own."""
    strong, packed, to = setting.style(Face.SEMIBOLD), words.packed, words.to
    together = _texts(setting, ("packer and department", _joined(packed, to), strong))
    if all(one.height <= one.usual for one in together):
        return together
    return _texts(setting, ("packer", packed, strong), ("department", to, strong))


def _load(words: _Words, setting: Setting) -> list[Part]:
    """What is known of its load on a line, or ruled fields while one of them is to be written."""
    strong, stated, lot = setting.style(Face.SEMIBOLD), words.load, words.lot
    if all(said for _, said in stated):
        known = _joined(*(f"{name} {said}" for name, said in stated), lot)
        return _texts(setting, ("load and lot number", known, strong))
    return [*write_in_parts(setting, stated), *_texts(setting, ("lot number", lot, strong))]


def _joined(*words: str) -> str:
    """The words given, on one line with a raised dot between them.

    >>> _joined("1 piece", "", "NH-1804")
    '1 piece · NH-1804'
    """
    return " · ".join(part for part in words if part.strip())


def _strike(canvas: Any, stock: Stock) -> None:
    """Two lines from corner to corner: nobody takes the label for a good one."""
    margin = points(stock.margin_mm)
    right, top = points(stock.width_mm) - margin, points(stock.height_mm) - margin
    canvas.setLineWidth(STRIKE)
    canvas.line(margin, margin, right, top)
    canvas.line(margin, top, right, margin)

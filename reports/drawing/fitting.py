"""Text into room: it wraps, it shrinks to a stated smallest size, there a long word is broken
anywhere, and only what takes more lines than there are is refused.

Nothing is ever cut off, and nothing is drawn smaller than the style allows. What no typeface
shows stands as a mark (``fonts.shown``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from reports.documents.papers import PrintError
from reports.drawing import fonts
from reports.drawing.fonts import Face
from reports.drawing.measures import millimetres

SIZE_STEP = 0.25
SLACK = 1e-6
"""Points that sums of widths may be off, because numbers are rounded."""
_ANYWHERE = "\u3040-\u30ff\u3400-\u9fff\uf900-\ufaff\U00020000-\U0003ffff"
# After a hyphen or a slash before a letter: "self-seal", but never inside "3-0" or "1/2". And
# between signs of Chinese, Japanese and Korean, but before no closing punctuation.
_BREAKS = re.compile(rf"(?<=[-/])(?=[^\W\d])|(?<=[{_ANYWHERE}])(?=\w)|(?<=\w)(?=[{_ANYWHERE}])")
# What stays on one line: "MISSING 1 Péan", "18 cm", "3 x 4", "2 of 3", "30 x 11 mm", or a word.
_FIGURE = r"\d[\d.,/]*"
_UNIT = r"(?: (?:mm|cm|m|in|g|kg|ml|min|h|°C)(?!\w)[^ ]*)"
_MISSING = rf"(?:MISSING|SUBSTITUTE) {_FIGURE} [^ ]+"
_MANY = rf"{_FIGURE}(?: (?:[x×]|of) {_FIGURE})+{_UNIT}?(?= |$)"
_WORDS = re.compile(rf"{_MISSING}|{_MANY}|{_FIGURE}{_UNIT}|[^ ]+")
_SHOWN = 60


class PrintRefused(PrintError):  # noqa: N818
    """Something that cannot be printed honestly. Names the field and says why."""

    def __init__(self, field: str, reason: str) -> None:
        self.field, self.reason = field, reason
        super().__init__(f"Not printed. {field[:1].upper()}{field[1:]}: {reason}")


@dataclass(frozen=True, slots=True)
class Style:
    """A face with the largest and smallest size allowed (points) and its line spacing."""

    face: Face
    largest: float
    smallest: float
    leading: float = 1.2

    def sizes(self) -> Iterator[float]:
        """From the largest size down to the smallest, both included."""
        size = self.largest
        while size > self.smallest:
            yield size
            size -= SIZE_STEP
        yield self.smallest

    def at(self, size: float) -> Style:
        """The same face and spacing at one size."""
        return replace(self, largest=size, smallest=size)

    def between(self, shrink: float) -> float:
        """The size for ``shrink`` from 0 (largest) to 1 (smallest)."""
        return self.largest - (self.largest - self.smallest) * shrink


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of text with the size they are set in."""

    lines: tuple[str, ...]
    face: Face
    size: float
    leading: float

    @property
    def step(self) -> float:
        """From one baseline to the next, in points."""
        return self.size * self.leading

    @property
    def height(self) -> float:
        """The height of all lines, in points."""
        return self.step * len(self.lines)

    @property
    def width(self) -> float:
        """The width of the widest line, in points."""
        return max((fonts.width(line, self.face, self.size) for line in self.lines), default=0.0)


def _quoted(text: str) -> str:
    return f"“{text}”" if len(text) <= _SHOWN else f"“{text[:_SHOWN]}…”"


def wrap(
    text: str, face: Face, size: float, width: float, *, broken: bool = False
) -> tuple[str, ...] | None:
    """``text`` broken at spaces into lines of ``width`` points; None when that cannot be.

    A figure stays with its unit. A word wider than the line is broken after a hyphen or a
    slash, and anywhere where it may be ``broken``. A blank text has no lines.

    >>> wrap("Needle holder 18 cm", Face.REGULAR, 10, 75)
    ('Needle holder', '18 cm')
    >>> wrap("Knee tray 2 of 3", Face.REGULAR, 10, 60)
    ('Knee tray', '2 of 3')
    >>> wrap("A MISSING 1 Hook", Face.REGULAR, 10, 70)
    ('A', 'MISSING 1 Hook')
    >>> wrap("Self-retaining", Face.REGULAR, 10, 50)
    ('Self-', 'retaining')
    >>> wrap("Retaining", Face.REGULAR, 10, 30, broken=True)
    ('Retaini', 'ng')
    """
    lines: list[str] = []
    line, taken, width = "", 0.0, width + SLACK
    plain, space = fonts.is_plain(text, face), fonts.width(" ", face, size)
    if plain and (words := text.split()):  # most texts are short
        together = sum(fonts.width(word, face, size) for word in words)
        if together + space * (len(words) - 1) <= width:
            return (" ".join(words),)
    for gap, piece in _pieces(text, face, size, width, broken):
        wide = fonts.width(piece, face, size)
        joined = f"{line}{gap}{piece}" if line else piece
        if not line:
            room = wide
        elif plain:  # words come again and again, what is joined of them does not
            room = taken + (space if gap else 0.0) + wide
        else:
            room = fonts.width(joined, face, size)
        if room <= width:
            line, taken = joined, room
            continue
        if wide > width:
            return None
        if line:
            lines.append(line)
        line, taken = piece, wide
    return tuple([*lines, line] if line else lines)


def _pieces(
    text: str, face: Face, size: float, width: float, broken: bool
) -> Iterator[tuple[str, str]]:
    """What may not be broken any further, each with the gap before it."""
    for kept in _WORDS.findall(text):
        if fonts.width(kept, face, size) <= width:
            yield " ", kept
            continue
        for word in kept.split():
            for place, piece in enumerate(_parted(word, face, size, width, broken)):
                yield ("" if place else " "), piece


def _parted(word: str, face: Face, size: float, width: float, broken: bool) -> list[str]:
    """A word whole where it fits, else in parts; each sign by itself of a part that does not."""
    if fonts.width(word, face, size) <= width:
        return [word]
    parts: list[str] = []
    for part in _BREAKS.split(word):
        whole = not broken or fonts.width(part, face, size) <= width
        parts += [part] if whole else fonts.signs(part)
    return parts


@lru_cache(maxsize=fonts.KEPT_TEXTS)
def _fitted(text: str, style: Style, width: float, most_lines: int | None) -> Block | None:
    """``text`` at the largest size that fits; None when none does.

    Words are broken at the smallest size alone, where they cannot be whole.
    """
    for size in style.sizes():
        block = _set(text, style.face, size, style.leading, width, size <= style.smallest)
        if block and (most_lines is None or len(block.lines) <= most_lines):
            return block
    return None


@lru_cache(maxsize=fonts.KEPT_TEXTS)
def _set(
    text: str, face: Face, size: float, leading: float, width: float, broken: bool
) -> Block | None:
    """``text`` at one size; None where a word is too wide."""
    lines = wrap(fonts.shown(text, face), face, size, width, broken=broken)
    return None if lines is None else Block(lines, face, size, leading)


def at_size(field: str, text: str, style: Style, size: float, width: float) -> Block:
    """``text`` wrapped at ``size``, which has to be the style's smallest for a word to be broken.

    PrintRefused where a word is wider than ``width``: try it smaller.
    """
    block = _set(text, style.face, size, style.leading, width, size <= style.smallest)
    if block is None:
        raise PrintRefused(
            field,
            f"a word of {_quoted(fonts.shown(text, style.face))} is wider than the "
            f"{millimetres(width):.0f} mm there are, even at {size:g} pt. "
            "Shorten it or part it with a space.",
        )
    return block


def fit(field: str, text: str, style: Style, width: float, most_lines: int | None = None) -> Block:
    """``text`` at the largest size of ``style`` that keeps to ``width`` and ``most_lines``.

    PrintRefused, naming ``field``, when it does not fit at the smallest size either.
    """
    block = _fitted(text, style, width, most_lines)
    if block is not None:
        return block
    block = at_size(field, text, style, style.smallest, width)
    raise PrintRefused(
        field,
        f"{_quoted(fonts.tidied(text))} takes {len(block.lines)} lines at {style.smallest:g} pt, "
        f"the smallest size allowed here; there is room for {most_lines}. Shorten it.",
    )


def fit_or_smallest(
    field: str, text: str, style: Style, width: float, usual_lines: int, most_lines: int
) -> Block:
    """As large as the usual lines allow; a long text on more lines, at the smallest size."""
    try:
        return fit(field, text, style, width, usual_lines)
    except PrintRefused:
        return fit(field, text, style.at(style.smallest), width, most_lines)


def on_one_line(field: str, text: str, style: Style, width: float) -> Block:
    """``text`` on one line, or of a long one its first words with dots; it stands whole
    elsewhere."""
    whole = fit(field, text, style, width)
    if len(whole.lines) == 1:
        return whole
    words = whole.lines[0]
    while words and fonts.width(f"{words} …", whole.face, whole.size) > width:
        words = words.rpartition(" ")[0] or "".join(fonts.signs(words)[:-1])
    return Block((f"{words} …",), whole.face, whole.size, whole.leading)

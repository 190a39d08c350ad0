"""The typefaces: Source Sans (SIL Open Font License), from its installed package, and one for each
other script that is shown (``scripts.SCRIPTS``); what none shows stands as a mark.

The default figures of Source Sans all have one width, so that columns of numbers line up.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import ShapedStr, TTFont, shapeStr

from reports.drawing.directions import stretches
from reports.drawing.scripts import Script, script_of

SOURCE_SANS = "font_source_sans_pro"
KEPT_TEXTS = 1 << 14
"""Measured texts kept, some hundred bytes each: a run meets the same few thousand again."""
MARK = "[?]"
"""Stands for signs that no typeface here shows."""
JOINERS = "\u200c\u200d"
"""Invisible, but of meaning between letters of a script that joins them."""
_JOINING = re.compile("[\u0600-\u0dff]")
_VARIANTS = re.compile("[\u180b-\u180d\ufe00-\ufe0f\U000e0100-\U000e01ef]")
_WRITTEN_FIRST = re.compile("[\u0e40-\u0e44\u0ec0-\u0ec4]")
"""The vowels that Thai and Lao write before the letter that they belong to."""
_VIRAMA = 9
"""The combining class of a sign that holds the letter after it (Unicode Standard, 3.11)."""
BOLDER = 0.03
"""How wide the outline of a script's bold is, as a share of the type size. Our own choice."""
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
# Invisible, or to be set by the letter that they stand on.
_UNDRAWABLE = ("Cc", "Cf", "Mn", "Me", "Co", "Cs")


class Face(StrEnum):
    """A weight of the typeface; the value is the file's name and the name in the PDF."""

    REGULAR = "SourceSansPro-Regular"
    SEMIBOLD = "SourceSansPro-Semibold"
    BOLD = "SourceSansPro-Bold"
    ITALIC = "SourceSansPro-It"


@dataclass(frozen=True, slots=True)
class Run:
    """What is drawn in one go: glyphs of one font, from left to right; how wide they are, as a
    share of the type size; whether with an outline; what they say, where they do not tell it."""

    font: str
    glyphs: str
    share: float
    bold: bool = False
    said: str = ""


@cache
def _font(of: Face | Script) -> TTFont:
    if isinstance(of, Face):
        font = TTFont(of.value, str(files(SOURCE_SANS) / f"files/{of.value}.ttf"))
    else:
        font = TTFont(of.name, str(files(of.package) / of.file))
    pdfmetrics.registerFont(font)
    return font


def use(face: Face) -> str:
    """The name to set ``face`` by on a canvas; registers the font the first time."""
    return str(_font(face).fontName)


def width(text: str, face: Face, size: float) -> float:
    """The width of ``text`` in points, set in ``face`` at ``size`` points.

    >>> width("1", Face.REGULAR, 10) == width("8", Face.REGULAR, 10)
    True
    """
    return _share(text, face) * size


@lru_cache(maxsize=KEPT_TEXTS)
def _share(text: str, face: Face) -> float:
    """The width of ``text`` as a share of the type size; the same words come again and again."""
    return sum(run.share for run in runs(text, face))


def draw(
    canvas: Any, left: float, base: float, text: str, face: Face, size: float, gray: float = 0.0
) -> None:
    """``text`` on one line, its baseline at ``base``; all in points."""
    canvas.setFillGray(gray)
    if is_plain(text, face):  # as most texts are: its width is not asked for
        canvas.setFont(use(face), size)
        canvas.drawString(left, base, text)
    else:
        _draw_runs(canvas, left, base, runs(text, face), size, gray)
    if gray:
        canvas.setFillGray(0)


def _draw_runs(
    canvas: Any, left: float, base: float, found: Iterable[Run], size: float, gray: float
) -> None:
    for run in found:
        canvas.setFont(run.font, size)
        if run.said:
            _draw_said(canvas, left, base, run, size, gray)
        else:
            canvas.drawString(left, base, run.glyphs)
        left += run.share * size


def _draw_said(canvas: Any, left: float, base: float, run: Run, size: float, gray: float) -> None:
    """Glyphs with what they say, for whoever searches or copies it."""
    said = f"feff{run.said.encode('utf-16-be').hex()}"
    canvas.addLiteral(f"/Span <</ActualText <{said}>>> BDC")
    canvas.saveState()
    canvas.setStrokeGray(gray)
    canvas.setLineWidth(BOLDER * size)
    canvas.drawString(left, base, run.glyphs, mode=2 if run.bold else 0)
    canvas.restoreState()
    canvas.addLiteral("EMC")


def is_plain(text: str, face: Face) -> bool:
    """Whether ``face`` shows all of it as it is: it is then as wide as its signs together."""
    return _shown(face).issuperset(text)


@lru_cache(maxsize=KEPT_TEXTS)
def runs(text: str, face: Face) -> tuple[Run, ...]:
    """``text``, all of it ``shown``, as it stands on a line from left to right."""
    main = _font(face)
    if is_plain(text, face):
        return (Run(main.fontName, text, main.stringWidth(text, 1000) / 1000),)
    found: list[Run] = []
    for words, leftward in stretches(text):
        parts = [_run(of, part, face, leftward) for of, part in _by_font(words, face)]
        found += reversed(parts) if leftward else parts
    return tuple(found)


def _by_font(words: str, face: Face) -> list[tuple[Face | Script, str]]:
    """``words`` in the order in which they are read, parted where the font changes."""
    found: list[tuple[Face | Script, str]] = []
    for sign in words:
        of = found[-1][0] if found and sign in JOINERS else (_has(sign, face) or face)
        if found and found[-1][0] == of:
            found[-1] = (of, found[-1][1] + sign)
        else:
            found.append((of, sign))
    return found


def _run(of: Face | Script, words: str, face: Face, leftward: bool) -> Run:
    font = _font(of)
    glyphs = words
    if isinstance(of, Script):  # figures of Arabic are shaped from left to right: as they are
        shaped = of.shaped and of.leftward == leftward
        glyphs = shapeStr(words, font.fontName, 10) if shaped else words
    elif leftward:
        glyphs = words[::-1].translate(_MIRRORED)
    elif not _shown(face).issuperset(words):  # marks that stand on a letter
        glyphs = shapeStr(words, font.fontName, 10)
    if isinstance(glyphs, ShapedStr):
        share = sum(one.x_advance for one in glyphs.__shapeData__) / 1000
    else:
        share = font.stringWidth(glyphs, 1000) / 1000
    plain = of is face and glyphs is words
    bold = of is not face and face in (Face.SEMIBOLD, Face.BOLD)
    return Run(font.fontName, glyphs, share, bold, "" if plain else words)


def tidied(text: str) -> str:
    """``text`` in composed form (NFC), each run of white space as one space, invisible signs
    left out: soft hyphens, signs of no width, marks of direction, variants of pictures.

    >>> tidied(" Kocher\\n for\\u00adceps ")
    'Kocher forceps'
    """
    if not text.isascii():
        composed = _VARIANTS.sub("", unicodedata.normalize("NFC", text)).replace("\u2011", "-")
        text = "".join(sign for place, sign in enumerate(composed) if _stays(composed, place))
    return " ".join(text.split())


def _stays(text: str, place: int) -> bool:
    """Whether a sign is to be seen, or joins or parts the letters it stands between."""
    sign = text[place]
    if sign in JOINERS:
        return bool(place and _JOINING.match(text[place - 1]))
    return unicodedata.category(sign) != "Cf"


def shown(text: str, face: Face) -> str:
    """``text`` tidied, with a mark in place of the signs that no typeface here shows.

    >>> shown("Klemme Größe 3 µm", Face.REGULAR), shown("Rune \\u16a0\\u16a2 3", Face.BOLD)
    ('Klemme Größe 3 µm', 'Rune [?] 3')
    """
    text = tidied(text)
    if _shown(face).issuperset(text):
        return text
    kept = "".join(sign if sign in JOINERS or _has(sign, face) else "\0" for sign in text)
    return re.sub(f"\0[\0{JOINERS}]*", MARK, kept)


def named(number: str, name: str, face: Face) -> str:
    """A name; its number before it where not all of it can be shown.

    >>> named("HF-3", "Probe", Face.BOLD), named("HF-3", "\\u16a0", Face.BOLD)
    ('Probe', 'HF-3 [?]')
    """
    words = shown(name, face)
    return f"{number} {words}".strip() if MARK in words and MARK not in name else words


def signs(word: str) -> list[str]:
    """A word in the parts between which it may be broken: a letter keeps the marks that stand on
    it, and what is written before it.

    >>> signs("Péan")
    ['P', 'é', 'a', 'n']
    """
    found: list[str] = []
    for sign in word:
        joins = sign in JOINERS or unicodedata.category(sign).startswith("M")
        if found and (joins or _holds(found[-1][-1])):
            found[-1] += sign
        else:
            found.append(sign)
    return found


def _holds(sign: str) -> bool:
    held = sign in JOINERS or unicodedata.combining(sign) == _VIRAMA
    return held or bool(_WRITTEN_FIRST.match(sign))


@lru_cache(maxsize=KEPT_TEXTS)
def _has(sign: str, face: Face) -> Face | Script | None:
    """What shows a sign: ``face`` itself, else the typeface of its script; None where none does."""
    if sign in _shown(face):
        return face
    if script := script_of(sign):
        return script if ord(sign) in _font(script).face.charToGlyph else None
    on_a_letter = unicodedata.category(sign) == "Mn"
    return face if on_a_letter and ord(sign) in _font(face).face.charToGlyph else None


@cache
def _shown(face: Face) -> frozenset[str]:
    """Every character that ``face`` has a glyph for and that can be drawn as it is."""
    glyphs = _font(face).face.charToGlyph
    characters = (chr(code) for code, glyph in glyphs.items() if glyph)
    return frozenset(c for c in characters if unicodedata.category(c) not in _UNDRAWABLE)

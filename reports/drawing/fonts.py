"""The typeface: Source Sans (SIL Open Font License), from its installed package.

Its default figures all have one width, so that columns of numbers line up.
"""

from __future__ import annotations

import unicodedata
from enum import StrEnum
from functools import cache, lru_cache
from pathlib import Path

import font_source_sans_pro
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FILES = Path(font_source_sans_pro.__file__).parent / "files"
KEPT_TEXTS = 1 << 14
"""Measured texts kept, some hundred bytes each: a run meets the same few thousand again."""
# Invisible, or in need of a shaping engine that a plain PDF text line does not have.
_UNDRAWABLE = ("Cc", "Cf", "Mn", "Me", "Co", "Cs")


class Face(StrEnum):
    """A weight of the typeface; the value is the file's name and the name in the PDF."""

    REGULAR = "SourceSansPro-Regular"
    SEMIBOLD = "SourceSansPro-Semibold"
    BOLD = "SourceSansPro-Bold"
    ITALIC = "SourceSansPro-It"


@cache
def _loaded(face: Face) -> TTFont:
    font = TTFont(face.value, str(FILES / f"{face.value}.ttf"))
    pdfmetrics.registerFont(font)
    return font


def use(face: Face) -> str:
    """The name to set ``face`` by on a canvas; registers the font the first time."""
    return str(_loaded(face).fontName)


def width(text: str, face: Face, size: float) -> float:
    """The width of ``text`` in points, set in ``face`` at ``size`` points.

    >>> width("1", Face.REGULAR, 10) == width("8", Face.REGULAR, 10)
    True
    """
    return _share(text, face) * size


@lru_cache(maxsize=KEPT_TEXTS)
def _share(text: str, face: Face) -> float:
    """The width of ``text`` as a share of the type size; the same words come again and again."""
    return float(_loaded(face).stringWidth(text, 1000)) / 1000


def tidied(text: str) -> str:
    """``text`` in composed form (NFC) with each run of white space as one space.

    >>> tidied(" Kocher\\n forceps ")
    'Kocher forceps'
    """
    composed = text if text.isascii() else unicodedata.normalize("NFC", text)
    return " ".join(composed.split())


def missing(text: str, face: Face) -> tuple[str, ...]:
    """The characters of ``text`` that ``face`` cannot show, each once, in order.

    >>> missing("Klemme Größe 3 µm", Face.REGULAR)
    ()
    >>> missing("止血钳 12", Face.REGULAR)
    ('止', '血', '钳')
    """
    shown = _shown(face)
    if shown.issuperset(text):
        return ()
    return tuple(dict.fromkeys(character for character in text if character not in shown))


@cache
def _shown(face: Face) -> frozenset[str]:
    """Every character that ``face`` has a glyph for and that can be drawn as it is."""
    glyphs = _loaded(face).face.charToGlyph
    characters = (chr(code) for code, glyph in glyphs.items() if glyph)
    return frozenset(c for c in characters if unicodedata.category(c) not in _UNDRAWABLE)

"""The scripts that are shown beside Latin, Greek and Cyrillic, each with its typeface: Noto Sans
(SIL Open Font License) and, for Chinese, Japanese and Korean, WenQuanYi Micro Hei (Apache License).

Both come in packages that hold nothing else. They have one weight: bold is drawn with an outline.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

NOTO, MICRO_HEI = "manimgx_fonts", "paperang_p2_fonts_cjk"


@dataclass(frozen=True, slots=True)
class Script:
    """A script: its signs (first and last of each block), and its typeface's file in a package.

    ``shaped``: its signs take other forms, or other places, beside each other. ``leftward``: its
    letters, but not its figures, run from right to left.
    """

    name: str
    blocks: tuple[tuple[int, int], ...]
    package: str
    file: str
    shaped: bool
    leftward: bool = False

    def has(self, sign: str) -> bool:
        """Whether a sign stands in one of its blocks."""
        return any(first <= ord(sign) <= last for first, last in self.blocks)


def _noto(
    name: str, *blocks: tuple[int, int], shaped: bool = True, leftward: bool = False
) -> Script:
    return Script(f"Noto{name}", blocks, NOTO, f"Noto{name}[wght].ttf", shaped, leftward)


SCRIPTS = (
    _noto("SansArmenian", (0x530, 0x58F)),
    _noto("SansHebrew", (0x590, 0x5FF), (0xFB1D, 0xFB4F), leftward=True),
    _noto("SansArabic", (0x600, 0x6FF), (0x750, 0x77F), (0x8A0, 0x8FF), (0xFB50, 0xFDFF),
          (0xFE70, 0xFEFC), leftward=True),
    _noto("SansDevanagari", (0x900, 0x97F), (0xA8E0, 0xA8FF)),
    _noto("SansBengali", (0x980, 0x9FF)),
    _noto("SansGurmukhi", (0xA00, 0xA7F)),
    _noto("SansGujarati", (0xA80, 0xAFF)),
    _noto("SansOriya", (0xB00, 0xB7F)),
    _noto("SansTamil", (0xB80, 0xBFF)),
    _noto("SansTelugu", (0xC00, 0xC7F)),
    _noto("SansKannada", (0xC80, 0xCFF)),
    _noto("SansMalayalam", (0xD00, 0xD7F)),
    _noto("SansSinhala", (0xD80, 0xDFF)),
    _noto("SansThai", (0xE00, 0xE7F)),
    _noto("SansLao", (0xE80, 0xEFF)),
    _noto("SansMyanmar", (0x1000, 0x109F)),
    _noto("SansGeorgian", (0x10A0, 0x10FF), (0x1C90, 0x1CBF), (0x2D00, 0x2D2F)),
    _noto("SansEthiopic", (0x1200, 0x139F)),
    _noto("SansKhmer", (0x1780, 0x17FF)),
    _noto("Emoji", (0x2600, 0x27BF), (0x1F300, 0x1FAFF), shaped=False),
    Script("WenQuanYiMicroHei", ((0x1100, 0x11FF), (0x2E80, 0xA4CF), (0xAC00, 0xD7A3),
           (0xF900, 0xFAFF), (0xFF00, 0xFFEF), (0x20000, 0x3FFFF)), MICRO_HEI,
           "fonts/wqy-microhei.ttc", shaped=False),
)  # fmt: skip


@cache
def script_of(sign: str) -> Script | None:
    """The script of a sign, where it is one of these."""
    return next((one for one in SCRIPTS if one.has(sign)), None)

"""What is like what was typed: each word on its own, rare words before common ones.

Spelling is forgiven in words, never in numbers: HF-1043 is not a slip for HF-1042. ``index`` finds
the names that are most like a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from rapidfuzz import fuzz

from catalog.lookup.words.query import WORD, Query, off_by, sizes_in

CLOSE_ENOUGH = 72
"""Likeness of a typed word to a known one, 0 to 100 (rapidfuzz). Tried on the nicknames."""
AS_GOOD = 95
"""What a synonym, a beginning, or a length that fits a bare number counts for."""
LEAST = 0.34
"""So much of the question, by weight, must be found. Tried on the demo's names."""
NEAR_THE_BEST = 0.8
"""Names worse than this share of the best are left out."""
SIZE_TOLERANCE_MM = 5
"""A name's size is rounded: 6 in is sold as 150 mm (common practice, no source)."""

SAME_SIZE_MM = 1
"""A size typed and a size on record no further apart are the same one, in other units."""


@dataclass(frozen=True, slots=True)
class Known:
    """One thing with what it is called, its number first, and its recorded length in mm."""

    pk: int
    texts: Sequence[str]
    length_mm: Decimal | None = None

    @property
    def sizes(self) -> list[Decimal]:
        """The recorded length and every size that its names state."""
        named = [size for text in self.texts[1:] for size in sizes_in(text)]
        return named if self.length_mm is None else [self.length_mm, *named]


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing as a block takes it: beside its names the maker's number, and whether it is out
    of use."""

    known: Known
    maker_number: str = ""
    retired: bool = False

    @property
    def whole(self) -> set[str]:
        """Its number, its name, each other name and the maker's number, folded."""
        number, name, *others = self.known.texts
        called = [number, name, *others[:1], *(part.strip() for part in others[0].split(";"))]
        return {text.casefold() for text in (*called, self.maker_number) if text}


def words_of(one: Known) -> list[str]:
    """Its words, with its number in one piece too: HF1042 for HF-1042."""
    words = WORD.findall(" ".join(one.texts).casefold())
    words.append("".join(WORD.findall(one.texts[0].casefold())))
    return words


def alike(typed: str, word: str) -> float:
    """How alike two words are, 0 to 100; a beginning counts, a number must be the same.

    >>> alike("metzembaum", "metzenbaum"), alike("1043", "1042"), alike("10", "1042")
    (90.0, 0.0, 95.0)
    """
    if typed == word:
        return 100.0
    if not typed.isalpha() or not word.isalpha():
        return float(AS_GOOD) if word.startswith(typed) else 0.0
    begins = fuzz.ratio(typed, word[: len(typed)]) if len(typed) > 2 else 0.0
    return max(fuzz.ratio(typed, word), AS_GOOD / 100 * begins)


def parts_of(word: str) -> list[str]:
    """Words apart at signs; a word with figures stays whole, as HF1042 for HF-1042."""
    parts = WORD.findall(word)
    return ["".join(parts)] if parts and any(sign.isdigit() for sign in word) else parts


def off(query: Query, one: Known) -> Decimal:
    """How far a thing is from the sizes asked for, in mm: 0 where none was, endless where its
    own are not known."""
    away = off_by(query.sizes, one.sizes) if query.sizes else Decimal(0)
    return Decimal("Infinity") if away is None else away


def sized(query: Query, one: Known) -> bool:
    """Whether a thing has the sizes asked for; True where none was."""
    return off(query, one) <= SAME_SIZE_MM

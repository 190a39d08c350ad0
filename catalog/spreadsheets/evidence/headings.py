"""How well a heading fits a column: by its whole spelling, else by the stems of its words."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

from rapidfuzz import fuzz

from catalog.data_files import read_tables
from catalog.spreadsheets.columns.column import unit_in_heading

PREFIX, COMPOUND, ALIKE = 0.85, 0.8, 0.9
"""What a stem is worth that begins a word (or a word that begins a stem), that stands inside a
compound, and that is only like the word (times the likeness); a whole stem is worth 1."""
LEAST_PREFIX, LEAST_COMPOUND, LEAST_ALIKE, LEAST_PART = 3, 5, 5, 6
"""Letters from which these are looked at, the last for the likeness to a part of an instrument."""
ALIKE_FROM = 80
"""Of 100: words less alike than this are not the same word."""
OF_ANOTHER = 0.5
"""What is left of the words for a number or a name where another says that it is the maker's, or
a set's."""
A_WORD = 0.72
"""A word is taken for a stem from this likeness on: one letter in five wrong."""
BEST, MEAN = 0.6, 0.4
"""The share of the best word in the score of a heading, and of the middle of all."""

FORMER, PART_OF = "former", "part_of"
BESIDE = (FORMER, PART_OF, "whole")
"""Words that stand beside those of a column, and are none."""
_TABLES = {
    key: frozenset(table["stems"])
    for key, table in read_tables(
        Path(__file__).with_name("stems.toml"), {"stems": list}, ("stems",)
    ).items()
}
STEMS: dict[str, frozenset[str]] = {
    key: stems for key, stems in _TABLES.items() if key not in BESIDE
}
"""Column key to its stems; keys that are no declared column are never read."""
NUMBERS = ("item_number", "maker_catalog_number", "set_code")
"""A heading of one of these must not say that it is a former number."""
WHOLE_SIZES = ("length", "width", "height", "weight")
"""A heading of one of these must not say that it is the size of a part."""
SAYS_NOTHING = frozenset({
    "max", "total", "totale", "overall", "gesamt", "ges", "in", "of", "the", "our",
    "own", "your", "to", "per", "net", "netto", "tot", "de", "la", "le", "les", "des", "du",
    "l", "d", "der", "die", "das", "den", "del", "della", "dell", "do", "da", "van", "het",
    "en", "el", "i",
})  # fmt: skip
"""Words that tell no column from another."""

_ENDINGS = tuple(
    sorted(
        {stem for stems in STEMS.values() for stem in stems if len(stem) > LEAST_PREFIX}
        | {"nr", "no", "set"},
        key=len,
        reverse=True,
    )
)


_OF_WHOLES = _TABLES["whole"].union(*(_TABLES[size] for size in WHOLE_SIZES))
_EVERY_STEM = frozenset().union(*STEMS.values())
"""A word that is one is not another cut short: "nom" is a name and no "nombre"."""
SET_WORDS = (STEMS["set_code"] & STEMS["set_name"]) - STEMS["packed_in"]
"""Words for a set; one for what it is packed in is none."""
_COUNTS = STEMS["quantity"] - STEMS["set_name"]
_OTHERS = {
    "item_number": STEMS["maker"] | STEMS["udi"] | SET_WORDS,
    "name": SET_WORDS,
    "set_code": _COUNTS,
    "set_name": _COUNTS,
}


@lru_cache(maxsize=16384)
def heading_score(heading: str, key: str) -> float:
    """From 0 to 1, by the stems of the words.

    >>> heading_score("Gesamtlänge (mm)", "length"), heading_score("Shelf", "length")
    (1.0, 0.0)
    >>> heading_score("Artikelnr.", "item_number") > heading_score("Artikelnr.", "name")
    True
    """
    words = words_of(heading)
    stems = STEMS.get(key)
    if not words or not stems:
        return 0.0
    if key in WHOLE_SIZES and says_a_part(heading):
        return 0.0
    if key in NUMBERS and any(map(_is_former, words)):
        return 0.0
    scores = [word_score(word, stems) for word in words]
    others = _OTHERS.get(key, frozenset())
    if others and any(word_score(word, others) >= PREFIX for word in words):
        scores = [score * OF_ANOTHER for score in scores]
    return BEST * max(scores) + MEAN * sum(scores) / len(scores)


def _is_former(word: str) -> bool:
    """Whether a word says that something was so before; it may be cut short or misspelt."""
    stems = _TABLES[FORMER]
    if len(word) >= LEAST_PART:
        return word_score(word, stems) >= A_WORD
    return word in stems or (
        len(word) >= LEAST_COMPOUND - 1 and any(stem.startswith(word) for stem in stems)
    )


def says_a_part(heading: str) -> bool:
    """Whether a heading says that a size is not that of the whole instrument."""
    return any(
        word_score(word, _TABLES[PART_OF]) >= (A_WORD if len(word) >= LEAST_PART else COMPOUND)
        for word in words_of(heading)
        if word not in _OF_WHOLES
    )


def says_more(heading: str) -> bool:
    """Whether a heading of a size has a word that nobody knows: it may say of which part."""
    return not all(
        word in SAYS_NOTHING
        or any(word_score(word, stems) >= A_WORD for key, stems in _TABLES.items() if key != FORMER)
        for word in words_of(heading)
    )


_DOTTED = re.compile(r"\b([^\W\d_])\.(?=[^\W\d_]{2})")
"""The stop after the first letter of a word cut short, as in "q.tà"."""


def all_known(heading: str) -> bool:
    """Whether every word of a heading is one that stands above columns."""
    return all(
        any(word_score(word, stems) >= A_WORD for stems in STEMS.values())
        for word in words_of(heading)
    )


def speaks_of_a_set(text: str) -> bool:
    """Whether a word of a heading, a title or a file's name means a set."""
    return any(word_score(word, SET_WORDS) >= A_WORD for word in words_of(text))


@lru_cache(maxsize=4096)
def words_of(heading: str) -> tuple[str, ...]:
    """The words of a heading that say something, folded, compounds taken apart, units left out.

    >>> words_of("max. Breite (mm)"), words_of("Materialnummer")
    (('breite',), ('material', 'nummer'))
    """
    bare = unit_in_heading(_DOTTED.sub(r"\1", " ".join(heading.split())))[0]
    parts = [(part, word) for word in bare.split() for part in _apart(word)]
    telling = tuple(
        part
        for part, word in parts
        if part not in SAYS_NOTHING or (part != word and part in SET_WORDS)
    )
    return telling or tuple(part for part, _ in parts)


def _apart(word: str) -> tuple[str, ...]:
    if any(word in stems for stems in STEMS.values()):
        return (word,)
    for ending in _ENDINGS:
        rest = word.removesuffix(ending)
        if rest != word and len(rest) >= LEAST_PREFIX:
            return rest, ending
    return (word,)


@lru_cache(maxsize=16384)
def word_score(word: str, stems: frozenset[str]) -> float:
    """From 0 to 1: how like one of the stems a folded word is."""
    if word in stems:
        return 1.0
    best = 0.0
    for stem in stems:
        short = min(len(word), len(stem))
        cut_short = stem.startswith(word) and word not in _EVERY_STEM
        if short >= LEAST_PREFIX and (word.startswith(stem) or cut_short):
            best = max(best, PREFIX)
        elif word in _EVERY_STEM:
            continue  # It is no other word, compound or misspelt.
        elif len(stem) >= LEAST_COMPOUND and stem in word:
            best = max(best, COMPOUND)
        elif short >= LEAST_ALIKE and word[0] == stem[0]:
            likeness = fuzz.ratio(word, stem, score_cutoff=ALIKE_FROM)
            best = max(best, ALIKE * likeness / 100)
    return best

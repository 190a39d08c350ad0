"""How well a heading fits a column: by its whole spelling, else by the stems of its words."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from rapidfuzz import fuzz

from catalog.data_files import read_tables
from catalog.spreadsheets.columns.column import unit_in_heading

PREFIX, COMPOUND, ALIKE = 0.85, 0.8, 0.9
"""What a stem is worth that begins a word (or a word that begins a stem), that stands inside a
compound, and that is only like the word (times the likeness); a whole stem is worth 1."""
LEAST_PREFIX, LEAST_COMPOUND, LEAST_ALIKE = 3, 5, 5
"""Letters from which these are looked at."""
ALIKE_FROM = 80
"""Of 100: words less alike than this are not the same word."""
OF_THE_MAKER = 0.5
"""What is left of the words for a number where another says that it is the maker's."""
BEST, MEAN = 0.6, 0.4
"""The share of the best word in the score of a heading, and of the middle of all."""

STEMS: dict[str, frozenset[str]] = {
    key: frozenset(table["stems"])
    for key, table in read_tables(
        Path(__file__).with_name("stems.toml"), {"stems": list}, ("stems",)
    ).items()
}
"""Column key to its stems; keys that are no declared column are never read."""
WHOLE_SIZES = ("length", "width", "height", "weight")
"""A heading of one of these must not say that it is the size of a part."""
SAYS_NOTHING = frozenset({
    "max", "min", "total", "totale", "overall", "gesamt", "ges", "in", "of", "the", "our",
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
    scores = [word_score(word, stems) for word in words]
    if key == "item_number" and any(word_score(word, STEMS["maker"]) >= PREFIX for word in words):
        scores = [score * OF_THE_MAKER for score in scores]
    return BEST * max(scores) + MEAN * sum(scores) / len(scores)


def says_a_part(heading: str) -> bool:
    """Whether a heading says that a size is not that of the whole instrument."""
    return any(word in STEMS["part_of"] for word in words_of(heading))


@lru_cache(maxsize=4096)
def words_of(heading: str) -> tuple[str, ...]:
    """The words of a heading that say something, folded, compounds taken apart, units left out.

    >>> words_of("max. Breite (mm)"), words_of("Materialnummer")
    (('breite',), ('material', 'nummer'))
    """
    bare = unit_in_heading(" ".join(heading.split()))[0]
    parts = [part for word in bare.split() for part in _apart(word)]
    return tuple(part for part in parts if part not in SAYS_NOTHING) or tuple(parts)


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
        if short >= LEAST_PREFIX and (word.startswith(stem) or stem.startswith(word)):
            best = max(best, PREFIX)
        elif len(stem) >= LEAST_COMPOUND and stem in word:
            best = max(best, COMPOUND)
        elif short >= LEAST_ALIKE and word[0] == stem[0]:
            likeness = fuzz.ratio(word, stem, score_cutoff=ALIKE_FROM)
            best = max(best, ALIKE * likeness / 100)
    return best

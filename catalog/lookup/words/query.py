"""What was typed, taken apart: words, phrases that the trade says otherwise, sizes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from catalog.lookup.words.synonyms import Stems, longest, said_otherwise, stem
from catalog.units import LENGTH_UNITS, UNIT_WORDS, UnitError, read_length

MOST_WORDS = 12
"""More are cut off: each is looked for in every column, and no thing is called so."""
WORD = re.compile(r"[^\W_]+")
_FIGURE = re.compile(r"\d")
_UNITS = "|".join(
    re.escape(word)
    for word, unit in sorted(UNIT_WORDS.items(), key=lambda item: -len(item[0]))
    if unit in LENGTH_UNITS
)
_SIZE = re.compile(
    rf"(?<![\w./-])\d+(?:[.,]\d+)?(?:\s+\d+/\d+|\s?[½¼¾⅛⅜⅝⅞])?\s*(?:{_UNITS})(?!\w|\s*\d)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words typed side by side that the trade says in other words too."""

    words: tuple[str, ...]
    others: tuple[Stems, ...]


@dataclass(frozen=True, slots=True)
class Query:
    """A question in words. ``sizes`` in mm are not among ``words``; ``text`` is all of it that
    is looked for, and ``cut`` whether there was more."""

    text: str
    words: tuple[str, ...]
    sizes: tuple[Decimal, ...] = ()
    phrases: tuple[Phrase, ...] = ()
    cut: bool = False

    @property
    def singles(self) -> tuple[str, ...]:
        """The words that stand in no phrase."""
        joined = [word for phrase in self.phrases for word in phrase.words]
        return tuple(word for word in self.words if word not in joined)


def read_query(text: str) -> Query:
    """The words of a question.

    >>> query = read_query("Needle holder 6 in")
    >>> query.words, query.sizes
    (('needle', 'holder'), (Decimal('152.400'),))
    >>> read_query("6 in").words
    ('6', 'in')
    """
    typed = text.split()
    text, cut = " ".join(typed[:MOST_WORDS]), len(typed) > MOST_WORDS
    sizes = tuple(sizes_in(text))
    words = _words(_SIZE.sub(" ", text)) if sizes else _words(text)
    if not words:
        return Query(text, _words(text), cut=cut)
    return Query(text, words, sizes, tuple(_phrases(words)), cut)


def _words(text: str) -> tuple[str, ...]:
    found = (word.strip(",;") for word in text.casefold().split())
    return tuple(dict.fromkeys(word for word in found if word))


def _phrases(words: Sequence[str]) -> Iterator[Phrase]:
    """Known phrases from the left, the longest first; no word stands in two."""
    at = 0
    while at < len(words):
        for length in range(min(longest(), len(words) - at), 0, -1):
            typed = tuple(words[at : at + length])
            if others := said_otherwise([stem(word) for word in typed]):
                yield Phrase(typed, others)
                at += length - 1
                break
        at += 1


def sizes_in(text: str) -> Iterator[Decimal]:
    """The lengths written in a text with their unit, in mm.

    >>> list(sizes_in("Grasper 5 mm, 33 cm, no. 3"))
    [Decimal('5.000'), Decimal('330.000')]
    >>> list(sizes_in("2 in 1 retractor"))
    []
    """
    if not _FIGURE.search(text):
        return
    for found in _SIZE.finditer(text):
        if (size := _size(found[0])) is not None:
            yield size


@lru_cache(maxsize=4096)
def _size(text: str) -> Decimal | None:
    """A length as names repeat it; None where it is none."""
    try:
        return read_length(text)
    except UnitError:
        return None


def is_literal(query: Query, texts: Sequence[str]) -> bool:
    """Whether every word as typed stands in the texts, a number at the start of a word.

    >>> is_literal(read_query("kocher 230"), ["HF-1230", "Kocher forceps 180 mm"])
    False
    >>> is_literal(read_query("1230 koch"), ["HF-1230", "Kocher forceps 180 mm"])
    True
    """
    known = " ".join(texts).casefold()
    return bool(query.words) and all(
        re.search(rf"(?<![^\W_]){word}", known) if word.isdigit() else word in known
        for word in query.words
    )


def off_by(sizes: Sequence[Decimal], known: Sequence[Decimal]) -> Decimal | None:
    """How far the known sizes are from all that were asked for, in mm; None: no size known.

    >>> off_by([Decimal(152)], [Decimal(150), Decimal(10)])
    Decimal('2')
    """
    if not known:
        return None
    return sum((min(abs(size - other) for other in known) for size in sizes), Decimal(0))

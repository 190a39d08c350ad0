"""Names most like what was typed, found by reading all of them: what ``index`` is held to."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain

from catalog.lookup.words.query import WORD, Query
from catalog.lookup.words.ranking import (
    AS_GOOD,
    CLOSE_ENOUGH,
    LEAST,
    NEAR_THE_BEST,
    SIZE_TOLERANCE_MM,
    Known,
    alike,
    off,
    parts_of,
    words_of,
)


class _Index:
    """The rows' words, apart; only those that the question touches are led back to rows."""

    def __init__(self, known: Sequence[Known]) -> None:
        self.known = known
        self.words = [words_of(one) for one in known]
        self.every = set[str]().union(*self.words)
        self.spelled = [word for word in self.every if word.isalpha()]

    def like(self, typed: str) -> dict[str, float]:
        """Words alike, each with its likeness."""
        among = self.spelled if typed.isalpha() else self.every
        scores = ((word, alike(typed, word)) for word in among)
        return {word: score for word, score in scores if score >= CLOSE_ENOUGH}

    def beginning(self, part: str) -> set[str]:
        """Words that begin so."""
        among = self.spelled if part.isalpha() else self.every
        return {word for word in among if word.startswith(part)}

    def rows_of(self, words: Iterable[str]) -> dict[str, list[int]]:
        """Words to the rows they stand in."""
        wanted, rows = set(words), defaultdict[str, list[int]](list)
        for row, found in enumerate(self.words):
            for word in wanted.intersection(found):
                rows[word].append(row)
        return rows


def ranked(query: Query, known: Iterable[Known]) -> list[tuple[float, int]]:
    """Share of the question found, and key, of what is most like it; the best first.

    Ties go to the nearest size, then stay in the order given.
    """
    index = _Index(list(known))
    found = _found(query, index)
    weights = {
        word: math.log(1 + len(index.known) / max(1, len(rows))) for word, rows in found.items()
    }
    shares: dict[int, float] = {}
    for word, rows in found.items():
        for row, score in rows.items():
            shares[row] = shares.get(row, 0.0) + weights[word] * score / 100
    whole = sum(weights.values()) or 1.0
    least = max(LEAST * whole, NEAR_THE_BEST * max(shares.values(), default=0.0))
    best = [(share / whole, row) for row, share in shares.items() if share >= least]
    best.sort(key=lambda one: (-round(one[0], 6), off(query, index.known[one[1]]), one[1]))
    return [(share, index.known[row].pk) for share, row in best]


def _found(query: Query, index: _Index) -> Mapping[str, dict[int, float]]:
    """Each typed word with the rows where it is found, by spelling, size or synonym."""
    like = {part: index.like(part) for word in query.words for part in parts_of(word)}
    begun = {part: index.beginning(part) for part in _stem_parts(query)}
    rows = index.rows_of(chain(*like.values(), *begun.values()))
    found: dict[str, dict[int, float]] = {}
    for part, words in like.items():
        best = dict.fromkeys(_as_long_as(part, index.known), float(AS_GOOD))
        for word, score in words.items():
            for row in rows.get(word, ()):
                best[row] = max(score, best.get(row, 0.0))
        found[part] = best
    for phrase in query.phrases:
        saying = set().union(*(_saying(other, begun, rows) for other in phrase.others))
        for part in (part for word in phrase.words for part in parts_of(word)):
            found[part] |= {row: max(AS_GOOD, found[part].get(row, 0.0)) for row in saying}
    return found


def _stem_parts(query: Query) -> set[str]:
    stems = (stem for phrase in query.phrases for other in phrase.others for stem in other)
    return {part for stem in stems for part in WORD.findall(stem)}


def _saying(
    phrase: Sequence[str], begun: Mapping[str, set[str]], rows: Mapping[str, list[int]]
) -> set[int]:
    """Rows in which every word of a phrase begins some word."""
    parts = (part for stem in phrase for part in WORD.findall(stem))
    return set.intersection(*({r for w in begun[part] for r in rows.get(w, ())} for part in parts))


def _as_long_as(word: str, known: Sequence[Known]) -> list[int]:
    """Rows whose length a bare number of two or more figures says, in mm or cm."""
    if not (word.isascii() and word.isdigit() and 2 <= len(word) <= 3):
        return []
    sizes = (int(word), int(word) * 10)
    return [
        row
        for row, one in enumerate(known)
        if one.length_mm is not None
        and any(abs(one.length_mm - size) <= SIZE_TOLERANCE_MM for size in sizes)
    ]

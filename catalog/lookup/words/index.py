"""The words of many things, each leading to its rows: what ``ranking`` says, found by an index.

A block is some thousands of rows, read once. All blocks of a kind together answer two questions
without going through the rows: where may every word of a question stand, and what is most like it.
"""

from __future__ import annotations

import math
from array import array
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from itertools import accumulate, chain
from operator import itemgetter
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz
from rapidfuzz.process import cdist

from catalog.lookup.words.query import WORD, Query
from catalog.lookup.words.ranking import (
    AS_GOOD,
    CLOSE_ENOUGH,
    LEAST,
    NEAR_THE_BEST,
    SIZE_TOLERANCE_MM,
    Entry,
    alike,
    parts_of,
    words_of,
)

Rows: TypeAlias = NDArray[np.int32]
Marks: TypeAlias = NDArray[np.bool_]
"""One for each row: whether it is meant."""
Figures: TypeAlias = NDArray[np.float64]
Scored: TypeAlias = tuple[float, NDArray[Any]]
"""How alike, and the rows."""
END = "\U0010ffff"
"""Sorts behind every sign of a word."""
EPS = 0.001
BEGINS = CLOSE_ENOUGH / AS_GOOD * 100
"""What a beginning has to be like, as it counts for less."""
MOST_SPELLINGS = 500
"""A piece that stands in more places than this narrows nothing that would be worth it."""


class _Spellings:
    """Words in order, and all of them in one text, in which a piece of a word is found."""

    def __init__(self, words: Sequence[str]) -> None:
        self.words = words
        self.text = "\n".join(words)
        self._from = array("l", accumulate((len(word) + 1 for word in words), initial=0))
        self._bits_of: dict[int, NDArray[np.uint32]] = {}

    def having(self, piece: str) -> Iterator[str]:
        """Each word that a piece stands in, once."""
        at = self.text.find(piece)
        while at >= 0:
            word = bisect_right(self._from, at) - 1
            yield self.words[word]
            at = self.text.find(piece, self._from[word + 1])

    def beginning(self, part: str) -> Sequence[str]:
        return self.words[bisect_left(self.words, part) : bisect_left(self.words, part + END)]

    @cached_property
    def _lengths(self) -> NDArray[np.int64]:
        return np.diff(self._from) - 1

    def _letters(self, first: int = 0) -> NDArray[np.uint32]:
        """A bit for each letter of each word, or of so many ``first`` ones; some share one."""
        if first not in self._bits_of:
            signs = np.frombuffer(self.text.encode("utf-32-le"), np.uint32)
            bits = np.where(signs == ord("\n"), 0, 1 << (signs & 31)).astype(np.uint32)
            if first:
                starts = np.repeat(self._from[:-1], self._lengths + 1)[: len(bits)]
                bits[np.arange(len(bits)) - starts >= first] = 0
            self._bits_of[first] = (
                np.bitwise_or.reduceat(bits, self._from[:-1]) if self.words else bits
            )
        return self._bits_of[first]

    def _in_both(self, typed: str, first: int = 0) -> NDArray[np.int64]:
        """How many letters typed and each word, or its ``first`` ones, have in common at most:
        none that the other one lacks."""
        letters = np.uint32(sum({1 << (ord(sign) & 31) for sign in typed}))
        of_each = self._letters(first)
        lengths = np.minimum(self._lengths, first) if first else self._lengths
        theirs = lengths - _bits(of_each & ~letters)
        return np.minimum(len(typed) - _bits(letters & ~of_each), theirs)

    def near(self, typed: str) -> list[str]:
        """All words that may be alike enough, as a whole or by their beginning, and some others."""
        both = 2 * self._in_both(typed)
        whole = both >= CLOSE_ENOUGH / 100 * (len(typed) + self._lengths) - EPS
        begun = self._lengths > len(typed)
        if begun.any():
            begun &= self._in_both(typed, len(typed)) >= BEGINS / 100 * len(typed) - EPS
        as_whole = self._alike(typed, whole, None, CLOSE_ENOUGH)
        at_first = self._alike(typed, begun, len(typed), BEGINS)
        return [self.words[at] for at in {*as_whole, *at_first}]

    def _alike(self, typed: str, which: Marks, end: int | None, least: float) -> list[int]:
        """Places of those of which as much as ``end`` says is as alike as ``least``."""
        places = np.flatnonzero(which)
        words = [self.words[at][:end] for at in places.tolist()]
        like = cdist([typed], words, scorer=fuzz.ratio, dtype=np.float64)[0]
        return [int(at) for at in places[like >= least - EPS]]


def _bits(flags: NDArray[np.uint32]) -> NDArray[np.int64]:
    """How many bits of each are set."""
    twos = flags - ((flags >> 1) & 0x55555555)
    fours = (twos & 0x33333333) + ((twos >> 2) & 0x33333333)
    bytes_ = (fours + (fours >> 4)) & 0x0F0F0F0F
    return ((bytes_ * 0x01010101) >> 24).astype(np.int64)


class _Postings:
    """Words in order, each with its rows."""

    def __init__(self, rows: Mapping[str, list[int]]) -> None:
        self.words = sorted(rows)
        lists = [rows[word] for word in self.words]
        self._from = array("l", accumulate(map(len, lists), initial=0))
        self._rows: Rows = np.fromiter(chain.from_iterable(lists), np.int32)

    def of(self, word: str) -> Rows:
        at = bisect_left(self.words, word)
        last = at + (at < len(self.words) and self.words[at] == word)
        return self._rows[self._from[at] : self._from[last]]

    def beginning(self, part: str) -> Rows:
        first, last = bisect_left(self.words, part), bisect_left(self.words, part + END)
        return self._rows[self._from[first] : self._from[last]]


class Block:
    """Some thousands of rows: their words of letters alone, those with figures, their sizes."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        every, whole = defaultdict[str, list[int]](list), defaultdict[str, list[int]](list)
        standing = set[str]()
        for row, one in enumerate(entries):
            words = words_of(one.known)
            standing.update(words[:-1])  # not what was put together of a number
            for word in set(words):
                every[word].append(row)
            for text in one.whole:
                whole[text].append(row)
        self.spelled = _Postings({word: every[word] for word in every if word.isalpha()})
        self.figured = _Postings({word: every[word] for word in every if not word.isalpha()})
        self.whole = _Postings(whole)
        self.digits = _Spellings(sorted(word for word in standing if word.isdigit()))
        mixed = (word for word in standing if not word.isdigit() and not word.isalpha())
        self.mixed = _Spellings(sorted(mixed))
        self.pks = np.array([one.known.pk for one in entries], np.int64)
        self.named = [one.known.texts[0] for one in entries]
        self.in_use: Marks = np.array([not one.retired for one in entries], np.bool_)
        self.lengths: Figures = np.array([_um(one.known.length_mm) for one in entries], np.float64)
        sizes = [[_um(size) for size in one.known.sizes] for one in entries]
        self.sizes = _side_by_side(sizes, max(map(len, sizes), default=0))

    def apart(self, part: str) -> tuple[_Spellings, ...]:
        """The words that are not of letters alone and in which a piece can stand."""
        return (self.mixed, self.digits) if part.isdigit() else (self.mixed,)


def _um(size: Decimal | None) -> float:
    """In thousandths of a mm, which are whole; endless where unknown."""
    return math.inf if size is None else float(size * 1000)


def _side_by_side(sizes: Sequence[Sequence[float]], most: int) -> Figures:
    return np.array(
        [[*row, *[math.inf] * (most - len(row))] for row in sizes], np.float64
    ).reshape(len(sizes), most)  # fmt: skip


class Names:
    """All names of one kind, made of its blocks; a row is its place by number."""

    def __init__(self, blocks: Sequence[Block]) -> None:
        numbers = [*chain.from_iterable(one.named for one in blocks)]
        self.count = len(numbers)
        by_number = sorted(range(self.count), key=numbers.__getitem__)
        place = np.empty(self.count, np.int32)
        place[by_number] = np.arange(self.count)
        last = [*accumulate(len(one.named) for one in blocks)]
        self._blocks = [*zip(np.split(place, last[:-1]), blocks, strict=False)]
        self._spelled = _Spellings(sorted(set[str]().union(*(one.spelled.words for one in blocks))))
        self._rows: dict[str, Rows] = {}
        most = max((one.sizes.shape[1] for one in blocks), default=0)
        self._pks = _joined([one.pks for one in blocks], np.empty(0, np.int64))[by_number]
        self._in_use = _joined([one.in_use for one in blocks], self._none()[:0])[by_number]
        self._lengths = _joined([one.lengths for one in blocks], np.empty(0))[by_number]
        sizes = [
            np.pad(one.sizes, ((0, 0), (0, most - one.sizes.shape[1])), constant_values=math.inf)
            for one in blocks
        ]
        self._sizes = _joined(sizes, np.empty((0, most)))[by_number]

    # Where every word may stand.

    def candidates(self, query: Query, most: int) -> tuple[list[int], bool]:
        """Keys of all rows, and of few others, in which every word may stand, or what the trade
        says for it; and whether these are all. Where they are more than ``most``, those that are
        called so as a whole and the first ``most``, nearest to a size asked for or by number."""
        found = self._together(query.singles)
        for phrase in query.phrases:
            said = self._together(phrase.words)
            for other in phrase.others if said is not None else ():
                one = self._together(other)
                said = None if one is None or said is None else said | one
            found = _both(found, said)
        rows = np.arange(self.count) if found is None else np.flatnonzero(found)
        if len(rows) > most:
            for size in query.sizes[:1]:
                away = np.abs(self._lengths[rows] - _um(size))
                rows = rows[np.argsort(away, kind="stable")]
            named = [here[block.whole.of(query.text.casefold())] for here, block in self._blocks]
            rows = np.unique(np.concatenate([*named, rows[:most]]))
            return self._pks[rows].tolist(), False
        return self._pks[rows].tolist(), True

    def _together(self, words: Iterable[str]) -> Marks | None:
        found: Marks | None = None
        for word in words:
            found = _both(found, self._holding(word))
            if found is not None and not found.any():
                break
        return found

    def _holding(self, word: str) -> Marks | None:
        """Rows in whose names the word may stand, be it inside another; or whose number of the
        maker it is."""
        found: Marks | None = None
        for part in WORD.findall(word):
            found = _both(found, self._containing(part))
        if found is not None:
            for here, block in self._blocks:
                found[here[block.whole.of(word)]] = True
        return found

    def _containing(self, part: str) -> Marks | None:
        """Rows of the words that a piece of a word stands in; None where these are too many."""
        texts = [(here, block, one) for here, block in self._blocks for one in block.apart(part)]
        count = self._spelled.text.count(part)
        for _, _, one in texts:
            if count > MOST_SPELLINGS:
                break
            count += one.text.count(part)
        if count > MOST_SPELLINGS:
            return None
        found = self._none()
        for word in self._spelled.having(part):
            found[self._rows_of(word)] = True
        for here, block, one in texts:
            for word in one.having(part):
                found[here[block.figured.of(word)]] = True
        return found

    # What is most like it.

    def ranked(self, query: Query, limit: int, *, retired: bool) -> list[tuple[float, int]]:
        """Share of the question found, and key, of the first ``limit`` that are most like it.

        Ties go to the nearest size, then to the lower number.
        """
        asked = np.ones_like(self._in_use) if retired else self._in_use
        count = int(np.count_nonzero(asked))
        shares, whole = np.zeros(self.count), 0.0
        for scored in self._found(query).values():
            levels, level = self._best_of(scored)
            having = int(np.count_nonzero((level > 0) & asked))
            weight = math.log(1 + count / max(1, having))
            shares += (weight * levels / 100)[level]
            whole += weight
        shares[~asked] = 0.0
        whole = whole or 1.0
        least = max(LEAST * whole, NEAR_THE_BEST * float(shares.max(initial=0.0)))
        best = np.flatnonzero(shares >= least)
        best = best[_smallest(-np.round(shares[best] / whole, 6), self._off(query, best), limit)]
        return [(float(shares[row] / whole), int(self._pks[row])) for row in best]

    def _found(self, query: Query) -> dict[str, list[Scored]]:
        """Each typed word with the rows that have it by spelling, size or synonym."""
        found = {part: [*self._like(part)] for word in query.words for part in parts_of(word)}
        begun: dict[str, Marks] = {}
        for phrase in query.phrases:
            saying = self._none()
            for other in phrase.others:
                saying |= self._saying(other, begun)
            said = float(AS_GOOD), np.flatnonzero(saying)
            for part in {part for word in phrase.words for part in parts_of(word)}:
                found[part].append(said)
        return found

    def _like(self, typed: str) -> Iterator[Scored]:
        """Rows of words that are like it, and of what is as long as it says."""
        for size in _lengths_said(typed):
            near = np.abs(self._lengths - size * 1000) <= SIZE_TOLERANCE_MM * 1000
            yield AS_GOOD, np.flatnonzero(near)
        if typed.isalpha():
            for word in self._spelled.near(typed):
                if (score := alike(typed, word)) >= CLOSE_ENOUGH:
                    yield score, self._rows_of(word)
            return
        for here, block in self._blocks:
            yield AS_GOOD, here[block.figured.beginning(typed)]
            yield 100.0, here[block.figured.of(typed)]

    def _best_of(self, scored: list[Scored]) -> tuple[Figures, NDArray[np.uint16]]:
        """All scores, and of each row which is its best; none is the first."""
        levels = sorted({0.0, *(score for score, _ in scored)})
        level = np.zeros(self.count, np.uint16)
        for score, rows in sorted(scored, key=itemgetter(0)):
            level[rows] = levels.index(score)
        return np.array(levels), level

    def _saying(self, phrase: Sequence[str], begun: dict[str, Marks]) -> Marks:
        """Rows in which every word of a phrase begins some word."""
        found = ~self._none()
        for part in (part for stem in phrase for part in WORD.findall(stem)):
            if part not in begun:
                begun[part] = self._beginning(part)
            found &= begun[part]
        return found

    def _beginning(self, part: str) -> Marks:
        found = self._none()
        if part.isalpha():
            for word in self._spelled.beginning(part):
                found[self._rows_of(word)] = True
        else:
            for here, block in self._blocks:
                found[here[block.figured.beginning(part)]] = True
        return found

    def _rows_of(self, word: str) -> Rows:
        """Rows of a word of letters alone; put together once."""
        if word not in self._rows:
            rows = [here[block.spelled.of(word)] for here, block in self._blocks]
            self._rows[word] = np.concatenate(rows)
        return self._rows[word]

    def _off(self, query: Query, rows: NDArray[Any]) -> Figures:
        """As ``ranking.off``, for many rows."""
        away = np.zeros(len(rows))
        for size in query.sizes:
            nearest = np.full(len(rows), math.inf)
            for sizes in self._sizes.T:
                np.minimum(nearest, np.abs(sizes[rows] - _um(size)), out=nearest)
            away += nearest
        return away

    def _none(self) -> Marks:
        return np.zeros(self.count, np.bool_)


def _both(one: Marks | None, other: Marks | None) -> Marks | None:
    if one is None or other is None:
        return other if one is None else one
    return one & other


def _lengths_said(word: str) -> tuple[int, ...]:
    """Lengths in mm that a bare number of two or three figures may say, in mm or in cm."""
    if word.isascii() and word.isdigit() and 2 <= len(word) <= 3:
        return int(word), int(word) * 10
    return ()


def _joined(parts: Sequence[NDArray[Any]], none: NDArray[Any]) -> NDArray[Any]:
    return np.concatenate([none, *parts])


def _smallest(first: NDArray[Any], second: NDArray[Any], limit: int) -> NDArray[Any]:
    """The places of the smallest ``limit`` by the first key, then by the second, then in order."""
    places = np.arange(len(first))
    if len(first) > limit:
        last = np.partition(first, limit - 1)[limit - 1]
        tied = np.flatnonzero(first == last)
        sure = np.flatnonzero(first < last)
        wanted = limit - len(sure)
        if second.any() and len(tied) > wanted:
            of_them = second[tied]
            last = np.partition(of_them, wanted - 1)[wanted - 1]
            tied = np.concatenate([tied[of_them < last], tied[of_them == last]])
        places = np.concatenate([sure, tied[:wanted]])
    return places[np.lexsort([places, second[places], first[places]])]

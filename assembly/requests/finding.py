"""Finding with the spelling forgiven: what somebody types on a phone, in a hurry."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from django.db.models import QuerySet
from rapidfuzz import fuzz

from assembly.models import Package
from assembly.packages.recording import looks_like_package_code
from assembly.packages.shelf import package_at
from catalog.models import Instrument, InstrumentSet
from catalog.search import find_instruments, find_sets

MOST_FOUND = 8
CLOSE_ENOUGH = 72
"""Likeness of a typed word to a known one, 0 to 100 (rapidfuzz). Tried on the nicknames."""
Thing = TypeVar("Thing", Instrument, InstrumentSet)
_WORD = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Hits:
    """What the words may mean; a scanned set leads to its lines."""

    words: str
    instruments: tuple[Instrument, ...] = ()
    sets: tuple[InstrumentSet, ...] = ()
    package: Package | None = None
    instrument_set: InstrumentSet | None = None
    guessed: bool = False

    @property
    def nothing(self) -> bool:
        return not (self.instruments or self.sets or self.instrument_set or self.package)


def find(words: str) -> Hits:
    """By a label's code, then as the Bench finds, then with the spelling forgiven.

    Refused (from reading a label) says what is wrong with a scanned code.
    """
    words = " ".join(words.split())
    if looks_like_package_code(words):
        return _package(words)
    if scanned := InstrumentSet.objects.filter(code__iexact=words, retired=False).first():
        return Hits(words, instrument_set=scanned)
    if not words:
        return Hits(words)
    exact = tuple(find_instruments(words)[:MOST_FOUND])
    sets = tuple(find_sets(words)[:MOST_FOUND])
    if exact or sets:
        return Hits(words, exact, sets)
    instruments = forgiving(words, Instrument.objects.filter(retired=False))
    named = forgiving(words, InstrumentSet.objects.filter(retired=False))
    return Hits(words, tuple(instruments), tuple(named), guessed=True)


def _package(words: str) -> Hits:
    package = package_at(words)
    if package.instrument:
        return Hits(words, (package.instrument,), package=package)
    build = package.build
    return Hits(words, package=package, instrument_set=build.instrument_set if build else None)


def forgiving(words: str, among: QuerySet[Thing]) -> list[Thing]:
    """Those whose name is close to every typed word, the closest first: two queries.

    Only the words of each are read, and each word is compared once: 20,000 instruments have
    a few thousand different ones.
    """
    typed = _WORD.findall(words.casefold())
    alike = cache(_alike)
    scored = [
        (likeness(typed, _WORD.findall(" ".join(texts).casefold()), alike), pk)
        for pk, *texts in among.values_list("pk", *NAMES[among.model])
    ]
    close = sorted((one for one in scored if one[0] >= CLOSE_ENOUGH), key=lambda one: -one[0])
    best = [pk for _, pk in close[:MOST_FOUND]]
    found = among.in_bulk(best)
    return [found[pk] for pk in best]


NAMES: dict[type, tuple[str, ...]] = {
    Instrument: ("item_number", "name", "also_known_as", "group"),
    InstrumentSet: ("code", "name", "service"),
}
"""What each is known by."""


def likeness(
    typed: Sequence[str], known: Sequence[str], alike: Callable[[str, str], float] | None = None
) -> float:
    """How well every typed word is found among the known ones, 0 to 100: the mean of each
    word's best. A word may be a beginning.

    >>> likeness(["metzembaum"], ["metzenbaum", "scissors"])
    90.0
    >>> likeness(["sissors", "mayo"], ["mayo", "scissors", "curved"]) > 90
    True
    """
    if not typed or not known:
        return 0.0
    alike = alike or _alike
    return sum(max(alike(word, other) for other in known) for word in typed) / len(typed)


def _alike(word: str, other: str) -> float:
    whole = fuzz.ratio(word, other)
    begins = fuzz.ratio(word, other[: len(word)]) if len(word) > 2 else 0.0
    return max(whole, 0.95 * begins)

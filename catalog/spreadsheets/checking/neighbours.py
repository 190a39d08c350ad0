"""Whether an instrument weighs like others of its kind and length: a question, never a refusal.

Others of its kind share a word of its name. Weights are compared over the square of the length,
because what is longer is thicker too, by the middle (median) of the kind and its spread (the
median of the distances from it). Power, bounds and least numbers are common practice and ours,
with no source.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from statistics import median

from catalog.units import LENGTH_UNITS, WEIGHT_UNITS, show_length, show_weight

POWER = 2
"""A weight grows with this power of the length."""
LEAST_OTHERS = 6
"""Instruments that share a word, below which the word makes no kind."""
MOST_OTHERS = 400
"""Instruments of one kind that are remembered."""
LEAST_TIMES = math.log(4)
"""Up to this many times the middle of its kind nothing is asked."""
SPREADS = 5 * 1.4826
"""Distances from the middle, in medians of them (1.4826 of them are one standard deviation of
what is spread evenly to both sides), up to which nothing is asked."""
NEAR = math.log(1.25)
"""The lengths of the others that are told differ by this factor at the most, if enough do."""
LEAST_TOLD = 3

ReadSizes = tuple[str, tuple[str, Decimal], tuple[str, Decimal]]
"""A name with a length and a weight as :class:`Evidence` reads them."""
_WORD = re.compile(r"[^\W\d_]{4,}")


@lru_cache(maxsize=4096)
def _words(name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_WORD.findall(name.casefold())))


@dataclass(frozen=True, slots=True)
class _Kind:
    """Instruments that share a word: the middle and the spread of their weights over length."""

    word: str
    middle: float
    spread: float
    others: Sequence[tuple[float, float]]
    """Logarithms of length and weight."""

    def is_like(self, length: float, weight: float) -> bool:
        bound = max(LEAST_TIMES, SPREADS * self.spread)
        return abs(weight - POWER * length - self.middle) <= bound

    def told(self, length: float) -> str:
        """How many others there are near this length, and what they weigh."""
        like = [other for other in self.others if self.is_like(*other)]
        near = [other for other in like if abs(other[0] - length) <= NEAR]
        told = near if len(near) >= LEAST_TOLD else like
        long = _range([show_length(_size(each)) for each, _ in sorted(told)])
        heavy = _range([show_weight(_size(each)) for each in sorted(each for _, each in told)])
        others = f"{len(told)} others with “{self.word}” in their name"
        return f"{others}, {long} long, weigh {heavy}."


def _size(logarithm: float) -> Decimal:
    return Decimal(str(round(math.exp(logarithm), 1)))


def _range(shown: Sequence[str]) -> str:
    return shown[0] if shown[0] == shown[-1] else f"{shown[0]} to {shown[-1]}"


class Neighbours:
    """The instruments of the catalog and of the file, by the words of their names.

    >>> others = Neighbours()
    >>> for length, weight in (140, 45), (145, 50), (170, 65), (180, 75), (200, 90), (230, 120):
    ...     others.add("Mayo scissors", Decimal(length), Decimal(weight))
    >>> others.why_unlike("Fine scissors", Decimal(185), Decimal(80)) is None
    True
    >>> others.why_unlike("Fine scissors", Decimal(185), Decimal(2500))
    '2500 g for 185 mm? 4 others with “scissors” in their name, 170 mm to 230 mm long, weigh \
65 g to 120 g. Which is right?'
    """

    def __init__(self) -> None:
        self._sizes: dict[str, list[tuple[float, float]]] = defaultdict(list)
        self._kinds: dict[str, _Kind | None] = {}

    def add(self, name: str, length: object, weight: object) -> None:
        """One more instrument, in mm and g; one of which either is not known says nothing."""
        if isinstance(length, Decimal) and isinstance(weight, Decimal) and length and weight:
            sizes = (math.log(length), math.log(weight))
            for word in _words(name):
                if len(self._sizes[word]) < MOST_OTHERS:
                    self._sizes[word].append(sizes)
                    self._kinds.pop(word, None)

    def add_read(self, read: Sequence[ReadSizes], units: Mapping[str, str | None]) -> None:
        """Those of a file, their bare numbers in the units of their columns."""
        factors = {
            key: (LENGTH_UNITS if key == "length" else WEIGHT_UNITS).get(units.get(key) or "")
            for key in ("length", "weight")
        }
        for name, *sizes in read:
            known = [
                size if kind == "with unit" else factor and size * factor
                for (kind, size), factor in zip(sizes, factors.values(), strict=True)
            ]
            self.add(name, *known)

    def why_unlike(self, name: str, length: Decimal, weight: Decimal) -> str | None:
        """The sentence to ask when it weighs far more or less than others of its kind."""
        found = [kind for word in _words(name) if (kind := self._kind(word)) is not None]
        if not found or not length or not weight:
            return None
        kind = min(found, key=lambda kind: (kind.spread, -len(kind.others)))
        sizes = (math.log(length), math.log(weight))
        if kind.is_like(*sizes):
            return None
        asked = f"{show_weight(weight)} for {show_length(length)}?"
        return f"{asked} {kind.told(sizes[0])} Which is right?"

    def _kind(self, word: str) -> _Kind | None:
        if word not in self._kinds:
            sizes = self._sizes.get(word, [])
            self._kinds[word] = _kind_of(word, sizes) if len(sizes) >= LEAST_OTHERS else None
        return self._kinds[word]


def _kind_of(word: str, sizes: Sequence[tuple[float, float]]) -> _Kind:
    over = [weight - POWER * length for length, weight in sizes]
    middle = median(over)
    return _Kind(word, middle, median(abs(each - middle) for each in over), sizes)

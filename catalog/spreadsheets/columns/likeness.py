"""Names that are nearly the same: another order of words, a slip of spelling, a size spelled
another way. They are offered to a person as "same as?", never joined by the program.

Words are compared with rapidfuzz. Two names with different numbers or different sizes are
two instruments, however alike they read. The thresholds are ours, with no source.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from rapidfuzz import fuzz, process

from catalog.spreadsheets.cells.named_sizes import SIZE, sizes_in_name
from catalog.spreadsheets.columns.column import fold_heading
from catalog.units import tidy

ALIKE = 85.0
"""Least likeness of whole names, in percent of letters."""
WORDS_ALIKE = 75.0
"""Least likeness of the words in which two names differ: "left" is not "right"."""
MOST_COMPARED = 2_000
"""Names with the same numbers that are compared by spelling; beyond, by their words only."""
CANDIDATES = 5
WHOLE_MM = Decimal(1)
"""Sizes in names are compared to the millimetre: 5 1/2 in is 140 mm."""


@dataclass(frozen=True, slots=True)
class Spelled:
    """A name taken apart: its words in order of the alphabet, its numbers, its sizes in mm."""

    words: str
    numbers: tuple[str, ...]
    sizes: tuple[Decimal, ...]


def spelled(name: str) -> Spelled:
    """``name`` taken apart.

    >>> spelled("Metzenbaum scissors, curved 14 cm") == spelled("Scissors Metzenbaum curved 140mm")
    True
    """
    sizes = sorted(size.quantize(WHOLE_MM) for size in sizes_in_name(name))
    words = fold_heading(SIZE.sub(" ", tidy(name))).split()
    plain = sorted(word for word in words if not any(mark.isdigit() for mark in word))
    numbers = sorted(word for word in words if any(mark.isdigit() for mark in word))
    return Spelled(" ".join(plain), tuple(numbers), tuple(sizes))


class Names:
    """The names met so far, by item number, to hold new ones against."""

    def __init__(self) -> None:
        self._exact: dict[tuple[str, tuple[str, ...]], list[tuple[str, str, Spelled]]]
        self._exact = defaultdict(list)
        self._by_numbers: dict[tuple[str, ...], list[tuple[str, str, Spelled]]]
        self._by_numbers = defaultdict(list)

    def add(self, key: str, name: str) -> None:
        """One more instrument."""
        entry = (key, name, spelled(name))
        self._exact[entry[2].words, entry[2].numbers].append(entry)
        self._by_numbers[entry[2].numbers].append(entry)

    def like(self, name: str) -> tuple[str, str] | None:
        """Item number and name of the instrument that ``name`` may be, None when there is none.

        >>> names = Names(); names.add("HF-1", "Metzenbaum scissors, curved, 14 cm")
        >>> names.like("Scissors curved Metzenbaun 140 mm"), names.like("Metzenbaum scissors 18 cm")
        (('HF-1', 'Metzenbaum scissors, curved, 14 cm'), None)
        """
        wanted = spelled(name)
        if not wanted.words:
            return None
        for key, known, other in self._exact.get((wanted.words, wanted.numbers), ()):
            if _sizes_agree(wanted, other):
                return key, known
        return self._by_spelling(wanted)

    def _by_spelling(self, wanted: Spelled) -> tuple[str, str] | None:
        entries = [
            entry
            for entry in self._by_numbers.get(wanted.numbers, ())[:MOST_COMPARED]
            if _sizes_agree(wanted, entry[2])
        ]
        words = [entry[2].words for entry in entries]
        found = process.extract(
            wanted.words, words, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=CANDIDATES
        )
        for other, _, place in found:
            if _differ_in_spelling_only(wanted.words, other):
                return entries[place][0], entries[place][1]
        return None


def _sizes_agree(one: Spelled, other: Spelled) -> bool:
    return one.sizes == other.sizes or not one.sizes or not other.sizes


def _differ_in_spelling_only(one: str, other: str) -> bool:
    mine, theirs = set(one.split()), set(other.split())
    left, right = sorted(mine - theirs), sorted(theirs - mine)
    if len(left) != len(right):
        return "".join(sorted(one.split())) == "".join(sorted(other.split()))
    return all(fuzz.ratio(a, b) >= WORDS_ALIKE for a, b in zip(left, right, strict=True))

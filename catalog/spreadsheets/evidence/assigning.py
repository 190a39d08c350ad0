"""Which column is which, by its heading and its values: the best whole assignment, or a question.

A column is taken without a word only where the next best assignment of the sheet is clearly
worse; otherwise the least sure column is a question, and the rest is solved anew with the answer.
Its weights are ours, tried on invented lists (no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from catalog.spreadsheets.columns.column import Mapped
from catalog.spreadsheets.evidence.headings import STEMS, heading_score, says_a_part
from catalog.spreadsheets.evidence.reasons import reason
from catalog.spreadsheets.evidence.three_sizes import ORDER, order_of_sizes
from catalog.spreadsheets.evidence.values import MOST
from catalog.spreadsheets.evidence.weighing import MAKERS, SIZES, STRANGE, Weighed
from catalog.units import LENGTH_UNITS

NEEDED = 0.8
"""What it is worth to have a column that every row needs."""
MARGIN = 0.25
"""The next best assignment must be worse by this for a column to be taken silently."""
BEAM = 60
"""Assignments that are kept while they are built, column by column."""
IN_ORDER = 0.3
"""What it is worth that length >= width >= height holds row by row."""
SHOWN = 3
"""Values of a column that stand beside a choice."""
CERTAIN = ("item_number", "name", "quantity", "set_code", "set_name", *SIZES)
"""The columns of which a wrong one can hurt: taken only with a margin."""


@dataclass(frozen=True, slots=True)
class Unsure:
    """A column that nobody can be sure of: the keys that it may be, the likeliest first."""

    letter: str
    heading: str
    keys: tuple[str, ...]
    shown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """Column key to where it was found, how good that is as a whole, and what to ask, if anything.

    ``unsure`` columns are not in ``mapping``: what is not known is not read. ``why``: column
    letter to the evidence in few words."""

    mapping: dict[str, Mapped]
    score: float
    unsure: Unsure | None = None
    why: Mapping[str, str] = field(default_factory=dict)


class Columns(Weighed):
    """The best assignment of the columns below one heading row, or below none."""

    def solve(self) -> Solved:
        """The best whole assignment, without the column that nobody can be sure of."""
        score, taken = self._best({})
        unsure = self._least_sure(score, taken)
        if unsure is None:
            unsure = self._bare_numbers(taken) or self._counts_unread(taken)
            unsure = unsure or self._length_unread(taken) or self._order_unknown(taken)
        doubtful = {unsure.letter} if unsure else set()
        doubtful |= {
            letter
            for letter, key in taken.items()
            if key in CERTAIN and letter not in self._fixed and letter in self._headings
            if not self._is_declared(letter, key) and self._is_strange(letter, key)
        }
        doubtful |= {letter for letter, key in taken.items() if self._only_by_place(letter, key)}
        read = {letter: key for letter, key in taken.items() if letter not in doubtful}
        why = {letter: self._reason(letter, key) for letter, key in read.items()}
        return Solved(self._mapping(read), score, unsure, why)

    def _reason(self, letter: str, key: str) -> str:
        if letter in self._fixed:
            return "as you said"
        heading = self._headings.get(letter, "")
        known = key in self._known[letter]
        return reason(key, self._columns.get(key), heading, self._values[letter], known)

    def _mapping(self, taken: Mapping[str, str]) -> dict[str, Mapped]:
        mapping: dict[str, Mapped] = {}
        for letter, key in taken.items():
            where = Mapped(letter, self._headings.get(letter, ""), self._unit_of(letter, key))
            if key == "sizes":
                for part, each in enumerate(self._order_in(letter), start=1):
                    if each not in taken.values():
                        mapping[each] = Mapped(where.letter, where.heading, where.unit, part)
            elif key in self._columns:
                mapping[key] = where
        return mapping

    def _order_in(self, letter: str) -> tuple[str, ...]:
        """The order of the sizes in each cell, which a person who says that they are sizes says."""
        heading = self._headings.get(letter, "")
        told = order_of_sizes(heading, self._cells.get(letter, ()))
        return told or (ORDER if letter in self._fixed else ())

    def _unit_of(self, letter: str, key: str) -> str | None:
        column = self._columns.get(key)
        return self._unit(letter) if key == "sizes" or (column and column.unit) else None

    def _best(self, banned: Mapping[str, str]) -> tuple[float, dict[str, str]]:
        """The best assignment in which no letter has its banned key: its worth, letter to key."""
        beam: list[tuple[float, dict[str, str]]] = [(0.0, {})]
        for letter, options in self._options.items():
            used = [set(taken.values()) for _, taken in beam]
            grown = [(score, place, "") for place, (score, _) in enumerate(beam)]
            for key, worth in options.items():
                if banned.get(letter) == key:
                    continue
                worth += NEEDED if key in self._needed else 0.0
                grown += [
                    (score + worth, place, key)
                    for place, (score, _) in enumerate(beam)
                    if key not in used[place]
                ]
            grown.sort(key=lambda each: -each[0])
            beam = [
                (score, {**beam[place][1], letter: key} if key else beam[place][1])
                for score, place, key in grown[:BEAM]
            ]
        return max(
            ((score + self._order(taken), taken) for score, taken in beam), key=lambda each: each[0]
        )

    def _order(self, taken: Mapping[str, str]) -> float:
        """What length >= width >= height says, row by row, of an assignment."""
        letters = {key: letter for letter, key in taken.items()}
        worth = 0.0
        for more, less in (("length", "width"), ("length", "height")):
            if more in letters and less in letters:
                share = self._share_not_less(letters[more], letters[less])
                worth += IN_ORDER * (2 * share - 1)
        return worth

    def _least_sure(self, score: float, taken: Mapping[str, str]) -> Unsure | None:
        """The column whose next best key costs least, where that is less than the margin."""
        close: list[tuple[float, str, str]] = []
        for letter, key in taken.items():
            if key not in CERTAIN or letter in self._fixed:
                continue
            if key == "item_number" and self._may_be_the_makers(letter, taken):
                close.append((0.0, letter, MAKERS))
                continue
            if self._is_declared(letter, key):
                continue
            if letter in self._headings and self._is_strange(letter, key):
                close.append((0.0, letter, ""))  # Its values alone speak for it.
                continue
            other, instead = self._best({letter: key})
            at_stake = instead.get(letter, "") in self._columns or key in self._moved(
                instead, letter
            )
            if score - other < MARGIN and at_stake:
                close.append((score - other, letter, instead.get(letter, "")))
        if not close:
            return None
        _, letter, second = min(close)
        likely = sorted(self._options[letter], key=lambda key: -self._options[letter][key])
        return self._asked(letter, [taken[letter], second, *likely])

    def _may_be_the_makers(self, letter: str, taken: Mapping[str, str]) -> bool:
        """Whether the item numbers may as well be the maker's: the catalog knows those of another
        column, or both have a heading of the maker's and the catalog knows neither."""
        known, headed = self._known[letter], self._is_declared(letter, "item_number")
        if headed and "item_number" in known:
            return False
        others = [
            each
            for each in self.letters
            if each not in (letter, *self._fixed) and taken.get(each, MAKERS) == MAKERS
        ]
        if any("item_number" in self._known[each] for each in others):
            return True
        if "item_number" in known or not self._is_declared(letter, MAKERS):
            return False
        return any(
            each in taken
            and self._is_declared(each, MAKERS)
            and (MAKERS in known or MAKERS not in self._known[each])
            for each in others
        )

    def _moved(self, taken: Mapping[str, str], letter: str) -> list[str]:
        """The keys of the columns that have another heading than this one: where two have the
        same, as in tables side by side, the first is meant."""
        heading = self._headings.get(letter, "")
        return [
            key
            for other, key in taken.items()
            if not heading or self._headings.get(other, "") != heading
        ]

    def _bare_numbers(self, taken: Mapping[str, str]) -> Unsure | None:
        """The first column of numbers under no heading, or one that says nothing, where no other
        heading tells the length: the one size every list has."""
        by_heading = {key for letter, key in taken.items() if letter in self._headings}
        by_heading -= {self._fixed[letter] for letter in self._fixed}
        if "length" not in self._columns or "length" in by_heading:
            return None
        for letter in self.letters:
            values, key = self._values[letter], taken.get(letter, "")
            if letter in self._fixed or (key and not self._only_by_place(letter, key)):
                continue
            if letter in self._headings and self._is_told(letter):
                continue
            if values.numbers > MOST or values.lengths > MOST:
                known = {
                    taken[each] for each in taken if not self._only_by_place(each, taken[each])
                }
                left = [key for key in SIZES if key not in known]
                if left and not values.running:
                    return self._asked(letter, left)
        return None

    def _length_unread(self, taken: Mapping[str, str]) -> Unsure | None:
        """A column of lengths under a strange heading beside a width or a height that are read."""
        read = {*taken.values(), *self._fixed.values()}
        if "length" in read or "length" not in self._columns or not {"width", "height"} & read:
            return None
        for letter in self.letters:
            heading = self._headings.get(letter, "")
            if letter in taken or letter in self._fixed or says_a_part(heading):
                continue
            values = self._values[letter]
            lengths = values.lengths > MOST or self._unit(letter) in LENGTH_UNITS
            if lengths and values.sizes > MOST:
                return self._asked(letter, ["length"])
        return None

    def _order_unknown(self, taken: Mapping[str, str]) -> Unsure | None:
        """A column of three sizes in a cell of which nothing tells the length, where no other
        column has it."""
        if "length" not in self._columns or "length" in taken.values():
            return None
        letters = (letter for letter, key in taken.items() if key == "sizes")
        unknown = next((letter for letter in letters if not self._order_in(letter)), None)
        return self._asked(unknown, ["sizes"]) if unknown else None

    def _counts_unread(self, taken: Mapping[str, str]) -> Unsure | None:
        """A column of counts under a strange heading, where every line needs a count."""
        if "quantity" not in self._needed or "quantity" in (*taken.values(), *self._fixed.values()):
            return None
        for letter in self.letters:
            heading, values = self._headings.get(letter, ""), self._values[letter]
            if letter in taken or letter in self._fixed or not heading or values.running:
                continue
            if self._unit(letter) or says_a_part(heading):
                continue  # A size or a weight.
            known = max(heading_score(heading, key) for key in STEMS)
            if values.counts > MOST and known < STRANGE:
                return self._asked(letter, ["quantity"])
        return None

    def _asked(self, letter: str, keys: Sequence[str]) -> Unsure:
        known = [key for key in dict.fromkeys(keys) if self._can_be(key)]
        texts = [cell.typed.strip() for cell in self._cells.get(letter, ())]
        shown = tuple(dict.fromkeys(texts))[:SHOWN]
        return Unsure(letter, self._headings.get(letter, ""), tuple(known), shown)

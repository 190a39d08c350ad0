"""Which column is which, by its heading and its values: the best whole assignment, or a question.

A column is taken without a word only where the next best assignment of the sheet is clearly
worse; otherwise the least sure column is a question, and the rest is solved anew with the answer.
Weights are ours, tried on invented lists (no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from catalog.spreadsheets.columns.column import (
    MAX_HEADING,
    Column,
    Mapped,
    declared_fit,
    unit_in_heading,
)
from catalog.spreadsheets.evidence.beside_names import agreeing
from catalog.spreadsheets.evidence.headings import (
    STEMS,
    WHOLE_SIZES,
    heading_score,
    says_a_part,
    speaks_of_a_set,
)
from catalog.spreadsheets.evidence.known import NOTHING_TOLD, Told, known_shares
from catalog.spreadsheets.evidence.reasons import reason
from catalog.spreadsheets.evidence.three_sizes import order_of_sizes, spelled_out
from catalog.spreadsheets.evidence.values import MOST, Values
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS, UnitError, read_length

HEADING = 1.2
"""What a heading weighs beside the values."""
DECLARED, LESS_SURE = 1.5, 0.01
"""What a whole declared heading is worth, and what each spelling further down its list is less."""
LEAST_OF_DECLARED = -0.3
"""Values cannot speak against a declared heading by more than this: it says what it is."""
AGAINST_DECLARED, NEVER_READ = 0.5, 0.05
"""What another key is worth less under a declared heading, and one that is never read."""
TAKEN_FROM = 0.55
"""A column is read when its evidence is above this."""
NEEDED = 0.8
"""What it is worth to have a column that every row needs."""
MARGIN = 0.25
"""The next best assignment must be worse by this for a column to be taken silently."""
STRANGE = 0.5
"""A heading that fits its column by less is a strange one."""
BY_UNIT = 0.45
"""What a unit of weight is worth as a heading: it is asked."""
BEAM = 60
"""Assignments that are kept while they are built, column by column."""
SAMPLED = 60
"""Rows by which the values of a column are judged."""
KNOWN = 1.5
"""What it is worth that the catalog knows all values of a column as what it may be."""
RIGHT_UNIT, WRONG_UNIT = 0.3, -1.5
IN_ORDER = 0.3
"""What it is worth that length >= width >= height holds row by row."""
IN_NAMES = 0.6
"""What it is worth for the length, and against other keys, that the names say the same sizes."""
FIRST_OF_SIZES = 0.3
"""A single size without a heading is the length: the one size every list has."""
SIZES, MAKERS = WHOLE_SIZES, "maker_catalog_number"
CERTAIN = ("item_number", "name", "quantity", "set_code", "set_name", *SIZES)
"""The columns of which a wrong one can hurt: taken only with a margin."""
OF_EVERY_LINE = ("set_code", "set_name")
"""Columns that most rows of a list have."""
SHOWN = 3
"""Values of a column that stand beside a choice."""


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


def _size(cell: Cell) -> Decimal | None:
    """A bare number, or a length with its unit as mm; None for anything else."""
    try:
        return read_length(cell.value, "mm")
    except UnitError:
        return None


class Columns:
    """The columns below one heading row, or below none, with the evidence for each key."""

    def __init__(
        self,
        headings: Mapping[str, Cell],
        rows: Sequence[Row],
        columns: Sequence[Column],
        units: Mapping[str, str] | None = None,
        told: Told = NOTHING_TOLD,
    ) -> None:
        self._columns = {column.key: column for column in columns}
        self._needed = {column.key for column in columns if column.required} | {"set_code"}
        self._fixed, self._units = told.fixed, units or {}
        self._headings = {
            letter: cell.value.strip()
            for letter, cell in headings.items()
            if isinstance(cell.value, str) and cell.formula is None
            if len(cell.value) <= MAX_HEADING
        }
        self._headings |= spelled_out(self._headings, self._units)
        self._rows = rows[:SAMPLED]
        self._shares: dict[tuple[str, str], float] = {}
        cells: dict[str, list[Cell]] = {}
        for row in self._rows:
            for cell in row.cells:
                if not cell.is_empty:
                    cells.setdefault(cell.column_letter, []).append(cell)
        self._cells = cells
        named = {letter for letter, key in self._fixed.items() if key}
        letters = sorted({*headings, *cells, *named}, key=lambda each: (len(each), each))
        self.letters = tuple(letters)
        self._values = {letter: Values.of(cells.get(letter, ())) for letter in letters}
        self._known = {
            letter: known_shares(cells.get(letter, ()), told.on_record) for letter in letters
        }
        self._in_names = {letter for letter, share in agreeing(self._rows).items() if share > MOST}
        self._declared = {
            letter for letter in letters for key in columns if self._is_declared(letter, key.key)
        }
        self._options = {
            letter: self._keys_of(letter, place) for place, letter in enumerate(letters)
        }

    def _keys_of(self, letter: str, place: int) -> dict[str, float]:
        """Key to the evidence for it, of the keys that the column can be."""
        if letter in self._fixed:
            key = self._fixed[letter]
            return {key: 5.0} if self._can_be(key) else {}
        left = 0.001 * place
        others = set(self._fixed.values())
        keys = [key for key in dict.fromkeys((*self._columns, *STEMS)) if key not in others]
        scores = {key: self._score(letter, key) - left for key in keys}
        return {key: score for key, score in scores.items() if score > 0}

    def _can_be(self, key: str) -> bool:
        """Whether a column may be read as ``key``: three sizes in a cell where there are sizes."""
        return key in self._columns or (key == "sizes" and "length" in self._columns)

    def _score(self, letter: str, key: str) -> float:
        heading, values = self._headings.get(letter, ""), self._values[letter]
        column = self._columns.get(key)
        unit = self._unit(letter)
        rank = declared_fit(heading, column) if heading and column else None
        if rank is not None:
            fit = max(self._fit(letter, key), LEAST_OF_DECLARED) if values.filled else 0.0
            return DECLARED - LESS_SURE * rank + fit + self._unit_score(key, unit) - TAKEN_FROM
        if key not in STEMS:
            return -1.0
        if key in OF_EVERY_LINE and not self._may_tell_sets(letter):
            return -1.0
        said = heading_score(heading, key) if heading else 0.0
        if key == "weight" and not said and unit in WEIGHT_UNITS and heading:
            said = 0.0 if says_a_part(heading) else BY_UNIT
        worth = HEADING * said + self._fit(letter, key) + self._unit_score(key, unit) - TAKEN_FROM
        if letter in self._in_names and key in (*SIZES, "quantity") and (said or not heading):
            worth += IN_NAMES if key == "length" else -IN_NAMES
        elif key in SIZES and not said and (heading or self._bare(letter)):
            return -1.0  # Bare numbers under a strange heading, or none, may be anything.
        if key == "length" and not heading:
            worth += FIRST_OF_SIZES
        if letter in self._declared:
            worth -= AGAINST_DECLARED
        return worth if column else worth - NEVER_READ

    def _fit(self, letter: str, key: str) -> float:
        """How well the values fit ``key``; what the catalog knows as one is hardly another."""
        fit, share = self._values[letter].score(key), self._known[letter].get(key, 0.0)
        return max(fit, 0.0) + KNOWN * share if share else fit

    def _may_tell_sets(self, letter: str) -> bool:
        """Whether a column can have the set of each line: its heading means sets, and most rows
        have it."""
        filled = self._values[letter].filled >= MOST * len(self._rows)
        return filled and speaks_of_a_set(self._headings.get(letter, ""))

    def _bare(self, letter: str) -> bool:
        values = self._values[letter]
        return values.lengths + values.weights < MOST

    def _unit(self, letter: str) -> str | None:
        return unit_in_heading(self._headings.get(letter, ""))[1] or self._units.get(letter)

    def _unit_score(self, key: str, unit: str | None) -> float:
        if unit is None:
            return 0.0
        column = self._columns.get(key)
        sort = column.unit if column else {"weight": "g"}.get(key, "mm" if key in SIZES else None)
        if key == "sizes":
            return RIGHT_UNIT if unit in LENGTH_UNITS else WRONG_UNIT
        if sort is None:
            return WRONG_UNIT
        right = LENGTH_UNITS if sort == "mm" else WEIGHT_UNITS
        return RIGHT_UNIT if unit in right else WRONG_UNIT

    def solve(self) -> Solved:
        """The best whole assignment, without the column that nobody can be sure of."""
        score, taken = self._best({})
        unsure = self._least_sure(score, taken)
        if unsure is None:
            unsure = self._bare_numbers(taken) or self._counts_unread(taken)
            unsure = unsure or self._length_unread(taken)
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

    def _only_by_place(self, letter: str, key: str) -> bool:
        """Whether nothing tells a width from a height: no heading stands above it."""
        headed = letter in self._headings or letter in self._fixed
        return key in ("width", "height") and not headed

    def _mapping(self, taken: Mapping[str, str]) -> dict[str, Mapped]:
        mapping: dict[str, Mapped] = {}
        for letter, key in taken.items():
            where = Mapped(letter, self._headings.get(letter, ""), self._unit_of(letter, key))
            if key == "sizes":
                order = order_of_sizes(where.heading, self._cells.get(letter, ()))
                for part, each in enumerate(order, start=1):
                    if each not in taken.values():
                        mapping[each] = Mapped(where.letter, where.heading, where.unit, part)
            elif key in self._columns:
                mapping[key] = where
        return mapping

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

    def _share_not_less(self, more: str, less: str) -> float:
        """The share of rows in which one column's bare number is not below the other's."""
        if (more, less) in self._shares:
            return self._shares[more, less]
        pairs = [
            (one, other)
            for row in self._rows
            for one, other in [(_size(row.at(more)), _size(row.at(less)))]
            if one is not None and other is not None
        ]
        share = sum(one >= other for one, other in pairs) / len(pairs) if pairs else 0.5
        self._shares[more, less] = share
        return share

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

    def _is_declared(self, letter: str, key: str) -> bool:
        column, heading = self._columns.get(key), self._headings.get(letter, "")
        return column is not None and declared_fit(heading, column) is not None

    def _is_strange(self, letter: str, key: str) -> bool:
        """Whether neither the heading of a column nor the catalog says that it is ``key``."""
        return heading_score(self._headings[letter], key) < STRANGE and (
            key not in self._known[letter]
        )

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

    def _is_told(self, letter: str) -> bool:
        """Whether the heading of a column says anything at all."""
        heading = self._headings[letter]
        said = max(heading_score(heading, key) for key in STEMS)
        return letter in self._declared or said >= STRANGE

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

    def _counts_unread(self, taken: Mapping[str, str]) -> Unsure | None:
        """A column of counts under a strange heading, where every line needs a count."""
        if "quantity" not in self._needed or "quantity" in (*taken.values(), *self._fixed.values()):
            return None
        for letter in self.letters:
            heading, values = self._headings.get(letter, ""), self._values[letter]
            if letter in taken or letter in self._fixed or not heading or values.running:
                continue
            known = max(heading_score(heading, key) for key in STEMS)
            if values.counts > MOST and known < STRANGE:
                return self._asked(letter, ["quantity"])
        return None

    def _asked(self, letter: str, keys: Sequence[str]) -> Unsure:
        known = [key for key in dict.fromkeys(keys) if self._can_be(key)]
        texts = [cell.typed.strip() for cell in self._cells.get(letter, ())]
        shown = tuple(dict.fromkeys(texts))[:SHOWN]
        return Unsure(letter, self._headings.get(letter, ""), tuple(known), shown)

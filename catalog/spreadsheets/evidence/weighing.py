"""What each column of a sheet may be, weighed by its heading, its values and the catalog.

Weights are ours, tried on invented lists (no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from catalog.spreadsheets.columns.column import (
    MAX_HEADING,
    Column,
    declared_fit,
    unit_in_heading,
)
from catalog.spreadsheets.evidence.beside import first_letters
from catalog.spreadsheets.evidence.beside_names import agreeing, bare_length
from catalog.spreadsheets.evidence.headings import (
    STEMS,
    WHOLE_SIZES,
    heading_score,
    says_a_part,
    says_more,
    speaks_of_a_set,
)
from catalog.spreadsheets.evidence.known import NOTHING_TOLD, Told, known_shares
from catalog.spreadsheets.evidence.three_sizes import spelled_out
from catalog.spreadsheets.evidence.values import MOST, Values
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS

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
STRANGE = 0.5
"""A heading that fits its column by less is a strange one."""
BY_UNIT = 0.45
"""What a unit of weight in heading or cells is worth as a heading: it is asked."""
SAMPLED = 60
"""Rows by which the values of a column are judged."""
KNOWN = 1.5
"""What it is worth that the catalog knows all values of a column as what it may be."""
RIGHT_UNIT, WRONG_UNIT = 0.3, -1.5
IN_NAMES = 0.6
"""What it is worth for the length, and against other keys, that the names say the same sizes."""
FIRST_OF_SIZES = 0.3
"""A single size without a heading is the length: the one size every list has."""
SIZES, MAKERS = WHOLE_SIZES, "maker_catalog_number"
OF_EVERY_LINE = ("set_code", "set_name")
"""Columns that most rows of a list have."""


class Weighed:
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
        self._beside = first_letters(self._headings)[1:2]
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
        if any((len(each), each) <= (len(letter), letter) for each in self._beside):
            return {}  # A table of its own beside the first: one table is read.
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
        of_weights = unit in WEIGHT_UNITS or values.weights > MOST
        if key == "weight" and not said and of_weights and heading:
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
        have it, or the first line of each set."""
        if not speaks_of_a_set(self._headings.get(letter, "")) or not self._rows:
            return False
        values = self._values[letter]
        first_lines = values.different == 1 and not self._rows[0].at(letter).is_empty
        return first_lines or values.filled >= MOST * len(self._rows)

    def _bare(self, letter: str) -> bool:
        values = self._values[letter]
        return values.lengths + values.weights < MOST

    def _unit(self, letter: str) -> str | None:
        said, below = unit_in_heading(self._headings.get(letter, ""))[1], self._units.get(letter)
        return None if said and below and said != below else said or below

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

    def _is_declared(self, letter: str, key: str) -> bool:
        column, heading = self._columns.get(key), self._headings.get(letter, "")
        return column is not None and declared_fit(heading, column) is not None

    def _is_strange(self, letter: str, key: str) -> bool:
        """Whether neither the heading of a column nor the catalog says that it is ``key``, or the
        heading of a size says more than can be understood."""
        heading = self._headings[letter]
        if key in SIZES and says_more(heading) and letter not in self._in_names:
            return True
        return heading_score(heading, key) < STRANGE and key not in self._known[letter]

    def _is_told(self, letter: str) -> bool:
        """Whether the heading of a column says anything at all."""
        heading = self._headings[letter]
        said = max(heading_score(heading, key) for key in STEMS)
        return letter in self._declared or said >= STRANGE

    def _only_by_place(self, letter: str, key: str) -> bool:
        """Whether nothing tells a width from a height: no heading stands above it."""
        headed = letter in self._headings or letter in self._fixed
        return key in ("width", "height") and not headed

    def _share_not_less(self, more: str, less: str) -> float:
        """The share of rows in which one column's bare number is not below the other's."""
        if (more, less) in self._shares:
            return self._shares[more, less]
        pairs = [
            (one, other)
            for row in self._rows
            for one, other in [(bare_length(row.at(more).value), bare_length(row.at(less).value))]
            if one is not None and other is not None
        ]
        share = sum(one >= other for one, other in pairs) / len(pairs) if pairs else 0.5
        self._shares[more, less] = share
        return share

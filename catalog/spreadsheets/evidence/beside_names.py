"""Columns of bare numbers held against the sizes that stand in the names of the same rows."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from catalog.spreadsheets.cells.named_sizes import SIZE, size_in_name
from catalog.spreadsheets.workbook.cell import Cell, Row, Value
from catalog.units import LENGTH_UNITS, UnitError, read_length

UNITS = tuple(LENGTH_UNITS[unit] for unit in ("mm", "cm", "in"))
NEAR = Decimal("0.02")
"""A number is the size in the name when they differ by no more: 140 mm and 5 1/2 in (ours)."""
LEAST_ROWS = 3
"""Fewer names with a size than this prove nothing."""


def agreeing(rows: Sequence[Row]) -> dict[str, float]:
    """Column letter to the share of rows in which its number is the size in a text of the row, in
    one and the same unit."""
    seen: Counter[str] = Counter()
    same: Counter[tuple[str, Decimal]] = Counter()
    for row in rows:
        named = [size for cell in row.cells if (size := _named(cell)) is not None]
        if not named:
            continue
        for cell in row.cells:
            number = _number(cell)
            if number is None:
                continue
            seen[cell.column_letter] += 1
            same.update(
                (cell.column_letter, unit)
                for unit in UNITS
                if abs(number * unit - max(named)) <= NEAR * max(named)
            )
    shares: dict[str, float] = {}
    for (letter, _), count in same.items():
        if seen[letter] >= LEAST_ROWS:
            shares[letter] = max(shares.get(letter, 0.0), count / seen[letter])
    return shares


def _named(cell: Cell) -> Decimal | None:
    text = cell.value
    if not isinstance(text, str) or not re.search(r"[^\W\d_]{3}", SIZE.sub(" ", text)):
        return None
    return size_in_name(text)


def _number(cell: Cell) -> Decimal | None:
    if isinstance(cell.value, str) and not re.fullmatch(r"[0-9][0-9., /-]*", cell.value.strip()):
        return None
    return bare_length(cell.value)


@lru_cache(maxsize=4096, typed=True)
def bare_length(value: Value) -> Decimal | None:
    """A bare number, or a length with its unit as mm; None for anything else. The same cells are
    asked about many times while their column is found."""
    try:
        return read_length(value, "mm")
    except UnitError:
        return None

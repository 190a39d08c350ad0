"""The order of the sizes in cells such as 170 x 80 x 10: by the heading, else by the numbers."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

from catalog.spreadsheets.columns.column import BETWEEN_SIZES, SIZES_IN_A_CELL, unit_in_heading
from catalog.spreadsheets.evidence.headings import heading_score
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import (
    LENGTH_UNITS,
    UnitError,
    decimal_mark,
    read_length,
    tidy,
    without_accents,
)

ORDER = ("length", "width", "height")
A_HEADING = 0.6
"""A heading fits a column from here."""
NEARLY_ALL = 0.9
"""The share of cells in which the first size is the largest, for it to be the length (ours)."""
_LETTERS = re.compile(r"(?<![a-z])([a-z])[a-z]* ?[x*/] ?([a-z])[a-z]* ?[x*/] ?([a-z])")
_LENGTH = "lcd"
"""First letters of "length" in nine languages; d is the Polish one, c the Portuguese one."""
_HEIGHT = "ht"
_WIDTH = "wb"


def order_of_sizes(heading: str, cells: Sequence[Cell]) -> tuple[str, ...]:
    """The sizes from the first part to the last; none where nothing tells which is the length.

    >>> order_of_sizes("Maße (LxBxH)", ()), order_of_sizes("B x H x L", ())
    (('length', 'width', 'height'), ('width', 'height', 'length'))
    >>> order_of_sizes("Size", [Cell(2, "C", "170x80x10")]), order_of_sizes("Size", ())
    (('length', 'width', 'height'), ())
    >>> order_of_sizes("Size", [Cell(2, "C", "12,125 x 3,500 x 1,250")])
    ('length', 'width', 'height')
    """
    folded = without_accents(tidy(heading).casefold()).replace("×", "x")
    letters = _LETTERS.search(folded)
    if letters and letters[1] in _LENGTH and not (letters[1] == "d" and "l" in letters.groups()):
        return ("length", "height", "width") if letters[2] in _HEIGHT else ORDER
    if letters:
        named = ["length" if letter == "l" else "width" if letter in _WIDTH else "height"
                 for letter in letters.groups()]  # fmt: skip
        return tuple(named) if set(named) == set(ORDER) else ()
    marks = _marks(cells)
    sizes = [read for cell in cells if all(read := [_numbers(cell, mark) for mark in marks])]
    first = sum(all(each[0] == max(each) for each in read) for read in sizes)
    return ORDER if sizes and first >= NEARLY_ALL * len(sizes) else ()


def spelled_out(headings: Mapping[str, str], units: Mapping[str, str]) -> dict[str, str]:
    """Column letter to its size and unit, for headings of one letter with a unit of length, where
    L and another stand side by side, or the length has a heading of its own.

    >>> spelled_out({"A": "Item", "B": "L [mm]", "C": "B [mm]", "D": "H [mm]"}, {})
    {'B': 'length (mm)', 'C': 'width (mm)', 'D': 'height (mm)'}
    >>> spelled_out({"B": "Length (mm)", "C": "H (mm)"}, {}), spelled_out({"C": "H (mm)"}, {})
    ({'C': 'height (mm)'}, {})
    """
    found: dict[str, tuple[str, str]] = {}
    for letter, heading in headings.items():
        bare, said = unit_in_heading(heading)
        unit = said or units.get(letter)
        if len(bare) == 1 and unit and unit in LENGTH_UNITS:
            found[letter] = bare, unit
    named = {"l": "length", **dict.fromkeys(_WIDTH, "width"), **dict.fromkeys(_HEIGHT, "height")}
    keys = [named.get(bare, "") for bare, _ in found.values()]
    if "length" not in keys and any(
        heading_score(heading, "length") >= A_HEADING for heading in headings.values()
    ):
        keys.append("length")
    if len(keys) < 2 or "length" not in keys or "" in keys or len(set(keys)) < len(keys):
        return {}
    return {letter: f"{named[bare]} ({unit})" for letter, (bare, unit) in found.items()}


def _marks(cells: Sequence[Cell]) -> list[str]:
    """The mark before decimals that the cells show; both where they show none, or two."""
    parts = (part for cell in cells for part in BETWEEN_SIZES.split(cell.typed))
    shown = {mark for part in parts if (mark := decimal_mark(part))}
    return [*shown] if len(shown) == 1 else [".", ","]


def _numbers(cell: Cell, mark: str) -> list[Decimal]:
    """The three numbers of a cell, whatever their unit; none where there are not three."""
    parts = BETWEEN_SIZES.split(cell.typed)
    try:
        numbers = [read_length(part, "mm", mark=mark) for part in parts]
    except UnitError:
        return []
    return numbers if len(numbers) == SIZES_IN_A_CELL else []

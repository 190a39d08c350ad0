"""Headings over two rows: what stands above several columns passes its unit down to each."""

from __future__ import annotations

import re
from collections.abc import Sequence

from openpyxl.utils import column_index_from_string, get_column_letter

from catalog.spreadsheets.columns.column import MAX_HEADING, unit_in_heading
from catalog.spreadsheets.evidence.headings import STEMS, WHOLE_SIZES, heading_score
from catalog.spreadsheets.evidence.three_sizes import order_of_sizes
from catalog.spreadsheets.workbook.cell import Cell, Row
from catalog.units import unit_of_word

A_HEADING = 0.6
"""A heading fits a column from here."""
MOST_HEAD = 0.8
"""The share of the upper row's cells that are texts without digits; a year may stand among them."""
SEVERAL = 2
"""A row with fewer cells is a title, not the upper one of two rows of headings."""
NO_SIZE = frozenset({"€", "$", "£", "eur", "usd", "gbp", "chf", "kr", "sek", "pln", "zł", "-", "–",
                     "no", "no.", "nr", "nr.", "#", "text", "pcs", "stk", "st", "ea"})  # fmt: skip
"""What stands in a row of units over columns that are no sizes."""
MOST_IN_A_GROUP = 4
"""Columns that one heading stands above: length, width, height and weight."""


def units_in(row: Row) -> dict[str, str]:
    """Column letter to unit, when the row holds units only, or what is no size beside them; else
    nothing."""
    units = {
        cell.column_letter: unit
        for cell in row.cells
        if isinstance(cell.value, str) and (unit := _unit(cell))
    }
    others = [cell for cell in row.cells if cell.column_letter not in units]
    return units if all(each.typed.strip().casefold() in NO_SIZE for each in others) else {}


def two_rows_as_one(rows: Sequence[Row], upper: int) -> tuple[Row, dict[str, str]] | None:
    """Two rows of headings as one, with the units that the upper one passes down to the columns
    below a heading over several; None where they are not two such rows."""
    if not 0 <= upper < len(rows) - 1:
        return None
    above, below = rows[upper], rows[upper + 1]
    heads = sum(map(_may_head, above.cells))
    if heads < MOST_HEAD * len(above.cells):
        return None
    if len(above.cells) < SEVERAL and not _is_over_sizes(above.cells[0], below):
        return None
    if not all(map(_may_head, below.cells)):
        return None
    if below.number != above.number + 1 or units_in(below):
        return None
    over = _over(above, below)
    known = sum(_is_known(cell, over.get(cell.column_letter)) for cell in below.cells)
    if known < len(below.cells) * A_HEADING or known < 1:
        return None
    return _as_one(above, below, over)


def _is_over_sizes(only: Cell, below: Row) -> bool:
    """Whether the only cell of a row heads the sizes below it, and is no title of the list."""
    inside = below.cells[0].column_letter != only.column_letter
    return inside and len(below.cells) > SEVERAL and heading_score(only.typed, "sizes") >= A_HEADING


def _may_head(cell: Cell) -> bool:
    text = cell.value
    if not isinstance(text, str) or cell.formula is not None or len(text) > MAX_HEADING:
        return False
    return not re.search("[0-9]", text)


def _over(above: Row, below: Row) -> dict[str, Cell]:
    """Column letter to the heading over it, where that stands further left: its columns are those
    without a heading of their own in the upper row."""
    found: dict[str, Cell] = {}
    for cell in below.cells:
        place = column_index_from_string(cell.column_letter)
        for left in range(place, max(place - MOST_IN_A_GROUP, 0), -1):
            head = above.at(get_column_letter(left))
            if not head.is_empty:
                found[cell.column_letter] = head
                break
    return found


def _is_known(cell: Cell, over: Cell | None) -> bool:
    if max(heading_score(cell.typed, key) for key in STEMS) >= A_HEADING or _unit(cell):
        return True
    return over is not None and _is_a_letter(cell) and heading_score(over.typed, "sizes") > 0


def _unit(cell: Cell) -> str | None:
    return unit_of_word(cell.typed.strip(" ()[]"))


def _is_size(cell: Cell) -> bool:
    return _is_a_letter(cell) or any(
        heading_score(cell.typed, key) >= A_HEADING for key in WHOLE_SIZES
    )


def _is_a_letter(cell: Cell) -> bool:
    return len(cell.typed.strip(" .:")) == 1 and _unit(cell) is None


def _as_one(above: Row, below: Row, over: dict[str, Cell]) -> tuple[Row, dict[str, str]]:
    units: dict[str, str] = {}
    heads = {cell.column_letter: cell for cell in above.cells}
    for cell in below.cells:
        head = over.get(cell.column_letter)
        unit = _unit(cell)
        if unit is None or head is None:
            heads[cell.column_letter] = cell
        passed = unit_in_heading(head.typed)[1] if head is not None and _is_size(cell) else None
        if unit := unit or passed:
            units[cell.column_letter] = unit
    heads |= _single_letters(below)
    cells = sorted(heads.values(), key=lambda each: column_index_from_string(each.column_letter))
    return Row(below.number, tuple(cell._replace(row=below.number) for cell in cells)), units


def _single_letters(below: Row) -> dict[str, Cell]:
    """L, B and H side by side under a heading for sizes, spelled out."""
    letters = [cell for cell in below.cells if _is_a_letter(cell)]
    order = order_of_sizes("x".join(cell.typed.strip(" .:") for cell in letters), ())
    if len(letters) != len(order):
        return {}
    return {
        cell.column_letter: cell._replace(value=key)
        for cell, key in zip(letters, order, strict=True)
    }

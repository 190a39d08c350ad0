"""One cell and one row of a spreadsheet, as they were typed."""

from __future__ import annotations

from collections.abc import Set
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import NamedTuple

Value = str | int | float | bool | Decimal | datetime | date | time | timedelta | None

CSV_FORMAT = "csv"
"""The number format of every .csv cell: there a number is always text."""


class Cell(NamedTuple):
    """One cell as it was typed. ``formula`` is its text when it is one, and then ``value`` is
    what the spreadsheet program last calculated, or None when it never did. ``merged`` names
    the cell that this one was merged with, where the value is taken from there."""

    row: int
    column_letter: str
    value: Value = None
    formula: str | None = None
    number_format: str = ""
    merged: str = ""

    @property
    def typed(self) -> str:
        """What the person sees in the edit line; '' for an empty cell.

        >>> Cell(87, "B", None, '=A1&"x"').typed, Cell(6, "F", 125.0).typed, Cell(6, "F").typed
        ('=A1&"x"', '125', '')
        >>> Cell(6, "F", datetime(2026, 4, 3)).typed
        '2026-04-03'
        """
        if self.formula is not None:
            return self.formula
        value = self.value
        if isinstance(value, str):
            return value
        if isinstance(value, float) and value.is_integer():
            return f"{value:.0f}"
        if isinstance(value, datetime) and value.time() == time():
            return f"{value.date()}"
        return "" if value is None else str(value)

    def typed_over(self, text: str) -> Cell:
        """The cell with another text in it: a unit that its format shows stays, and a number is
        no number stored as text."""
        shows_more = '"' in self.number_format or "\\" in self.number_format
        shows_more = shows_more and "@" not in self.number_format
        kept = self.number_format if shows_more else CSV_FORMAT
        return Cell(self.row, self.column_letter, text, None, kept)

    @property
    def is_empty(self) -> bool:
        """True when nothing is in the cell, or only spaces; a formula never is."""
        if self.formula is not None:
            return False
        return self.value is None or (isinstance(self.value, str) and not self.value.strip())


class Row:
    """The filled cells of one row; ``number`` is the one that the spreadsheet shows."""

    __slots__ = ("_by_letter", "cells", "number")

    def __init__(self, number: int, cells: tuple[Cell, ...]) -> None:
        self.number = number
        self.cells = cells
        self._by_letter = {cell.column_letter: cell for cell in cells}

    def letters_beside(self, letters: Set[str]) -> Set[str]:
        """The filled columns that are none of ``letters``."""
        return self._by_letter.keys() - letters

    @property
    def typed(self) -> dict[str, str]:
        """Column letter to what was typed, of the filled cells."""
        return {cell.column_letter: cell.typed for cell in self.cells}

    def at(self, column_letter: str) -> Cell:
        """The cell in that column, an empty one when nothing is there."""
        return self._by_letter.get(column_letter) or Cell(self.number, column_letter)

"""The columns of count sheets and the labels above them, declared once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.declared import read_columns
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS

_QUANTITY, _SECTION, _ORDER, *_MORE = read_columns(Path(__file__).with_name("sets.toml"))
_ITEM_NUMBER, _NAME = (replace(column, required=False) for column in INSTRUMENT_COLUMNS[:2])

SET_COLUMNS: tuple[Column, ...] = (_QUANTITY, _ITEM_NUMBER, _NAME, _SECTION, _ORDER, *_MORE)
"""The lines of a count sheet. A line is known by its item number, or else by its name."""

MORE_OF_A_LINE: tuple[Column, ...] = tuple(_MORE)
"""What else a line may say: whether the set may go without it, what stands in for it, a note."""

_LABELS = read_columns(Path(__file__).with_name("labels.toml"))
SET_LABELS: Mapping[str, tuple[str, ...]] = {label.key: label.headings for label in _LABELS}
"""Labels in the block above a count sheet; the value stands to the right of each."""


def _in_a_list(label: Column) -> Column:
    """A label as a column. A bare "set" is its number or its name: the values below it tell."""
    return replace(label, headings=tuple(each for each in label.headings if each not in _SET))


_SET = ("set", "tray")


LIST_COLUMNS: tuple[Column, ...] = (*map(_in_a_list, _LABELS), *SET_COLUMNS)
"""One long list of the lines of many sets, told apart by a set column."""

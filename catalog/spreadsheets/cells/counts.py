"""Readers of counts: whole numbers of pieces, with or without a word beside them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from catalog.data_files import read_words
from catalog.spreadsheets.cells.number_formats import shown
from catalog.spreadsheets.cells.typed import (
    Place,
    Reader,
    Reading,
    number_as_text,
    problem,
    refused,
    typed_cells_only,
    unknown,
)
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import UNKNOWN_MARKS, tidy, without_accents

MAX_COUNT = 500
"""More pieces of one kind than this is a slip of the finger (common practice)."""
_FILE = read_words(Path(__file__).with_name("counts.toml"))
BESIDE_A_TOTAL = frozenset(_FILE["beside_a_total"])
"""Folded words with which a total is still one: "Total hip rasp" is an instrument."""
_WORDS: Mapping[str, str] = _FILE["counted"]
"""Folded word beside a count to what it counts: piece, pair or group."""
_COUNT = re.compile(r"(?:x ?)?([0-9]{1,9}) ?([^\W\d_]*)\.?")
_RANGE = re.compile(r"[0-9]+ ?(?:-|/|to|bis|or|od|oder|ou|o|\+|a|à) ?[0-9]+(?: ?[^\W\d_]*\.?)?")

_IN_A_NAME = re.compile(
    r"[0-9]{1,2} ?(?:[x×] ?)?[^\W\d_]{3,}.*|.*\([0-9]{1,2}\)|.*[ ,][x×] ?[0-9]{1,2}", re.IGNORECASE
)
"""A number before a word, in brackets at the end, or after an x."""


def says_a_count(name: str) -> bool:
    """Whether a name begins or ends with what may be a count of pieces.

    >>> says_a_count("2 Kelly clamps"), says_a_count("Towel clip (4)"), says_a_count("Hook x 2")
    (True, True, True)
    >>> says_a_count("Kelly clamp 5 in"), says_a_count("Scalpel handle no. 3")
    (False, False)
    """
    return _IN_A_NAME.fullmatch(tidy(name)) is not None


def _count_reader(least: int) -> Reader:
    @typed_cells_only(None)
    def reader(cell: Cell, place: Place) -> Reading:
        text = without_accents(tidy(shown(cell) or cell.typed).casefold())
        if text in UNKNOWN_MARKS:
            return unknown(cell, place, "the count")
        found = _COUNT.fullmatch(text)
        counted = _WORDS.get(found[2]) if found and found[2] else "piece"
        if isinstance(cell.value, bool) or (found is None and not _RANGE.fullmatch(text)):
            code = "negative" if re.fullmatch(r"-[0-9.,]+", text) else "not_a_count"
            message = f'"{cell.typed}" is no count. Write a whole number from {least} up.'
            return refused(cell, place, code, message)
        if found is None or counted in (None, "group"):
            message = f'"{cell.typed}" does not say how many pieces. Write one whole number.'
            return refused(cell, place, "count_unclear", message)
        return _counted(cell, place, int(found[1]), least, counted == "pair")

    return reader


def _counted(cell: Cell, place: Place, count: int, least: int, pairs: bool) -> Reading:
    if count < least:
        message = f"The count is {count}. Write {least} or more, or delete the row."
        return refused(cell, place, "zero", message)
    notes = number_as_text(cell, place)
    if pairs:
        message = f'"{cell.typed}" was read as {count}. Where the two of a pair lie loose, write '
        message += f"{2 * count}."
        notes += (problem(cell, place, "pair", message),)
    if count > MAX_COUNT:
        message = f"{count} is more than {MAX_COUNT}. Is that right?"
        notes += (problem(cell, place, "implausible", message),)
    return Reading(count, notes)


read_count: Reader = _count_reader(0)
"""How many there are, zero allowed; None when empty."""
read_quantity: Reader = _count_reader(1)
"""How many belong in a set, one or more; None when empty."""

"""Readers of cells that hold words from a closed list: anything else is a problem.

The words stand in ``listed.toml``; they are accepted whatever their case and accents.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from catalog.data_files import read_words
from catalog.spreadsheets.cells.typed import (
    GOES_IN,
    Place,
    Reader,
    Reading,
    plain_text,
    read_text,
    refused,
    text_reader,
    typed_cells_only,
    unknown,
)
from catalog.spreadsheets.cycles.permitted import read_methods
from catalog.spreadsheets.cycles.reading import UnreadableError, read_cycles
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import UNKNOWN_MARKS, tidy, without_accents

YES_WORDS = frozenset({"y", "yes", "true", "1", "ja", "j", "oui", "o", "si", "s", "x"})
NO_WORDS = frozenset({"n", "no", "false", "0", "nein", "non"})
_LISTS = read_words(Path(__file__).with_name("listed.toml"))
ITEM_CLASS_WORDS: Mapping[str, str] = _LISTS["item_class"]
KIND_WORDS: Mapping[str, str] = _LISTS["kinds"]
NONE_WORDS = frozenset({"none", "keine", "keiner", "aucun", "aucune", "ninguno", "ninguna"})
_BETWEEN = re.compile(r"[,;/+&]|\b(?:and|or|und|oder|et|ou|y|o)\b")
NO_PROTECTOR = frozenset({"none", "no", "n/a", "-", "keine", "keiner", "aucun", "ninguno"})


def _word(cell: Cell) -> str:
    return folded_word(plain_text(cell))


def folded_word(text: str) -> str:
    """``text`` without case, accents and the stop at its end.

    >>> folded_word(" Wäsche. ")
    'wasche'
    """
    return without_accents(tidy(text).casefold()).strip(" .")


def _is_unknown(word: str) -> bool:
    """Whether a folded word, which has lost its last stop, says that something is not known."""
    return word in UNKNOWN_MARKS or f"{word}." in UNKNOWN_MARKS


@typed_cells_only(None)
def read_yes_no(cell: Cell, place: Place) -> Reading:
    """Yes, no, or None when empty or marked as not known."""
    word = _word(cell)
    if word in YES_WORDS:
        return Reading(True)
    if word in NO_WORDS:
        return Reading(False)
    if _is_unknown(word):
        return unknown(cell, place, "it")
    message = f'"{cell.typed}" is neither yes nor no. Write Y or N.'
    return refused(cell, place, "not_yes_or_no", message)


def word_reader(name: str, said: str, empty: str | None = "") -> Reader:
    """The reader of one word from the list ``name``, which sentences call ``said``.

    ``empty`` where the cell is empty or marked as not known.
    """
    words = _LISTS[name]

    @typed_cells_only(empty)
    def reader(cell: Cell, place: Place) -> Reading:
        word = _word(cell)
        if word in words:
            return Reading(words[word])
        if _is_unknown(word):
            return replace(unknown(cell, place, f"the {said}", GOES_IN), value=empty)
        return _not_in_list(cell, place, f"no {said}", "one of", words)

    return reader


@typed_cells_only(())
def read_kinds(cell: Cell, place: Place) -> Reading:
    """Kinds of package as a tuple in one fixed order; () for "none", None when not known."""
    text = folded_word(cell.typed.replace("\n", ","))
    if _is_unknown(text):
        return unknown(cell, place, "which kinds", GOES_IN)
    if text in NONE_WORDS:
        return Reading(())
    words = {word.strip(" .") for word in _BETWEEN.split(text)} - {""}
    if not words or not words <= KIND_WORDS.keys():
        return _not_in_list(
            cell, place, "no list of kinds of package", "any of", KIND_WORDS, "none"
        )
    named = {KIND_WORDS[word] for word in words}
    return Reading(tuple(kind for kind in dict.fromkeys(KIND_WORDS.values()) if kind in named))


@typed_cells_only(None)
def read_parts(cell: Cell, place: Place) -> Reading:
    """Which parts come apart: their names, "yes" where only that is said, "" for none.

    None where it is not known: a mark for that is never taken for the name of a part.
    """
    word = _word(cell)
    if _is_unknown(word):
        return unknown(cell, place, "whether it comes apart", GOES_IN)
    if word in YES_WORDS:
        return Reading("yes")
    if word in NO_WORDS | NONE_WORDS:
        return Reading("")
    return read_text(cell, place)


def _not_in_list(
    cell: Cell, place: Place, what: str, how_many: str, words: Mapping[str, str], *more: str
) -> Reading:
    allowed = ", ".join(dict.fromkeys((*words.values(), *more)))
    message = (
        f'"{cell.typed}" is {what} that we know. Write {how_many} {allowed}, or leave it empty.'
    )
    return refused(cell, place, "not_in_list", message)


_read_protector_name = text_reader(60)


@typed_cells_only(None)
def read_protector(cell: Cell, place: Place) -> Reading:
    """The protector as the department names it; "" for none, None where nothing is said."""
    if _word(cell) in NO_PROTECTOR:
        return Reading("")
    if _is_unknown(_word(cell)):
        return Reading(None)
    return _read_protector_name(cell, place)


@typed_cells_only(())
def read_methods_cell(cell: Cell, place: Place) -> Reading:
    """Pairs of method and temperature, as :func:`cycles.read_methods` gives them."""
    if tidy(cell.typed).casefold() in UNKNOWN_MARKS:
        return replace(unknown(cell, place, "the method"), value=())
    try:
        return Reading(tuple(read_methods(cell.typed)))
    except UnreadableError as error:
        return refused(cell, place, error.code, error.message)


@typed_cells_only(None)
def read_cycle_cell(cell: Cell, place: Place) -> Reading:
    """The cycles of a cell; None when empty or said not to apply."""
    try:
        return Reading(read_cycles(cell.typed) or None)
    except UnreadableError as error:
        return refused(cell, place, error.code, error.message)

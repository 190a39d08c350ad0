"""Readers of cells that hold words from a closed list: anything else is a problem.

The words are accepted in English, German, French and Spanish, whatever their case and accents
(common practice in instrument lists, no source).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

from catalog.spreadsheets.cell import Cell
from catalog.spreadsheets.cells import (
    Place,
    Reading,
    plain_text,
    problem,
    read_text,
    refused,
    typed_cells_only,
)
from catalog.spreadsheets.cycles import UnreadableError, read_cycle, read_methods
from catalog.units import UNKNOWN_MARKS, tidy

YES_WORDS = frozenset({"y", "yes", "true", "1", "ja", "j", "oui", "o", "si", "s", "x"})
NO_WORDS = frozenset({"n", "no", "false", "0", "nein", "non"})
TIP_WORDS: Mapping[str, str] = {
    word: tip
    for tip, words in {
        "blunt": "blunt stumpf mousse romo roma",
        "fine": "fine fein fin fino fina",
        "sharp": "sharp scharf spitz pointu pointue agudo aguda",
        "toothed": "toothed teeth gezahnt dente dentee dentado dentada",
        "rough": "rough rau rauh rugueux rugueuse rugoso rugosa",
    }.items()
    for word in words.split()
}
NO_PROTECTOR = frozenset({"none", "no", "n/a", "-", "keine", "keiner", "aucun", "ninguno"})


def _word(cell: Cell) -> str:
    letters = unicodedata.normalize("NFD", tidy(plain_text(cell)).casefold())
    return "".join(mark for mark in letters if not unicodedata.combining(mark)).strip(" .")


@typed_cells_only(None)
def read_yes_no(cell: Cell, place: Place) -> Reading:
    """Yes, no, or None when empty or marked as not known."""
    word = _word(cell)
    if word in YES_WORDS:
        return Reading(True)
    if word in NO_WORDS:
        return Reading(False)
    if word in UNKNOWN_MARKS:
        message = f'"{cell.typed}" says that it is not known.'
        return refused(cell, place, "unknown_value", message)
    return refused(
        cell, place, "not_yes_or_no", f'"{cell.typed}" is neither yes nor no. Write Y or N.'
    )


@typed_cells_only("")
def read_tip(cell: Cell, place: Place) -> Reading:
    """One of blunt, fine, sharp, toothed, rough; "" when empty or marked as not known."""
    word = _word(cell)
    if word in TIP_WORDS:
        return Reading(TIP_WORDS[word])
    if word in UNKNOWN_MARKS:
        message = f'"{cell.typed}" says that the tip is not known.'
        return Reading("", (problem(cell, place, "unknown_value", message),))
    allowed = ", ".join(dict.fromkeys(TIP_WORDS.values()))
    message = (
        f'"{cell.typed}" is no kind of tip we know. Write one of {allowed}, or leave it empty.'
    )
    return refused(cell, place, "not_in_list", message)


@typed_cells_only(None)
def read_protector(cell: Cell, place: Place) -> Reading:
    """The protector as the department names it; "" for none, None where nothing is said."""
    if _word(cell) in NO_PROTECTOR:
        return Reading("")
    if _word(cell) in UNKNOWN_MARKS:
        return Reading(None)
    return read_text(cell, place)


@typed_cells_only(())
def read_methods_cell(cell: Cell, place: Place) -> Reading:
    """Pairs of method and temperature, as :func:`cycles.read_methods` gives them."""
    if tidy(cell.typed).casefold() in UNKNOWN_MARKS:
        message = f'"{cell.typed}" says that the method is not known.'
        return Reading((), (problem(cell, place, "unknown_value", message),))
    try:
        return Reading(tuple(read_methods(cell.typed)))
    except UnreadableError as error:
        return refused(cell, place, error.code, error.message)


@typed_cells_only(None)
def read_cycle_cell(cell: Cell, place: Place) -> Reading:
    """The numbers of a cycle; None when empty or said not to apply."""
    try:
        return Reading(read_cycle(cell.typed))
    except UnreadableError as error:
        return refused(cell, place, error.code, error.message)

"""Readers of cells that hold words from a closed list: anything else is a problem.

The words are accepted in English, German, French and Spanish, whatever their case and accents
(common practice in instrument lists, no source).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from catalog.spreadsheets.cells.cycles import UnreadableError, read_cycles
from catalog.spreadsheets.cells.permitted import read_methods
from catalog.spreadsheets.cells.typed import (
    Place,
    Reading,
    plain_text,
    problem,
    read_text,
    refused,
    text_reader,
    typed_cells_only,
)
from catalog.spreadsheets.workbook.cell import Cell
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
ITEM_CLASS_WORDS: Mapping[str, str] = {
    word: item_class
    for item_class, words in {
        "instruments": "instruments; instrument; instrumente; instrumento; instrumentos; "
        "instrumental",
        "textile packs": "textile packs; textile pack; textile; textiles; linen; textil; "
        "textilien; wasche; linge; ropa; lenceria",
        "utensils": "utensils; utensil; utensil (basin, bowl, cup); holloware; utensilien; "
        "ustensile; ustensiles; utensilio; utensilios",
    }.items()
    for word in words.split("; ")
}
FORM_WORDS: Mapping[str, str] = {
    word: form
    for form, words in {
        "ring-handled": "ring-handled; ring handled; rings; ring handles; finger rings; scissors",
        "tweezer-like": "tweezer-like; tweezers; tweezer; thumb forceps; pinzette",
        "retractor": "retractor; retractors; wundhaken; ecarteur; separador",
        "tube": "tube; tubes; suction; cannula; rohr; tubo; kanule",
        "handle": "handle, rod or probe; handle; rod; probe; stange; griff; manche; mango",
        "rongeur": "rongeur or cutter; rongeur; cutter; zange; pince gouge; gubia",
        "basin": "basin, bowl or cup; basin; bowl; cup; schale; bol; cuvette; cubeta",
        "scope": "scope; endoscope; telescope; optics; optik; endoskop; optique; endoscopio",
        "powered": "powered device; powered; motor; drill; saw; handpiece; motorsystem",
        "box": "block, mallet or other; box; block; mallet; other; sonstiges; autre; otro",
    }.items()
    for word in words.split("; ")
}
LUMEN_WORDS: Mapping[str, str] = {
    word: material
    for material, words in {
        "steel": "steel or other metal; steel; metal; rigid; stahl; metall; acier; acero",
        "flexible": "flexible (plastic); flexible; plastic; polymer; flexibel; kunststoff; souple",
    }.items()
    for word in words.split("; ")
}
KIND_WORDS: Mapping[str, str] = {
    word: kind
    for kind, words in {
        "pouch": "pouch pouches beutel sterilisationsbeutel sachet sachets bolsa bolsas",
        "roll": "roll rolls reel reels rolle rollen rouleau rouleaux gaine gaines rollo rollos",
        "wrap": "wrap wraps wrapping vlies sterilisationsvlies einschlagvlies envoltorio "
        "envoltorios envoltura",
        "container": "container containers behalter sterilisierbehalter sterilcontainer conteneur "
        "conteneurs contenedor contenedores",
    }.items()
    for word in words.split()
}
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
    letters = unicodedata.normalize("NFD", tidy(text).casefold())
    return "".join(mark for mark in letters if not unicodedata.combining(mark)).strip(" .")


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
    if _is_unknown(word):
        message = f'"{cell.typed}" says that the tip is not known.'
        return Reading("", (problem(cell, place, "unknown_value", message),))
    allowed = ", ".join(dict.fromkeys(TIP_WORDS.values()))
    message = (
        f'"{cell.typed}" is no kind of tip we know. Write one of {allowed}, or leave it empty.'
    )
    return refused(cell, place, "not_in_list", message)


@typed_cells_only(None)
def read_item_class(cell: Cell, place: Place) -> Reading:
    """One of the kinds of item that published tables of cycles tell apart; None when not known."""
    word = _word(cell)
    if word in ITEM_CLASS_WORDS:
        return Reading(ITEM_CLASS_WORDS[word])
    if _is_unknown(word):
        return _not_known(cell, place, "the kind of item")
    return _not_in_list(cell, place, "no kind of item", "one of", ITEM_CLASS_WORDS)


@typed_cells_only("")
def read_form(cell: Cell, place: Place) -> Reading:
    """What it is by its form; "" when empty or marked as not known."""
    return _one_of(cell, place, "form", FORM_WORDS)


@typed_cells_only("")
def read_lumen_material(cell: Cell, place: Place) -> Reading:
    """What the wall of its lumen is; "" when empty or marked as not known."""
    return _one_of(cell, place, "wall of a lumen", LUMEN_WORDS)


def _one_of(cell: Cell, place: Place, what: str, words: Mapping[str, str]) -> Reading:
    word = _word(cell)
    if word in words:
        return Reading(words[word])
    if _is_unknown(word):
        message = f'"{cell.typed}" says that the {what} is not known.'
        return Reading("", (problem(cell, place, "unknown_value", message),))
    return _not_in_list(cell, place, f"no {what}", "one of", words)


@typed_cells_only(())
def read_kinds(cell: Cell, place: Place) -> Reading:
    """Kinds of package as a tuple in one fixed order; () for "none", None when not known."""
    text = folded_word(cell.typed.replace("\n", ","))
    if _is_unknown(text):
        return _not_known(cell, place, "which kinds")
    if text in NONE_WORDS:
        return Reading(())
    words = {word.strip(" .") for word in _BETWEEN.split(text)} - {""}
    if not words or not words <= KIND_WORDS.keys():
        return _not_in_list(
            cell, place, "no list of kinds of package", "any of", KIND_WORDS, "none"
        )
    named = {KIND_WORDS[word] for word in words}
    return Reading(tuple(kind for kind in dict.fromkeys(KIND_WORDS.values()) if kind in named))


@typed_cells_only("")
def read_parts(cell: Cell, place: Place) -> Reading:
    """Which parts come apart: their names, "yes" where only that is said, "" for none.

    None where it is not known: a mark for that is never taken for the name of a part.
    """
    word = _word(cell)
    if _is_unknown(word):
        return _not_known(cell, place, "whether it comes apart")
    if word in YES_WORDS:
        return Reading("yes")
    if word in NO_WORDS | NONE_WORDS:
        return Reading("")
    return read_text(cell, place)


def _not_known(cell: Cell, place: Place, what: str) -> Reading:
    message = f'"{cell.typed}" says that {what} is not known. The row goes in without it.'
    return refused(cell, place, "unknown_value", message)


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
        message = f'"{cell.typed}" says that the method is not known.'
        return Reading((), (problem(cell, place, "unknown_value", message),))
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

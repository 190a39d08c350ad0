"""The words of cycles in instructions and lists: ``words.toml``, read once.

Accents are off in them: the reader folds what it compares.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from catalog.data_files import read_lists, words_of

STEAM = "steam"

_FILE = Path(__file__).with_name("words.toml")
_WORDS = read_lists(_FILE)
METHOD_WORDS: Mapping[str, str] = words_of(_FILE.name, "methods", _WORDS["methods"])
"""Every accepted spelling of a method, folded, to the method."""
AIR_REMOVAL: Mapping[str, str] = {
    word: "|".join(spellings) for word, spellings in _WORDS["air_removal"].items()
}
"""How air is removed: the rules' word, to its spellings."""
_PHRASES = {name: "|".join(spellings) for name, spellings in _WORDS["phrases"].items()}
UNITS_OF_TIME = _PHRASES["units_of_time"]
DRYING = _PHRASES["drying"]
AERATION = _PHRASES["aeration"]
LEAST = _PHRASES["least"]
MOST = _PHRASES["most"]
NAMED = _PHRASES["named"]
BETWEEN = _PHRASES["between"]
FILLERS = _PHRASES["fillers"]

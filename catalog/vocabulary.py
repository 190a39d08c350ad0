"""The closed lists of words that facts are told in, and how a person reads them.

The one list of each for columns, cells of spreadsheets and rules: no Django, imports nothing
of ours.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Self


class Word(StrEnum):
    """One of a closed list; ``words`` is how a person reads it, the word itself if not given."""

    words: str

    def __new__(cls, word: str, words: str = "") -> Self:
        made = str.__new__(cls, word)
        made._value_, made.words = word, words or word
        return made


class Kind(Word):
    """The kinds of package."""

    POUCH = "pouch"
    ROLL = "roll"
    WRAP = "wrap"
    CONTAINER = "container"


class Method(Word):
    """Sterilization methods by their short names."""

    STEAM = "steam"
    EO = "eo", "ethylene oxide"
    H2O2 = "h2o2", "vaporized hydrogen peroxide"
    LTSF = "ltsf", "low-temperature steam with formaldehyde"
    DRY_HEAT = "dry-heat", "dry heat"


class AirRemoval(Word):
    """How a steam sterilizer gets rid of air; an IFU may leave it to the department."""

    GRAVITY = "gravity"
    DYNAMIC = "dynamic", "dynamic air removal"
    EITHER = "either"


class Form(Word):
    """What an instrument is by its form: how it may lie, and how it is drawn."""

    RINGS = "ring-handled"
    TWEEZERS = "tweezer-like"
    RETRACTOR = "retractor"
    TUBE = "tube"
    HANDLE = "handle", "handle, rod or probe"
    RONGEUR = "rongeur", "rongeur or cutter"
    BASIN = "basin", "basin, bowl or cup"
    SCOPE = "scope"
    POWERED = "powered", "powered device"
    BOX = "box", "block, mallet or other"


class LumenMaterial(Word):
    """What the wall of a lumen is, as sterilizers' claims tell apart."""

    STEEL = "steel", "steel or other metal"
    FLEXIBLE = "flexible", "flexible (plastic)"


class Filter(Word):
    """What a container's filter is made of."""

    PAPER = "paper", "paper or other cellulose"
    POLYPROPYLENE = "polypropylene", "polypropylene nonwoven"
    PTFE = "ptfe", "PTFE membrane"
    TEXTILE = "textile", "woven cotton or blend"
    VALVE = "valve", "valve or labyrinth, no filter"


class MadeOf(Word):
    """What a basket or a container is made of, as far as warming it turns on it."""

    STEEL = "steel"
    ALUMINUM = "aluminum"
    TITANIUM = "titanium"
    PLASTIC = "plastic"


class Material(Word):
    """What a pouch, roll or wrap is made of."""

    PAPER_FILM = "paper-film", "paper and film"
    POLYOLEFIN_FILM = "polyolefin-film", "spunbonded polyolefin and film"
    CELLULOSE = "cellulose", "cellulose (crepe)"
    SMS = "sms", "SMS polypropylene"
    TEXTILE = "textile", "woven textile"


class ItemClass(Word):
    """What published tables of cycles and weights tell apart."""

    INSTRUMENTS = "instruments", "instrument"
    TEXTILES = "textile packs", "textile"
    UTENSILS = "utensils", "utensil (basin, bowl, cup)"


class Fold(Word):
    """How a wrap is folded."""

    ENVELOPE = "envelope"
    SQUARE = "square"


class ProtectorMaterial(Word):
    """What a tip protector is made of."""

    SILICONE = "silicone"
    PLASTIC = "plastic"
    CELLULOSE = "cellulose"
    SOLID_RUBBER = "solid rubber"
    LATEX = "latex"

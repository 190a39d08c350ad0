"""The closed lists of words that facts are told in, and how a person reads them.

The one list of each for columns, cells of spreadsheets and rules: no Django, imports nothing
of ours.
"""

from __future__ import annotations

from enum import StrEnum


class Kind(StrEnum):
    """The kinds of package."""

    POUCH = "pouch"
    ROLL = "roll"
    WRAP = "wrap"
    CONTAINER = "container"


KIND_NAMES = {
    Kind.POUCH: "pouch",
    Kind.ROLL: "roll",
    Kind.WRAP: "wrap",
    Kind.CONTAINER: "container",
}


class Method(StrEnum):
    """Sterilization methods by their short names."""

    STEAM = "steam"
    EO = "eo"
    H2O2 = "h2o2"
    LTSF = "ltsf"
    DRY_HEAT = "dry-heat"


METHOD_NAMES = {
    Method.STEAM: "steam",
    Method.EO: "ethylene oxide",
    Method.H2O2: "hydrogen peroxide vapour",
    Method.LTSF: "low-temperature steam with formaldehyde",
    Method.DRY_HEAT: "dry heat",
}
"""The words a person reads."""


class Material(StrEnum):
    """What a pouch, roll or wrap is made of."""

    PAPER_FILM = "paper-film"
    POLYOLEFIN_FILM = "polyolefin-film"
    CELLULOSE = "cellulose"
    SMS = "sms"
    TEXTILE = "textile"


MATERIAL_NAMES = {
    Material.PAPER_FILM: "paper and film",
    Material.POLYOLEFIN_FILM: "spunbonded polyolefin and film",
    Material.CELLULOSE: "cellulose (crepe)",
    Material.SMS: "SMS polypropylene",
    Material.TEXTILE: "woven textile",
}


class ItemClass(StrEnum):
    """What published tables of cycles and weights tell apart."""

    INSTRUMENTS = "instruments"
    TEXTILES = "textile packs"
    UTENSILS = "utensils"


ITEM_CLASS_NAMES = {
    ItemClass.INSTRUMENTS: "instrument",
    ItemClass.TEXTILES: "textile",
    ItemClass.UTENSILS: "utensil (basin, bowl, cup)",
}


class Fold(StrEnum):
    """How a wrap is folded."""

    ENVELOPE = "envelope"
    SQUARE = "square"


class ProtectorMaterial(StrEnum):
    """What a tip protector is made of."""

    SILICONE = "silicone"
    PLASTIC = "plastic"
    CELLULOSE = "cellulose"
    SOLID_RUBBER = "solid rubber"
    LATEX = "latex"

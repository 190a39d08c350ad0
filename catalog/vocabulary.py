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


class AirRemoval(StrEnum):
    """How a steam sterilizer gets rid of air; an IFU may leave it to the department."""

    GRAVITY = "gravity"
    DYNAMIC = "dynamic"
    EITHER = "either"

    @property
    def words(self) -> str:
        """As a person reads it."""
        return AIR_REMOVAL_NAMES[self]


AIR_REMOVAL_NAMES = {
    AirRemoval.GRAVITY: "gravity",
    AirRemoval.DYNAMIC: "dynamic air removal",
    AirRemoval.EITHER: "either",
}


class Form(StrEnum):
    """What an instrument is by its form: how it may lie, and how it is drawn."""

    RINGS = "ring-handled"
    TWEEZERS = "tweezer-like"
    RETRACTOR = "retractor"
    TUBE = "tube"
    HANDLE = "handle"
    RONGEUR = "rongeur"
    BASIN = "basin"
    SCOPE = "scope"
    POWERED = "powered"
    BOX = "box"


FORM_NAMES = {
    Form.RINGS: "ring-handled",
    Form.TWEEZERS: "tweezer-like",
    Form.RETRACTOR: "retractor",
    Form.TUBE: "tube",
    Form.HANDLE: "handle, rod or probe",
    Form.RONGEUR: "rongeur or cutter",
    Form.BASIN: "basin, bowl or cup",
    Form.SCOPE: "scope",
    Form.POWERED: "powered device",
    Form.BOX: "block, mallet or other",
}


class LumenMaterial(StrEnum):
    """What the wall of a lumen is, as sterilizers' claims tell apart."""

    STEEL = "steel"
    FLEXIBLE = "flexible"


LUMEN_MATERIAL_NAMES = {
    LumenMaterial.STEEL: "steel or other metal",
    LumenMaterial.FLEXIBLE: "flexible (plastic)",
}


class Filter(StrEnum):
    """What a container's filter is made of."""

    PAPER = "paper"
    POLYPROPYLENE = "polypropylene"
    PTFE = "ptfe"
    TEXTILE = "textile"
    VALVE = "valve"


FILTER_NAMES = {
    Filter.PAPER: "paper or other cellulose",
    Filter.POLYPROPYLENE: "polypropylene nonwoven",
    Filter.PTFE: "PTFE membrane",
    Filter.TEXTILE: "woven cotton or blend",
    Filter.VALVE: "valve or labyrinth, no filter",
}


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

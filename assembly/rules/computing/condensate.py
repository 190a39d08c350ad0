"""How wet a set starts to dry: the water that condenses on it while steam warms it.

A heat balance, m c dT = w r: what the metal takes up, the steam gives. It says which sets have
most to dry and never which are dry or wet: how it lies, the load and the steam are not in it.
Specific heats and the heat of steam are data (``heats.toml``, ``steam.toml``).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

from assembly.rules.facts.checks import FactsError, check_numbers
from assembly.rules.policy.rows import DATA, read_rows
from catalog.vocabulary import MadeOf

METALS = (MadeOf.STEEL, MadeOf.ALUMINUM, MadeOf.TITANIUM)
TAKEN_AS = MadeOf.STEEL
"""What an instrument is taken to be of: no record says it. Common practice, no source."""
SOURCE = "heat balance, worked by us; specific heats and heat of steam by their tables"
MM2_IN_CM2 = 100


@dataclass(frozen=True, slots=True)
class Heat:
    """What a material takes up (kJ for each kg and K)."""

    material: MadeOf
    kj_kg_k: float
    source: str
    confidence: str

    def __post_init__(self) -> None:
        check_numbers(self)


@dataclass(frozen=True, slots=True)
class Steam:
    """What steam gives up at a temperature (°C) as it condenses (kJ for each kg)."""

    at_c: float
    kj_kg: float
    source: str
    confidence: str

    def __post_init__(self) -> None:
        check_numbers(self)


@cache
def heats(path: Path = DATA / "heats.toml") -> dict[MadeOf, float]:
    """The specific heat of each material, in kJ/(kg K)."""
    return {row.material: row.kj_kg_k for row in read_rows(path, Heat, lambda one: one.material)}


@cache
def steam(path: Path = DATA / "steam.toml") -> tuple[Steam, ...]:
    """What steam gives up, by rising temperature."""
    return tuple(sorted(read_rows(path, Steam, lambda one: one.at_c), key=lambda one: one.at_c))


def given_up(at_c: float) -> float:
    """What steam of this temperature (°C) gives up as it condenses (kJ/kg), on a line between
    the rows of its table; FactsError outside of them.

    >>> round(given_up(134))
    2162
    """
    for low, high in pairwise(steam()):
        if low.at_c <= at_c <= high.at_c:
            share = (at_c - low.at_c) / (high.at_c - low.at_c)
            return low.kj_kg + share * (high.kj_kg - low.kj_kg)
    first, last = steam()[0].at_c, steam()[-1].at_c
    raise FactsError("temperature_c", at_c, f"the steam table runs from {first:g} to {last:g} °C")


def water_per_g(made_of: MadeOf | None, from_c: float, to_c: float) -> float:
    """How much water (g) condenses on each g of a material; of one that is not on record the
    least that any would."""
    heat = min(heats().values()) if made_of is None else heats()[made_of]
    return heat * max(0.0, to_c - from_c) / given_up(to_c)


def condensate_g(mass_g: float, made_of: MadeOf | None, from_c: float, to_c: float) -> float:
    """The water (g) that condenses on a mass (g) warmed from one temperature to another (°C).

    Worked by hand, from 25 to 134 °C:

    >>> round(condensate_g(10_000, MadeOf.STEEL, 25, 134)) / 1000
    0.252
    >>> round(condensate_g(3_200, MadeOf.ALUMINUM, 25, 134)) / 1000
    0.145
    """
    return mass_g * water_per_g(made_of, from_c, to_c)


@dataclass(frozen=True, slots=True)
class Mass:
    """So many equal pieces: what one weighs (g; None not on record) and is of (None likewise).

    ``holds``: a basket or a container, which is no piece of the set.
    """

    name: str
    weight_g: float | None
    made_of: MadeOf | None = TAKEN_AS
    quantity: int = 1
    holds: bool = False

    @property
    def mass_g(self) -> float:
        return self.quantity * (self.weight_g or 0.0)


@dataclass(frozen=True, slots=True)
class Wetting:
    """What condenses on a set (g), on how much metal (g) in one tray of so much room (mm²).

    ``heaviest`` is its heaviest single piece. What is not on record is named, and makes the
    figures "at least": ``unweighed``, and ``of_unknown`` for what it is made of.
    """

    metal_g: float
    condensate_g: float
    area_mm2: float | None
    heaviest: Mass | None
    unweighed: tuple[str, ...] = ()
    of_unknown: tuple[str, ...] = ()

    @property
    def at_least(self) -> bool:
        """Whether there is more of it than is known."""
        return bool(self.unweighed or self.of_unknown)

    @property
    def metal_per_cm2(self) -> float | None:
        """Metal for each cm² of the tray's floor (g); None where its size is not on record."""
        return self.metal_g / (self.area_mm2 / MM2_IN_CM2) if self.area_mm2 else None


def wetting(masses: Iterable[Mass], area_mm2: float | None, from_c: float, to_c: float) -> Wetting:
    """What condenses on all of it, warmed from one temperature to another (°C)."""
    every = list(masses)
    pieces = [one for one in every if one.weight_g is not None and not one.holds]
    return Wetting(
        metal_g=sum(one.mass_g for one in every if one.made_of in METALS),
        condensate_g=sum(condensate_g(one.mass_g, one.made_of, from_c, to_c) for one in every),
        area_mm2=area_mm2,
        heaviest=max(pieces, key=lambda one: one.weight_g or 0.0, default=None),
        unweighed=_names(one for one in every if one.weight_g is None),
        of_unknown=_names(one for one in every if one.made_of is None),
    )


def _names(masses: Iterable[Mass]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.name for one in masses))

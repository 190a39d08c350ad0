"""Cycles: what an instrument's instructions permit, and what a sterilizer runs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from assembly.rules.facts.checks import FactsError, check_numbers
from catalog.vocabulary import AirRemoval, ItemClass, LumenMaterial, Method


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleOption:
    """One way the instrument's instructions allow it to be sterilized.

    ``exposure_min`` and ``exposure_max`` bound the exposure, ``drying_min`` is the least
    drying, ``aeration_min`` the least aeration; all in minutes. The temperature is from
    ``temperature_c`` to ``temperature_to_c`` (None: that one alone). ``air_removal`` None:
    the instructions do not say. ``cycle_name`` is how the sterilizer's maker calls it.
    """

    method: Method
    temperature_c: float | None = None
    temperature_to_c: float | None = None
    air_removal: AirRemoval | None = None
    exposure_min: float | None = None
    exposure_max: float | None = None
    drying_min: float | None = None
    aeration_min: float | None = None
    cycle_name: str = ""

    def __post_init__(self) -> None:
        check_numbers(self)
        _in_order("exposure_max", self.exposure_max, "exposure_min", self.exposure_min)
        _in_order("temperature_to_c", self.temperature_to_c, "temperature_c", self.temperature_c)

    @property
    def hottest_c(self) -> float | None:
        """The upper end of its temperatures, in °C."""
        return self.temperature_c if self.temperature_to_c is None else self.temperature_to_c

    def __str__(self) -> str:
        return _in_words(self, self.hottest_c, self.exposure_max, self.aeration_min)


def _in_order(high_name: str, high: float | None, low_name: str, low: float | None) -> None:
    if low is not None and high is not None and high < low:
        raise FactsError(
            high_name, high, f"it is below {low_name} ({low:g}): exchange or correct one"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LumenClaim:
    """One row of what a sterilizer's maker claims for lumens in a cycle, in mm and g.

    Met only as a whole: of this ``material``, with at most so many ``channels``, a bore of at
    least ``bore_mm`` and a length of at most ``length_mm``. The counts are pieces with a
    lumen; None where the claim has no such limit.
    """

    material: LumenMaterial
    channels: int
    bore_mm: float
    length_mm: float
    most_in_tray: int | None = None
    most_in_load: int | None = None
    load_g: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    def __str__(self) -> str:
        words = "one channel" if self.channels == 1 else f"at most {self.channels} channels"
        return (f"{self.material.words}, {words}, bore {self.bore_mm:g} mm or "
                f"more, length {self.length_mm:g} mm or less")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """A cycle that one of the department's sterilizers really runs.

    ``air_removal`` is gravity or dynamic, None where it is not on record; all times in
    minutes. ``come_up_min`` is what it takes to reach the temperature. ``claims`` are the
    maker's for lumens, None where none is on record.
    """

    code: str
    method: Method
    temperature_c: float | None = None
    air_removal: AirRemoval | None = None
    come_up_min: float | None = None
    exposure_min: float | None = None
    drying_min: float | None = None
    cycle_name: str = ""
    claims: tuple[LumenClaim, ...] | None = None

    def __post_init__(self) -> None:
        check_numbers(self)
        if self.air_removal is AirRemoval.EITHER:
            raise FactsError("air_removal", "either", "a sterilizer has one: gravity or dynamic")

    def __str__(self) -> str:
        return f"{self.code} ({_in_words(self)})"


def _in_words(
    cycle: CycleOption | Programme,
    hottest_c: float | None = None,
    longest_min: float | None = None,
    aeration_min: float | None = None,
) -> str:
    """A cycle as a person reads it: what is on record of it, its name and kind first."""
    words = cycle.method.words
    if cycle.cycle_name:
        words += f" cycle {cycle.cycle_name}"
    if cycle.air_removal in (AirRemoval.GRAVITY, AirRemoval.DYNAMIC):
        words = f"{cycle.air_removal.words} {words}"
    if cycle.temperature_c is not None:
        words += f" {_range(cycle.temperature_c, hottest_c)} °C"
    if cycle.exposure_min is not None:
        words += f", {_range(cycle.exposure_min, longest_min)} min"
    if cycle.drying_min is not None:
        words += f", dry {cycle.drying_min:g} min"
    return words if aeration_min is None else f"{words}, aerate {aeration_min:g} min"


def _range(low: float, high: float | None) -> str:
    return f"{low:g}" if high is None or high == low else f"{low:g} to {high:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What goes through a cycle, as far as the cycle's times turn on it.

    ``lumen``: something in it has one. ``delicate``: a scope or a powered device, which
    longer exposures than its maker's harm.
    """

    item_class: ItemClass = ItemClass.INSTRUMENTS
    lumen: bool = False
    delicate: bool = False


@cache
def contents(item_class: ItemClass, lumen: bool, delicate: bool) -> Contents:
    """The contents of these facts; the same object each time."""
    return Contents(item_class=item_class, lumen=lumen, delicate=delicate)

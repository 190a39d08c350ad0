"""Cycles: what an instrument's instructions permit, and what a sterilizer runs."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.facts.checks import (
    FactsError,
    check_numbers,
)
from catalog.vocabulary import (
    METHOD_NAMES,
    Method,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleOption:
    """One way the instrument's instructions allow it to be sterilized.

    ``exposure_min`` and ``exposure_max`` bound the exposure, ``drying_min`` is the least
    drying; all in minutes. ``temperature_c`` is the class the instructions name.
    """

    method: Method
    temperature_c: float | None = None
    exposure_min: float | None = None
    exposure_max: float | None = None
    drying_min: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)
        low, high = self.exposure_min, self.exposure_max
        if low is not None and high is not None and high < low:
            raise FactsError(
                "exposure_max", high, f"it is below exposure_min ({low:g}): exchange or correct one"
            )

    def __str__(self) -> str:
        return _cycle_words(self.method, self.temperature_c, self.exposure_min, self.drying_min)


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """A programme that one of the department's sterilizers really runs."""

    code: str
    method: Method
    temperature_c: float | None = None
    exposure_min: float | None = None
    drying_min: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)

    def __str__(self) -> str:
        words = _cycle_words(self.method, self.temperature_c, self.exposure_min, self.drying_min)
        return f"{self.code} ({words})"


def _cycle_words(
    method: Method, temperature: float | None, exposure: float | None, drying: float | None
) -> str:
    parts = [METHOD_NAMES[method]]
    if temperature is not None:
        parts[0] += f" {temperature:g} °C"
    if exposure is not None:
        parts.append(f"{exposure:g} min")
    if drying is not None:
        parts.append(f"dry {drying:g} min")
    return ", ".join(parts)

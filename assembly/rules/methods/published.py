"""Published least times for steam: the rows of ``data/published_cycles.toml``, read strictly.

What an instrument's instructions leave open (air removal, drying) is asked of these rows;
what they state rules. A holding time can only prove a cycle too short.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from pathlib import Path

from assembly.rules.facts.checks import FactsError, check_number
from assembly.rules.policy.rows import DATA, read_rows
from catalog.vocabulary import AirRemoval, ItemClass

_LARGEST = 1000.0
"""No published steam time or temperature is beyond this: a larger figure is a slip."""
MEMORY = "M"
"""The confidence of what nobody read: it never stands as a rule."""


class Basis(StrEnum):
    """What a published time counts."""

    WRAPPED = "wrapped minimum"
    HOLDING = "holding time"


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRow:
    """One published time: least exposure and range of drying in minutes, class in °C.

    ``sterilizer`` and ``item`` None: it holds for every one of them. ``drying_from_min``
    None: nothing is published about drying.
    """

    basis: Basis
    temperature_c: float
    exposure_min: float
    source: str
    confidence: str
    sterilizer: AirRemoval | None = None
    item: ItemClass | None = None
    drying_from_min: float | None = None
    drying_to_min: float | None = None

    def __post_init__(self) -> None:
        for name in ("temperature_c", "exposure_min", "drying_from_min", "drying_to_min"):
            check_number(name, getattr(self, name), largest=_LARGEST)
        low, high = self.drying_from_min, self.drying_to_min
        if (low is None) != (high is None):
            raise FactsError("drying", (low, high), "state drying_from_min and drying_to_min, or "
                             "neither")  # fmt: skip
        if low is not None and high is not None and high < low:
            raise FactsError("drying_to_min", high, f"it is below {low:g}")
        if self.basis is Basis.WRAPPED and (self.sterilizer is None or self.item is None):
            raise FactsError(
                "basis", str(self.basis), "a wrapped minimum names its sterilizer and its item"
            )

    @property
    def asked(self) -> tuple[object, ...]:
        """The question that it answers."""
        return self.basis, self.sterilizer, self.item, self.temperature_c

    def sentence(self) -> str:
        """The row in words.

        >>> print(published_rows()[0].sentence())
        gravity, instruments: 121 °C, 30 min, dry 15 to 30 min
        """
        kind = self.sterilizer and self.sterilizer.words
        who = ", ".join(str(word) for word in (kind, self.item) if word)
        words = f"{self.temperature_c:g} °C, {self.exposure_min:g} min"
        if self.drying_from_min is not None:
            words += f", dry {self.drying_from_min:g}"
            if self.drying_to_min is not None and self.drying_to_min != self.drying_from_min:
                words += f" to {self.drying_to_min:g}"
            words += " min"
        return f"{who or self.basis}: {words}"


def load(path: Path) -> tuple[PublishedRow, ...]:
    """The rows in ``path``; DataError on the first thing that is wrong."""
    return read_rows(path, PublishedRow, lambda row: row.asked)


@cache
def published_rows() -> tuple[PublishedRow, ...]:
    """The shipped rows, read once."""
    return load(DATA / "published_cycles.toml")


@lru_cache(maxsize=1024)
def published_for(
    sterilizer: AirRemoval, item: ItemClass, temperature_c: float, basis: Basis = Basis.WRAPPED
) -> PublishedRow | None:
    """The row for exactly this temperature class (°C); None where nothing is published.

    >>> published_for(AirRemoval.DYNAMIC, ItemClass.INSTRUMENTS, 132).exposure_min
    4
    >>> published_for(AirRemoval.DYNAMIC, ItemClass.INSTRUMENTS, 121) is None
    True
    """
    for row in published_rows():
        if (
            row.basis is basis
            and row.temperature_c == temperature_c
            and row.sterilizer in (None, sterilizer)
            and row.item in (None, item)
            and row.confidence != MEMORY
        ):
            return row
    return None

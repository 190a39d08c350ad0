"""Published least times for steam: the rows of ``data/published_cycles.toml``, read strictly.

What an instrument's instructions leave open (air removal, drying) is asked of these rows;
what they state rules. A holding time can only prove a cycle too short.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from assembly.rules.facts.checks import check_number
from assembly.rules.policy.values import (
    CONFIDENCE,
    DATA,
    PolicyError,
    check_day,
    check_keys,
    read_toml,
)
from catalog.vocabulary import AirRemoval, ItemClass

Word = TypeVar("Word", bound=StrEnum)

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


_NEEDED = {"basis", "temperature_c", "exposure_min", "source", "confidence"}
_KEYS = _NEEDED | {"sterilizer", "item", "drying_from_min", "drying_to_min"}
_NUMBERS = ("temperature_c", "exposure_min", "drying_from_min", "drying_to_min")
_LARGEST = 1000.0
"""No published steam time or temperature is beyond this: a larger figure is a slip."""


def load(path: Path) -> tuple[PublishedRow, ...]:
    """The rows in ``path``; PolicyError on the first thing that is wrong."""
    table = check_keys(
        path.name, "(top)", read_toml(path), {"last_checked", "row"}, {"last_checked", "row"}
    )
    check_day(path.name, "last_checked", table["last_checked"])
    if not isinstance(table["row"], list) or not table["row"]:
        raise PolicyError(path.name, "row", "needs at least one row")
    rows = [_row(path.name, f"row {n}", raw) for n, raw in enumerate(table["row"], start=1)]
    places = [(row.basis, row.sterilizer, row.item, row.temperature_c) for row in rows]
    for n, place in enumerate(places, start=1):
        if place in places[: n - 1]:
            raise PolicyError(path.name, f"row {n}", "answers the same question as an earlier row")
    return tuple(rows)


def _row(file: str, key: str, raw: object) -> PublishedRow:
    table = check_keys(file, key, raw, _KEYS, _NEEDED)
    if not isinstance(table["source"], str) or not table["source"].strip():
        raise PolicyError(file, f"{key}.source", "must name where the value comes from")
    if table["confidence"] not in CONFIDENCE:
        raise PolicyError(
            file, f"{key}.confidence", f"read {table['confidence']!r}; one of {CONFIDENCE}"
        )
    try:
        for name in _NUMBERS:
            check_number(name, table.get(name), largest=_LARGEST)
        row = PublishedRow(
            **{
                **table,
                "basis": Basis(table["basis"]),
                "sterilizer": _word(AirRemoval, table.get("sterilizer")),
                "item": _word(ItemClass, table.get("item")),
            }
        )
    except ValueError as problem:
        raise PolicyError(file, key, str(problem)) from problem
    _check_row(file, key, row)
    return row


def _word(kind: type[Word], value: Any) -> Word | None:
    return None if value is None else kind(value)


def _check_row(file: str, key: str, row: PublishedRow) -> None:
    low, high = row.drying_from_min, row.drying_to_min
    if (low is None) != (high is None):
        raise PolicyError(file, key, "state drying_from_min and drying_to_min, or neither")
    if low is not None and high is not None and high < low:
        raise PolicyError(file, f"{key}.drying_to_min", f"read {high:g}; it is below {low:g}")
    if row.basis is Basis.WRAPPED and (row.sterilizer is None or row.item is None):
        raise PolicyError(file, key, "a wrapped minimum names its sterilizer and its item")


@cache
def published_rows() -> tuple[PublishedRow, ...]:
    """The shipped rows, read once."""
    return load(DATA / "published_cycles.toml")


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

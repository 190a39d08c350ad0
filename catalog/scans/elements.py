"""What a scan was read into, whichever standard it follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class IdentifierKind(StrEnum):
    """What an identifier is; the catalog stores one value once per kind."""

    GTIN = "gtin"
    GTIN_SERIAL = "gtin+serial"
    GRAI = "grai"
    GIAI = "giai"
    HIBC = "hibc"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Element:
    """One fact in a code: a GS1 element string, or one field of a HIBC code.

    ``key`` is the GS1 application identifier ("01", "17"), or for HIBC a word ("product",
    "lot"). ``value`` is what the code says, digit for digit. ``day`` is the date it means
    (the last of the month where no day is stated: ``day_stated`` False), None when it is
    no date.
    """

    key: str
    title: str
    value: str
    day: date | None = None
    day_stated: bool = True

    @property
    def words(self) -> str:
        """As a person reads it.

        >>> Element("17", "expiry", "150700", date(2015, 7, 31), day_stated=False).words
        'expiry 2015-07 (no day stated)'
        """
        if self.day is None:
            return f"{self.title} {self.value}"
        if not self.day_stated:
            return f"{self.title} {self.day:%Y-%m} (no day stated)"
        return f"{self.title} {self.day.isoformat()}"


@dataclass(frozen=True, slots=True)
class Wanted:
    """An identifier to look up, in the one way of writing it that the catalog stores."""

    kind: IdentifierKind
    value: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What one standard makes of a text. A ``problem`` means: do not use it."""

    elements: tuple[Element, ...] = ()
    identifiers: tuple[Wanted, ...] = ()
    warnings: tuple[str, ...] = ()
    problem: str | None = None
    patient: bool = False


class UnreadableError(Exception):
    """The text breaks its standard; the message says where and what to do."""

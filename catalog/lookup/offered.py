"""What other apps offer to the look-up: things with codes of their own, and our prefixes.

The catalog imports no app above it; an app above registers here when it starts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Model


class Kind(StrEnum):
    """What a field may want."""

    INSTRUMENTS = "instruments"
    SETS = "sets"
    PACKAGES = "packages"
    PLACES = "places"
    LOADS = "loads"
    CONTAINERS = "containers"


class MisreadError(Exception):
    """A code of this kind that was misread, or that is not on record; the message says which."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A kind of thing found by its code alone.

    ``claims`` says whether a text has the shape of such a code; ``at`` gives the thing, None,
    or MisreadError. ``elsewhere`` answers a field that wants something else.
    """

    at: Callable[[str], Model | None]
    claims: Callable[[str], bool] = lambda _: False
    elsewhere: str = ""


OFFERS: dict[Kind, Offer] = {}
PREFIXES: list[Callable[[], Iterable[str]]] = []


def prefixes() -> list[str]:
    """The GS1 company prefixes that the department's labels bear or bore, the longest first."""
    return sorted(
        {one for source in PREFIXES for one in source()}, key=lambda one: (-len(one), one)
    )

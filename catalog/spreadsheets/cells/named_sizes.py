"""The sizes that stand in a name, as in "Langenbeck retractor 35 x 11 mm, 8 1/2\"": read, and no
measurement. What a name says is evidence for a column, and still to be measured."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from catalog.units import UnitError, read_length, show_length, tidy

SIZE = re.compile(
    r"(?<![\w.,/])([0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)?) ?-?"
    r"(mm\b|cm\b|inch(?:es)?\b|in\b(?! *[\w(])|zoll\b|\")",
    re.IGNORECASE,
)
"""A number and a unit of length; "in" is a unit at the end only, else it is a word."""


LENGTH_IN_NAME = (
    "The name says {}. It goes in as not known, with a note, until somebody measures it; no "
    "package passes without it."
)
"""What a report says of a length that only the name tells."""


def length_said(length: Decimal) -> str:
    """The note that an instrument carries whose length only its name tells."""
    return f"Length by its name {show_length(length)}: still to be measured."


def sizes_in_name(name: str) -> tuple[Decimal, ...]:
    """Every size in a name, as mm.

    >>> [str(size) for size in sizes_in_name('Langenbeck retractor 35 x 11 mm, 8½"')]
    ['11.000', '215.900']
    >>> sizes_in_name("Scalpel handle no. 3"), sizes_in_name("Set of 2 in a box")
    ((), ())
    """
    found = SIZE.findall(tidy(name))
    return tuple(size for each in found if (size := _mm(*each)) is not None)


@lru_cache(maxsize=1024)
def size_in_name(name: str) -> Decimal | None:
    """The largest of them, which is the length if any is; None where there is none.

    >>> size_in_name("Laparoscopic grasper 5 mm, 330 mm"), size_in_name("Light cable 2.5 m")
    (Decimal('330.000'), None)
    """
    return max(sizes_in_name(name), default=None)


@lru_cache(maxsize=4096)
def _mm(number: str, unit: str) -> Decimal | None:
    try:
        return read_length(f"{number} {unit}")
    except UnitError:
        return None

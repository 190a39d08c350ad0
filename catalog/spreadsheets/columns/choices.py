"""What a person said about a sheet: its heading row, its columns, the units of bare numbers."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from catalog.spreadsheets.columns.column import fold_heading


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """One sheet. What is left out here is told by evidence.

    ``header_row``: the row of the headings, 0 where there are none. ``columns``: column letter to
    the key of a declared column, "" where it is not to be read. ``units``: column key to the unit
    of its bare numbers. ``left_out``: the whole sheet is not read. ``set_numbers``: the name of a
    set to its number. ``quantity``: the pieces of every line, where no column says it.
    ``numbers_from``: the first of the item numbers for instruments that have none."""

    header_row: int | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    left_out: bool | None = None
    set_numbers: Mapping[str, str] = field(default_factory=dict)
    quantity: int | None = None
    numbers_from: str = ""

    def as_json(self) -> dict[str, Any]:
        """The choice as plain dicts, texts and numbers."""
        return asdict(self)


NOTHING_SAID = SheetChoice()
Choices = Mapping[str, SheetChoice]
"""Sheet title to what was chosen for it."""


def choices_from_json(stored: Mapping[str, Mapping[str, Any]]) -> dict[str, SheetChoice]:
    """The opposite of :meth:`SheetChoice.as_json`, for each sheet.

    >>> choice = SheetChoice(4, {"A": "item_number"}, {"length": "cm"})
    >>> choices_from_json({"List": choice.as_json()})["List"] == choice
    True
    """
    return {title: SheetChoice(**choice) for title, choice in stored.items()}


def fingerprint(headings: Iterable[str]) -> str:
    """What the same set of headings has in common, whatever their order, case and accents.

    >>> fingerprint(["Item #", "Länge"]) == fingerprint(["lange", "ITEM #"])
    True
    """
    folded = sorted({fold_heading(heading) for heading in headings} - {""})
    return hashlib.sha256("\n".join(folded).encode()).hexdigest()

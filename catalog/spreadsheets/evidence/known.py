"""What is known before a sheet is looked at: columns that somebody named, and what the catalog
has on record. Values that the catalog has tell a column better than a heading does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from catalog.spreadsheets.cells.folding import folded_number, folded_words
from catalog.spreadsheets.evidence.values import FEW, LEAST_DIGITS
from catalog.spreadsheets.workbook.cell import Cell
from catalog.spreadsheets.workbook.reading import OnRecord

KNOWN_FROM = 0.5
"""The share of a column's values from which it has what the catalog knows (ours, no source)."""
FOLDS: Mapping[str, Callable[[str], str]] = {
    "item_number": folded_number,
    "maker_catalog_number": folded_number,
    "name": folded_words,
    "maker": folded_words,
    "set_code": folded_number,
}
"""The columns that known values tell, and how those are compared."""


@dataclass(frozen=True, slots=True)
class Told:
    """``fixed``: column letter to the key that somebody gave it, "" for not read. ``on_record``:
    what the catalog has."""

    fixed: Mapping[str, str] = field(default_factory=dict)
    on_record: OnRecord = field(default_factory=dict)


NOTHING_TOLD = Told()


def on_record(texts: Mapping[str, Iterable[str]]) -> OnRecord:
    """Texts of the catalog by column, folded for comparing, without those that tell nothing.

    >>> on_record({"item_number": ["HF-1 ", "12", ""]})
    {'item_number': frozenset({'hf-1'})}
    """
    return {
        key: frozenset(text for each in found if _tells(text := FOLDS[key](each)))
        for key, found in texts.items()
    }


def known_shares(cells: Sequence[Cell], record: OnRecord) -> dict[str, float]:
    """Column key to the share of these cells that the catalog has as one, where it is enough."""
    texts = [cell.typed for cell in cells]
    shares: dict[str, float] = {}
    for key, known in record.items():
        hits = sum(FOLDS[key](text) in known for text in texts) if known else 0
        if hits >= FEW and hits >= KNOWN_FROM * len(texts):
            shares[key] = hits / len(texts)
    return shares


def _tells(text: str) -> bool:
    """Whether a text says what it is: a short number may as well be a line, a count or a size."""
    return bool(text) and not (len(text) < LEAST_DIGITS and text.isdigit())

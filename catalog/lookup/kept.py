"""All names of a kind in memory, read once and read anew where they changed (``models.named``).

Each process keeps its own. It asks for the stamps of all blocks at each question, so that an
answer holds whatever was committed before it was asked.
"""

from __future__ import annotations

from collections.abc import Collection
from threading import Lock
from typing import TYPE_CHECKING, TypeAlias

from catalog.lookup.words.ranking import Entry, Known
from catalog.models import Instrument, InstrumentSet, NamesBlock
from catalog.models.named import ROWS

if TYPE_CHECKING:
    from catalog.lookup.words.index import Block, Names

Kind: TypeAlias = type[Instrument] | type[InstrumentSet]
Stamps = dict[int, str]
_KEPT: dict[Kind, tuple[dict[tuple[int, str], Block], Names]] = {}
_READING = Lock()


def names_of(kinds: Collection[Kind]) -> dict[Kind, Names]:
    """The names of these kinds as they are now: one query, and one for each block that changed."""
    asked = {str(kind._meta.model_name): kind for kind in kinds}
    stamps: dict[Kind, Stamps] = {kind: {} for kind in kinds}
    rows = NamesBlock.objects.filter(kind__in=asked).order_by("block")
    for kind, block, stamp in rows.values_list("kind", "block", "stamp"):
        stamps[asked[kind]][block] = stamp
    return {kind: _as_of(kind, now) for kind, now in stamps.items()}


def _as_of(kind: Kind, stamps: Stamps) -> Names:
    # Where nobody looks for words, as in a command, neither is numpy read from the disk.
    from catalog.lookup.words.index import Block, Names

    with _READING:
        kept, names = _KEPT.get(kind, ({}, None))
        if names is None or kept.keys() != stamps.items():
            blocks = {one: kept.get(one) or Block(_read(kind, one[0])) for one in stamps.items()}
            names = Names([*blocks.values()])
            _KEPT[kind] = blocks, names
        return names


def _read(kind: Kind, block: int) -> list[Entry]:
    rows = kind._default_manager.filter(pk__gte=block * ROWS, pk__lt=(block + 1) * ROWS)
    called = len(kind.CALLED)
    found = []
    for pk, *values in rows.order_by("pk").values_list("pk", *kind.CALLED, *kind.ALSO):
        also = dict(zip(kind.ALSO, values[called:], strict=True))
        known = Known(pk, values[:called], also.get("length_mm"))
        found.append(Entry(known, also.get("maker_catalog_number", ""), also["retired"]))
    return found

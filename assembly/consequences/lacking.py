"""What is missing of the instruments in use, ranked by how many sets it would free."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

import numpy as np

from assembly.consequences.whole_catalog import Rows, names_of, rows_now
from catalog.models import CountSheet, Line

SIZES = ("length", "width", "height")


@dataclass(frozen=True, slots=True)
class Lacking:
    """An instrument with what is missing of it: so many sets have it (``blocks``), and in so many
    of them nothing else lacks a size, a weight or a cycle (``frees``)."""

    number: str
    name: str
    missing: tuple[str, ...]
    frees: int
    blocks: int


def lacking_ranked() -> list[Lacking]:
    """Every instrument in use without a size, its weight or a cycle; what frees most sets first.

    What else may stand in the way of a set is not asked: it is freed as far as these go.
    """
    rows = rows_now()
    missing = _missing(rows)
    blocks, frees = Counter[int](), Counter[int]()
    lines = Line.objects.filter(
        count_sheet__state=CountSheet.State.CURRENT, count_sheet__instrument_set__retired=False
    )
    read = lines.order_by("count_sheet").values_list("count_sheet", "instrument").iterator()
    for _, some in groupby(read, key=itemgetter(0)):
        without = {key for _, key in some if key in missing}
        blocks.update(without)
        if len(without) == 1:
            frees.update(without)
    named, number = names_of(missing), dict(zip(rows.keys, rows.numbers, strict=True))
    found = [Lacking(number[key], named[key], words, frees[key], blocks[key])
             for key, words in missing.items()]  # fmt: skip
    return sorted(found, key=lambda one: (-one.frees, -one.blocks, one.number))


def _missing(rows: Rows) -> dict[int, tuple[str, ...]]:
    """What each instrument lacks, by its key; of those that lack something."""
    columns, kinds = rows.catalog.columns, rows.catalog.kinds
    bare = np.array([not one.cycles for one in rows.catalog.examples], dtype=bool)[kinds]
    unknown = {name: np.isnan(getattr(columns, f"{name}_mm")) for name in SIZES}
    unknown |= {"weight": np.isnan(columns.weight_g), "cycle": bare}
    some = np.flatnonzero(np.any(list(unknown.values()), axis=0))
    return {
        rows.keys[row]: tuple(name for name, lacks in unknown.items() if lacks[row])
        for row in some.tolist()
    }

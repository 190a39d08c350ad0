"""The labels of shelves and bins: of an instrument's own place, and of each place by its code.

Their codes are our own and plain: they name nothing outside this house.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import ShelfPlace
from assembly.rules.telling import explain
from catalog.models import Instrument
from reports.documents.labels import ShelfLabelDocument

SCAN_IT = "Scan it, then each package."
NO_PACKAGE = "No package is recommended: ask at the Bench."


def instrument_shelf_label(instrument: Instrument) -> ShelfLabelDocument:
    """An instrument's number in large letters, with its name and what it is usually packed in.

    It is about no package: nothing was packed, and nothing of it is on record.
    """
    taken = decide_for_instrument(instrument, out=()).decision.recommended
    return ShelfLabelDocument(
        number=instrument.item_number,
        name=instrument.name,
        code=instrument.item_number,
        note=f"Usually: {explain.name(taken)}" if taken else NO_PACKAGE,
        symbol=policy_in_force().word("label_symbol"),
    )


def place_labels(places: Iterable[ShelfPlace]) -> Iterator[ShelfLabelDocument]:
    """Each place's code in large letters with its name, and the code to scan."""
    symbol = policy_in_force().word("label_symbol")
    for place in places:
        yield ShelfLabelDocument(place.code, place.name, place.code, SCAN_IT, symbol)

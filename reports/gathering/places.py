"""From shelf places to their labels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import ShelfPlace
from reports.documents.papers import LabelDocument

SAID = "Scan it, then each package."


def place_labels(places: Iterable[ShelfPlace]) -> Iterator[LabelDocument]:
    """Each place's code in large letters with its name, and the code to scan.

    The code is our own and plain: it names nothing outside this house.
    """
    symbol = policy_in_force().word("label_symbol")
    for place in places:
        yield LabelDocument(
            what=place.code, quantity=place.name, packed_by="", packed_on=None,
            barcode_text=place.code, statement=SAID, symbol=symbol, required=(),
        )  # fmt: skip

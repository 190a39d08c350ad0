"""Why a column was taken for what it is, in few words: for the page and the command."""

from __future__ import annotations

from catalog.spreadsheets.columns.column import Column, declared_fit
from catalog.spreadsheets.evidence.headings import heading_score
from catalog.spreadsheets.evidence.values import MOST, NEARLY_ALL, Values

LIKE = 0.3
"""A heading that fits by less than this says nothing of the column."""
KNOWN = {
    "item_number": "known item numbers",
    "maker_catalog_number": "known maker's numbers",
    "name": "known names",
    "maker": "known makers",
    "set_code": "known set numbers",
}
"""How it is said that the catalog knows the values of a column."""


def reason(key: str, column: Column | None, heading: str, values: Values, known: bool) -> str:
    """The heading's part and the values' part of the evidence, each where there is one; ``known``:
    the catalog has the values as ``key``.

    >>> reason("length", None, "Länge gesamt", Values(3, numbers=1.0), known=False)
    'heading; numbers'
    """
    said = ""
    if heading and column and declared_fit(heading, column) is not None:
        said = "known heading"
    elif heading and heading_score(heading, key) >= LIKE:
        said = "heading"
    told = KNOWN[key] if known else values_in_words(key, values)
    return "; ".join(part for part in (said, told) if part)


def values_in_words(key: str, values: Values) -> str:
    """What the values of a column are, as far as it tells the column ``key``; "" for nothing."""
    if not values.filled:
        return "empty"
    once = ", each once" if values.different > NEARLY_ALL else ""
    if key == "sizes" and values.three_sizes > MOST:
        return "three sizes in a cell"
    if key == "quantity" and values.counts > MOST:
        return "small whole numbers"
    if values.lengths + values.weights > MOST:
        return "sizes with units"
    if values.numbers > MOST and key not in ("item_number", "maker_catalog_number", "set_code"):
        return "numbers"
    if values.codes > MOST:
        return f"codes{once}"
    return f"words{once}" if values.words > MOST else ""

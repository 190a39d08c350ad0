"""Policy values in words, for the page, the command and the printout."""

from __future__ import annotations

from assembly.rules.findings import metric
from assembly.rules.policy.values import Value

CONFIDENCE_WORDS = {
    "S": "read in the source",
    "2": "in a secondary source",
    "2-": "in a weak secondary source",
    "M": "from memory: confirm with your own documents",
    "CP": "common practice, no source",
    "D": "our own derivation",
    "own": "set by the department",
}


def value_words(value: Value, unit: str) -> str:
    """A value with its unit.

    >>> value_words(11339.81, "g"), value_words(None, "g"), value_words(("pouch", "roll"), "words")
    ('11,339.8 g', 'not set', 'pouch, roll')
    """
    if value is None:
        return "not set"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(value)
    if isinstance(value, float):
        if unit == "g":
            return f"{value:,.1f} g".replace(".0 g", " g")
        return metric(value, "" if unit == "count" else unit)
    return str(value)

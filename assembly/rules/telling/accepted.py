"""What was accepted against the rules, in the words that label, pages and papers share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from assembly.rules.deciding.carried import CYCLE_RULES

ACCEPTED = ": ACCEPTED BY "
CYCLE = "CYCLE NOT THE MAKER'S"
OVER_WEIGHT = "OVER THE WEIGHT LIMIT"
NO_ROOM = "LESS ROOM THAN THE RULE"
PROTECTOR = "PROTECTOR NOT AS THE RULE"
NOT_KNOWN = "NOT KNOWN WHEN PACKED"
WORDS = {
    **dict.fromkeys(CYCLE_RULES, CYCLE),
    "lumens": "LUMEN BEYOND WHAT THE CYCLE CLAIMS",
    "method": "PACKAGING NOT LABELED FOR THE CYCLE",
    "filter": "FILTER NOT FOR THE CYCLE",
    "protector": PROTECTOR,
    "vented": PROTECTOR,
    "material": PROTECTOR,
    "bore": PROTECTOR,
    "validated pair": "DOUBLE POUCH NOT A VALIDATED PAIR",
    "allowed": "PACKAGE NOT ONE THE MAKER ALLOWS",
    "sharp points": "SHARP POINTS IN A POUCH",
    "bulky": "BULKY FOR A POUCH",
    "pouches inside": "POUCHES INSIDE",
    "scale reading": "WEIGHT DOUBTFUL",
    "indicator": "INDICATOR NOT FOR THE CYCLE",
}
"""What a finding of a rule is called on a label once a person has accepted it."""
BY_ENDING = {"weight": OVER_WEIGHT, "width": NO_ROOM, "length": NO_ROOM, "height": NO_ROOM,
             "fill": NO_ROOM, "seal": NO_ROOM, "plan": NO_ROOM, "size": NO_ROOM,
             "sheet": NO_ROOM, "fits": NO_ROOM, "density": OVER_WEIGHT}  # fmt: skip
"""The same by the last word of the rule's name, where it has no words of its own."""


def accepted_words(rule: str, status: str) -> str:
    """A finding that was accepted, as the label of its package calls it.

    >>> accepted_words("common cycle", "not met"), accepted_words("gross weight", "not met")
    ("CYCLE NOT THE MAKER'S", 'OVER THE WEIGHT LIMIT')
    >>> accepted_words("inner width", "not met"), accepted_words("plan", "cannot tell")
    ('LESS ROOM THAN THE RULE', 'NOT KNOWN WHEN PACKED: plan')
    >>> accepted_words("", "")
    'RULES OVERRIDDEN'
    """
    if not rule:  # accepted all in one, before each finding was by itself
        return "RULES OVERRIDDEN"
    if status == "cannot tell":
        return f"{NOT_KNOWN}: {rule}"
    return WORDS.get(rule) or BY_ENDING.get(rule.split()[-1]) or f"AGAINST THE RULE “{rule}”"


def accepted_marks(accepted: Iterable[Mapping[str, Any]], by: str = "") -> tuple[str, ...]:
    """What was taken against the rules: each kind once for each person who accepted it. ``by`` is
    who did where a finding names nobody.

    >>> weight = {"rule": "gross weight", "status": "not met", "by": "A. Lead"}
    >>> accepted_marks([weight, {**weight, "rule": "plan"}])
    ('OVER THE WEIGHT LIMIT, LESS ROOM THAN THE RULE: ACCEPTED BY A. Lead',)
    >>> accepted_marks([], "A. Lead")
    ('RULES OVERRIDDEN: ACCEPTED BY A. Lead',)
    """
    found: dict[str, list[str]] = {}
    for one in accepted:
        words = accepted_words(one.get("rule", ""), one.get("status", ""))
        found.setdefault(one.get("by") or by, []).append(words)
    if by and not found:
        found = {by: [accepted_words("", "")]}
    return tuple(f"{', '.join(dict.fromkeys(each))}{ACCEPTED}{person}"
                 for person, each in found.items())  # fmt: skip

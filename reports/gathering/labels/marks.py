"""What stands white on black on a package's label: what it is, whose it is, what was accepted."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import Loaner, Package
from assembly.packages.implants import implants_on_record, numbers_in
from assembly.rules.deciding.carried import CYCLE_RULES
from assembly.rules.policy.values import Policy
from reports.documents.giving_way import ACCEPTED, IMPLANT, LOANER

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


class Marks:
    """Flags for many packages: the policy, and what is asked of the catalog, are asked once."""

    @cached_property
    def policy(self) -> Policy:
        """The policy in force, for all of them."""
        return policy_in_force()

    @cached_property
    def _implants(self) -> frozenset[str]:
        return implants_on_record()

    @cached_property
    def _lent(self) -> list[Loaner]:
        return list(Loaner.objects.exclude(instrument=None, instrument_set=None)
                    .select_related("instrument", "instrument_set"))  # fmt: skip

    def of(self, package: Package) -> Iterator[str]:
        """Implant and loaner as the records have them, then what was accepted and by whom."""
        numbers = numbers_in(package.contents)
        if numbers & self._implants:
            yield IMPLANT
        if any(_is_of(one, package, numbers) for one in self._lent):
            yield LOANER
        yield from accepted_marks(package)


def _is_of(one: Loaner, package: Package, numbers: set[str]) -> bool:
    """Whether the package is, or has in it, what was lent when it was packed."""
    if one.came_at > package.packed_at or (one.ended_at and one.ended_at < package.packed_at):
        return False
    if one.instrument_set:
        return package.kind == Package.Kind.SET and package.number == one.instrument_set.code
    return bool(one.instrument and one.instrument.item_number in numbers)


def accepted_marks(package: Package) -> Iterator[str]:
    """What was taken against the rules: each kind once for each person who accepted it."""
    by: dict[str, list[str]] = {}
    for one in package.accepted:
        words = accepted_words(one.get("rule", ""), one.get("status", ""))
        by.setdefault(one.get("by") or package.override_by, []).append(words)
    if package.override_by and not by:
        by = {package.override_by: [accepted_words("", "")]}
    for person, found in by.items():
        yield f"{', '.join(dict.fromkeys(found))}{ACCEPTED}{person}"

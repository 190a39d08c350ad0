"""Which chemical indicators go where: type and place by kind of package.

One inside every package, where the sterilant reaches last, and one outside on each. Types
are those of ISO 11140-1:2014 (they are no ranking); which type a department uses is its
policy. Sources: CDC-based guidance and ANSI/AAMI ST79 as reported, or common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import assert_never

from assembly.rules.facts.checks import FactsError
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

EVERY_PACKAGE = "CDC-based guidance; ANSI/AAMI ST79 as reported"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Indicator:
    """One indicator: where it goes, its type, what to do with it, and the source."""

    place: str
    type: str
    text: str
    source: str


def indicators(
    kind: Kind, policy: Policy, *, double: bool = False, levels: int | None = 1
) -> tuple[Indicator, ...]:
    """The indicators of one package, inside ones first.

    ``double`` is a pouch in a pouch: the inside indicator goes into the inner one.
    ``levels`` counts the baskets or layers of a set; None where it is not known: then one
    is asked for on each. Fewer than one level is a FactsError.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> policy = default_policy(date(2026, 1, 1))
    >>> [(i.place, i.type) for i in indicators(Kind.POUCH, policy)]
    [('inside the pouch', 'type 5'), ('outside the pouch', 'type 1')]
    """
    if levels is not None and (isinstance(levels, bool) or levels < 1):
        raise FactsError("levels", levels, "a set has at least one level")
    return (*_inside(kind, policy, double, levels), _outside(kind, policy, double))


def _inside(kind: Kind, policy: Policy, double: bool, levels: int | None) -> tuple[Indicator, ...]:
    match kind:
        case Kind.POUCH | Kind.ROLL:
            return (_in_pouch(kind, policy, double),)
        case Kind.WRAP:
            return _in_wrap(policy, levels)
        case Kind.CONTAINER:
            return _in_container(policy, levels)
        case _:
            assert_never(kind)


def _in_pouch(kind: Kind, policy: Policy, double: bool) -> Indicator:
    if double:
        return Indicator(
            "inside the inner pouch",
            policy.word("internal_indicator"),
            "Put it into the inner pouch, beside the instrument, readable through both films.",
            f"{EVERY_PACKAGE}; the inner pouch: {PRACTICE}",
        )
    where = "pouch" if kind is Kind.POUCH else "roll pouch"
    return Indicator(
        f"inside the {where}",
        policy.word("internal_indicator"),
        "Put it where the sterilant reaches last, readable through the film before opening.",
        f"{EVERY_PACKAGE}; readable through the film: {PRACTICE}",
    )


def _in_wrap(policy: Policy, levels: int | None) -> tuple[Indicator, ...]:
    if levels == 1:
        return (
            Indicator(
                "inside the wrapped pack",
                policy.word("internal_indicator"),
                "Put it in the middle of the contents, where the sterilant reaches last.",
                EVERY_PACKAGE,
            ),
        )
    return _one_per_level(policy, levels, EVERY_PACKAGE)


def _in_container(policy: Policy, levels: int | None) -> tuple[Indicator, ...]:
    source = policy.source("container_indicators")
    if policy.word("container_indicators") == "one per level":
        return _one_per_level(policy, levels, source)
    type_ = policy.word("internal_indicator")
    return tuple(
        Indicator(
            f"{place}, {corner}",
            type_,
            "Put the two into opposite corners, not under a filter.",
            source,
        )
        for place in _level_places(levels)
        for corner in ("one corner", "the opposite corner")
    )


def _one_per_level(policy: Policy, levels: int | None, source: str) -> tuple[Indicator, ...]:
    return tuple(
        Indicator(
            place,
            policy.word("internal_indicator"),
            "Put it in the middle of the level, where the sterilant reaches last.",
            source,
        )
        for place in _level_places(levels)
    )


def _level_places(levels: int | None) -> tuple[str, ...]:
    if levels is None:
        return ("each level",)
    if levels == 1:
        return ("inside the basket",)
    return tuple(f"level {n} from the bottom" for n in range(1, levels + 1))


def _outside_words(kind: Kind) -> tuple[str, str]:
    """Where the outside indicator is, and what to do about it."""
    match kind:
        case Kind.POUCH:
            return "outside the pouch", "The print on the pouch counts: see that it is there."
        case Kind.ROLL:
            return "outside the roll pouch", "The print on the roll counts: see that it is there."
        case Kind.WRAP:
            return "outside the wrapped pack", "The tape that closes the wrap carries it."
        case Kind.CONTAINER:
            return "outside the container", "Put it on the container's seal or label holder."
        case _:
            assert_never(kind)


def _outside(kind: Kind, policy: Policy, double: bool) -> Indicator:
    place, text = _outside_words(kind)
    if double:
        place = "outside the outer pouch"
    source = f"{EVERY_PACKAGE}; {policy.source('external_indicator')}"
    return Indicator(place, policy.word("external_indicator"), text, source)

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
from assembly.rules.telling.words import told
from catalog.vocabulary import Kind


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
            pouch = "pouch" if kind is Kind.POUCH else "roll pouch"
            return (_one("double" if double else "pouch", policy, pouch=pouch),)
        case Kind.WRAP if levels == 1:
            return (_one("wrap", policy),)
        case Kind.WRAP:
            return tuple(_one("wrap level", policy, level=one) for one in _level_places(levels))
        case Kind.CONTAINER:
            return _in_container(policy, _level_places(levels))
        case _:
            assert_never(kind)


def _one(key: str, policy: Policy, **put_in: str) -> Indicator:
    type_ = policy.word("internal_indicator")
    return Indicator(type=type_, **told("inside", key, policy, known=None, **put_in))


def in_corners(policy: Policy) -> bool:
    """Whether two lie in opposite corners of a container's level, not one in its middle."""
    return policy.word("container_indicators") != "one per level"


def _in_container(policy: Policy, places: tuple[str, ...]) -> tuple[Indicator, ...]:
    if not in_corners(policy):
        return tuple(_one("container level", policy, level=place) for place in places)
    return tuple(
        _one("corner", policy, level=place, corner=corner)
        for place in places
        for corner in ("one corner", "the opposite corner")
    )


def _level_places(levels: int | None) -> tuple[str, ...]:
    if levels is None:
        return ("each level",)
    if levels == 1:
        return ("inside the basket",)
    return tuple(f"level {n} from the bottom" for n in range(1, levels + 1))


def _outside(kind: Kind, policy: Policy, double: bool) -> Indicator:
    texts = told("outside", kind, policy)
    if double:
        texts["place"] = "outside the outer pouch"
    return Indicator(type=policy.word("external_indicator"), **texts)

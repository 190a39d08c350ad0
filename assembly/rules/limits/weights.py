"""Weights: a package's contents against its rating, a set's weight against the policy.

Net is the instruments alone, load adds baskets and accessories inside a container, gross
adds the container or wrap. The three are kept apart, and every sentence names its basis.
An unknown weight never passes: even when all that is known stays under the limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from assembly.rules.facts.checks import FactsError, check_numbers
from assembly.rules.findings import (
    CLOSE_G,
    Amount,
    Finding,
    Rule,
)
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy

CONTENTS_WEIGHT = Rule("contents weight", "the packaging maker's IFU")


def rating_finding(weight_g: float | None, rated_g: float | None, kind: str) -> Finding:
    """Contents at most the rating, in g; equal is met, either unknown cannot be told.

    Source: the packaging maker's IFU; no public standard gives one limit.

    >>> rating_finding(110, 110, "pouch").status, rating_finding(111, 110, "pouch").status
    (<Status.MET: 'met'>, <Status.NOT_MET: 'not met'>)
    """
    if weight_g is None:
        return CONTENTS_WEIGHT.cannot_tell(
            "The instrument's weight is not on record: weigh it.",
            "weight_g",
            limit=rated_g,
            unit="g",
        )
    if rated_g is None:
        return CONTENTS_WEIGHT.cannot_tell(
            f"What this {kind} may hold is not on record: read its IFU.", "rated_g", unit="g"
        )
    return CONTENTS_WEIGHT.at_most(
        weight_g,
        rated_g,
        "g",
        met=f"{{figure}} in a {kind} rated for {{limit}}.",
        not_met=f"Too heavy: {{figure}} in a {kind} rated for {{limit}}.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Pieces of one kind in a set: how many, what one weighs, and how sure that is.

    ``least_g`` and ``most_g`` bound an unknown weight where its group has a usual range;
    such a range is an assumption and is shown as one.
    """

    name: str
    quantity: int
    weight_g: float | None = None
    tolerance_g: float = 0.0
    least_g: float | None = None
    most_g: float | None = None

    def __post_init__(self) -> None:
        check_numbers(self)
        if isinstance(self.quantity, bool) or self.quantity < 0:
            raise FactsError("quantity", self.quantity, "a count is 0 or more")


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weight as an interval in g: ``most`` None where nothing bounds it above.

    ``unknown`` names what is not weighed and decides, ``uncounted`` packaging that is not
    weighed and is too light to; ``missing`` names the facts that are not on record,
    ``unweighed`` counts the pieces and parts that nothing bounds.
    """

    known: float
    least: float
    most: float | None
    unknown: tuple[str, ...]
    empty: bool = False
    uncounted: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    unweighed: int = 0

    def plus(self, name: str, weight_g: float | None, missing: str) -> Weighing:
        """With one more part (g); one of unknown weight is named and leaves it open above.

        ``missing`` is the fact that is not on record then.
        """
        if weight_g is None:
            unknown, facts = (*self.unknown, name), (*self.missing, missing)
            return replace(self, most=None, unknown=unknown, missing=facts,
                           unweighed=self.unweighed + 1)  # fmt: skip
        return replace(
            self,
            known=self.known + weight_g,
            least=self.least + weight_g,
            most=None if self.most is None else self.most + weight_g,
        )

    def without(self, weight_g: float) -> Weighing:
        """What is left of a reading without one part (g) that was weighed with it."""
        most = None if self.most is None else max(0.0, self.most - weight_g)
        least, known = (max(0.0, one - weight_g) for one in (self.least, self.known))
        return replace(self, known=known, least=least, most=most)


def weigh(pieces: Sequence[Piece]) -> Weighing:
    """The weight of pieces by the catalog (g).

    Copies of one kind share their error, so the tolerance counts once per copy. An unknown
    weight adds its group's range, or leaves the interval open above.

    >>> rasp = weigh([Piece(name="rasp", quantity=1, weight_g=6640, tolerance_g=30)])
    >>> rasp.known, rasp.least, rasp.most
    (6640.0, 6610.0, 6670.0)
    """
    known = least = 0.0
    most: float | None = 0.0
    unknown, unweighed = [], 0
    for piece in pieces:
        if not piece.quantity:
            continue
        if piece.weight_g is not None:
            known += piece.quantity * piece.weight_g
            least += piece.quantity * (piece.weight_g - piece.tolerance_g)
            if most is not None:
                most += piece.quantity * (piece.weight_g + piece.tolerance_g)
            continue
        unknown.append(piece.name)
        least += piece.quantity * (piece.least_g or 0.0)
        if piece.most_g is None:
            most = None
            unweighed += piece.quantity
        elif most is not None:
            most += piece.quantity * piece.most_g
    empty = not any(piece.quantity for piece in pieces)
    return Weighing(known, least, most, tuple(unknown),
                    empty, missing=("weight_g",) if unknown else (),
                    unweighed=unweighed)  # fmt: skip


def scale_reading(reading_g: float, error_g: float) -> Weighing:
    """A real reading with the scale's error: it replaces the whole sum (g)."""
    return Weighing(reading_g, reading_g - error_g, reading_g + error_g, ())


def weight_finding(rule: Rule, weighing: Weighing, limit_g: float | None, basis: str) -> Finding:
    """A weight against one limit (g), asked in this order.

    1. Even the least is over: not met, whatever is unknown. 2. Any weight unknown: cannot
    tell, even if the assumed most would be under. 3. The most is under: met, equal
    included. 4. The limit lies between: cannot tell, weigh it.
    """
    if limit_g is None:
        return rule.does_not_apply(f"The policy sets no limit on the {basis}.")
    if weighing.least > limit_g + CLOSE_G:
        return _over(rule, weighing, limit_g, basis)
    between = weighing.most is not None and weighing.most > limit_g + CLOSE_G
    if weighing.unknown or between:
        return _open(rule, weighing, limit_g, basis)
    words = f"The {basis} is {{figure}}, {{margin}} under {{limit}}."
    if weighing.empty:
        words = "Nothing is in it yet: {figure}."
    if weighing.uncounted:
        names = ", ".join(weighing.uncounted)
        words += f" Not counted, since its own weight is not on record: {names}."
    amounts = _amounts(weighing)
    return rule.met(words, figure=weighing.known, limit=limit_g, unit="g", amounts=amounts)


def _amounts(weighing: Weighing) -> dict[str, Amount]:
    amounts: dict[str, Amount] = {"known": (weighing.known, "g"), "least": (weighing.least, "g")}
    if weighing.most is not None:
        amounts["most"] = (weighing.most, "g")
    return amounts


def _over(rule: Rule, weighing: Weighing, limit_g: float, basis: str) -> Finding:
    """Over the limit whatever else is in it."""
    words, figure = f"Over: the {basis} is {{figure}}, {{margin}} over {{limit}}.", weighing.known
    if weighing.unknown:
        words = f"Over: what is known of the {basis} is already {{figure}}; at most {{limit}}."
        figure = weighing.least
    return rule.not_met(words, figure=figure, limit=limit_g, unit="g", amounts=_amounts(weighing))


def _open(rule: Rule, weighing: Weighing, limit_g: float, basis: str) -> Finding:
    """Not to be told without the scale: something is not weighed, or the limit lies between."""
    words = f"The {basis} lies between {{least}} and {{most}}; the limit {{limit}} lies between "
    words += "them: put it on the scale."
    if weighing.unknown:
        names = ", ".join(weighing.unknown)
        words = f"{{known}} of the {basis} is known; not weighed: {names}. "
        words += "Weigh the set, or the pieces named."
        if len(weighing.unknown) == 1:
            words = f"The {basis} is not known: weigh {names}."
    missing = weighing.missing or ("scale reading",)
    return rule.cannot_tell(words, *missing, limit=limit_g, unit="g", amounts=_amounts(weighing))


def gross_finding(weighing: Weighing, policy: Policy, wrapped: bool = False) -> Finding:
    """Gross weight (contents and packaging, g) against the policy's gross limit.

    A wrapped pack has its own limit where the policy sets one. Source: the policy's own.
    """
    limit, rule = _gross(wrapped, policy)
    return weight_finding(rule, weighing, limit, BASIS[rule.name])


def gross_limit_g(policy: Policy, wrapped: bool = False) -> float | None:
    """The policy's gross limit (g), a wrapped pack's own where it sets one; None: none set."""
    return _gross(wrapped, policy)[0]


@kept
def _gross(wrapped: bool, policy: Policy) -> tuple[float | None, Rule]:
    own = wrapped and policy.number_or_none("gross_limit_wrapped_g") is not None
    name = "gross_limit_wrapped_g" if own else "gross_limit_g"
    return policy.number_or_none(name), Rule("gross weight", policy.source(name))


def with_packaging(
    weighing: Weighing, name: str, weight_g: float | None, policy: Policy, wrapped: bool = False
) -> Weighing:
    """A gross weight with its pouch, roll or sheets (g).

    Where their weight is not on record they are named as not counted; once the rest is near
    the limit (the policy's share of it) they are unknown, and so is whether it passes.
    """
    limit = gross_limit_g(policy, wrapped) if weight_g is None else None
    near = limit is not None and weighing.known > policy.number("near_limit_share") * limit
    if weight_g is None and not near:
        known = weighing
        return Weighing(known.known, known.least, known.most, known.unknown, known.empty,
                        (*known.uncounted, name), known.missing, known.unweighed)  # fmt: skip
    return weighing.plus(name, weight_g, f"{name}.weight")


def reading_finding(
    reading: Weighing, expected: Weighing, packed_in: str | None, policy: Policy
) -> Finding:
    """Whether a scale's reading (g) may be that of what is known to lie in the package.

    From the least to the most that the weights on record can add up to, with the policy's
    share of them and the scale's error, and its figure for each that is not on record; equal is
    met. Outside, nobody can tell which is wrong: the unit, the scale or what lies in it.
    """
    names = ("reading_apart_share", "scale_error_g", "unweighed_most_g")
    rule = Rule("scale reading", policy.source(*names))
    if packed_in is None:
        words = "What was weighed is not on record: the sum of the weights is taken."
        return rule.does_not_apply(words)
    share, error = policy.number("reading_apart_share"), policy.number("scale_error_g")
    each, bare = policy.number("unweighed_most_g"), expected.unweighed
    sums = expected.known if expected.most is None else expected.most
    least = max(0.0, expected.least * (1 - share) - error)
    most = sums * (1 + share) + error + bare * each
    amounts = {"reading": (reading.known, "g"), "least": (least, "g"), "most": (most, "g"),
               "each": (each, "g")}  # fmt: skip
    high = reading.known > most + CLOSE_G
    if high or reading.known < least - CLOSE_G:
        span = "no more than {most}" if high else "no less than {least}"
        if high and bare:
            span += f", with {{each}} for each of {bare} not weighed"
        words = f"The scale reads {{reading}}; by the weights on record it is {span}. "
        words += "Unit or scale? Look at both, and at what lies in it, and weigh again."
        return rule.cannot_tell(words, "scale reading", unit="g", amounts=amounts)
    words = f"The scale reads {{reading}} in {packed_in}, as the weights on record let expect."
    return rule.met(words, amounts=amounts)


def load_finding(weighing: Weighing, policy: Policy, share: float = 1.0) -> Finding:
    """Load (g: what lies in the container, without the container) against its limit.

    ``share`` is the container's part of one sterilization unit. Source: the policy's own; no
    limit set does not apply.
    """
    return _policy_finding("load weight", weighing, policy, "load_limit_g", share)


def net_finding(weighing: Weighing, policy: Policy) -> Finding:
    """Net weight (g: the instruments alone) against the policy's net limit.

    Source: the policy's own; no limit set does not apply.
    """
    return _policy_finding("net weight", weighing, policy, "net_limit_g")


BASIS = {
    "gross weight": "gross weight (contents and packaging)",
    "load weight": "load (contents, without the container)",
    "net weight": "net weight (instruments alone)",
}
"""What each rule weighs, in the words of its sentences."""


def _policy_finding(
    rule: str, weighing: Weighing, policy: Policy, name: str, share: float = 1.0
) -> Finding:
    limit = policy.number_or_none(name)
    limit = None if limit is None else share * limit
    return weight_finding(Rule(rule, policy.source(name)), weighing, limit, BASIS[rule])


def gross_details(gross: Weighing) -> dict[str, Any]:
    """What a candidate keeps of its gross weight: the sum (g, None unknown), what is not in it."""
    known = None if gross.unknown else gross.known
    return {"gross_g": known, "not_weighed": list(gross.uncounted)}

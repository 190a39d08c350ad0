"""The weigh-check: what a scale's reading says of what is missing or too many in a set.

A reading is held against an earlier one of the same physical set, taken when it was counted
complete (its *baseline*). Beyond so many standard deviations it is an alarm: recount. Only then
the explanations are weighed against each other; a count is never corrected by it.

    mean(H) = sum of +-w_i;  var(H) = s0² + sum over changed copies (spread w_i)²
    weight(H) = prod C(q_i, n_i) p_missing^m p_extra^e exp(-z²/2) / sqrt(2 pi var)
    something else: p_other / window, for each g;  posterior = weight / sum of weights

s0² is that of both readings: 2 (r² + d²/12 + n²) where both are of one scale (repeatability r,
step d, whatever else moves a reading n). Source: Bayes' rule on sums of normal errors, ours; the
odds are house values of the policy. Weights and deviations in g.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from assembly.rules.computing.reorder import z_of
from assembly.rules.policy.values import Policy

KEPT_Z = 3.0
"""Explanations further off than this are none: 0.27 % of what is true lies there."""
MOST_HYPOTHESES = 100_000
"""So many are weighed, then the answer says that there were more. Our own bound."""
USUAL_CHANGES, MOST_CHANGES = 2, 3
LINES_FOR_MOST = 100
"""Three changes at once are looked for up to so many lines: beyond it takes seconds."""
UNIFORM_SHARE = 12
"""A step d is an error with a variance of d²/12 (uniform distribution)."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale: its ``step``, its repeatability, and what else moves a reading (g, 1 deviation)."""

    step_g: float
    repeat_g: float
    noise_g: float = 0.0

    def __post_init__(self) -> None:
        if not self.step_g > 0 or min(self.repeat_g, self.noise_g) < 0:
            raise ValueError(f"{self}: a step is more than 0, the others 0 or more")

    @property
    def variance(self) -> float:
        """Of one reading (g²)."""
        return self.repeat_g**2 + self.step_g**2 / UNIFORM_SHARE + self.noise_g**2


@dataclass(frozen=True, slots=True)
class Values:
    """What the policy says of the check."""

    deviations: float
    sure: float
    spread: float
    catalog_spread: float
    missing: float
    extra: float
    other: float
    window_g: float
    share: float
    most: int

    @classmethod
    def of(cls, policy: Policy) -> Values:
        n = policy.number
        return cls(n("weigh_alarm_deviations"), n("weigh_sure_share"), n("weigh_spread"),
                   n("weigh_catalog_spread"), n("weigh_missing_odds"), n("weigh_extra_odds"),
                   n("weigh_other_odds"), n("weigh_window_g"), n("weigh_list_share"),
                   int(n("weigh_list_most")))  # fmt: skip


def scale_of(policy: Policy) -> Scale:
    """The department's scale."""
    return Scale(*map(policy.number, ("scale_step_g", "scale_repeat_g", "scale_noise_g")))


@dataclass(frozen=True, slots=True)
class Piece:
    """A line: what one of it weighs (None: unknown), how many are counted in the set now, and how
    many were in it when its baseline was taken."""

    name: str
    each_g: float | None
    quantity: int
    usual: int

    def __post_init__(self) -> None:
        if min(self.quantity, self.usual) < 0 or (self.each_g is not None and not self.each_g > 0):
            raise ValueError(f"{self}: 0 or more pieces, of more than 0 g each")


@dataclass(frozen=True, slots=True)
class Reference:
    """What the scale should read now, and the standard deviation of the difference."""

    grams: float
    deviation: float


def not_comparable(pieces: Iterable[Piece]) -> tuple[str, ...]:
    """What was counted otherwise than for the baseline, and nobody knows what it weighs."""
    return tuple(one.name for one in pieces if one.each_g is None and one.quantity != one.usual)


def from_baseline(
    grams: float, pieces: Iterable[Piece], then: Scale, now: Scale, spread: float
) -> Reference:
    """The baseline with what is known to have changed since: said to be short, or a substitute.

    >>> round(from_baseline(5000, [], Scale(1, 0.5), Scale(1, 0.5), 0.01).deviation, 3)
    0.816
    """
    variance = then.variance + now.variance
    for one in pieces:
        changed, each = one.quantity - one.usual, one.each_g or 0.0
        grams += changed * each
        variance += abs(changed) * (spread * each) ** 2
    return Reference(grams, math.sqrt(variance))


def from_catalog(
    tare_g: float, pieces: Iterable[Piece], now: Scale, values: Values
) -> Reference | None:
    """The sum of the weights on record; None where it is not good enough to be held against: a
    weight is unknown, or copies differ by more than the policy allows."""
    variance = now.variance
    if values.spread > values.catalog_spread:
        return None
    for one in pieces:
        if one.each_g is None:
            return None
        tare_g += one.quantity * one.each_g
        variance += one.quantity * (values.spread * one.each_g) ** 2
    return Reference(tare_g, math.sqrt(variance))


def smallest_sure(deviation: float, values: Values) -> float:
    """The lightest single piece (g) whose absence is an alarm as surely as the policy asks."""
    return (values.deviations + z_of(values.sure)) * deviation


def below_tare(
    reading_g: float, reference: Reference, pieces: Sequence[Piece], spread: float
) -> bool:
    """Whether it reads less than the empty basket: then scale or tare is wrong. Never where a
    weight is unknown: what the basket weighs is then not known either."""
    if any(one.each_g is None for one in pieces):
        return False
    all_g = sum(one.quantity * (one.each_g or 0) for one in pieces)
    variance = sum(one.quantity * (spread * (one.each_g or 0)) ** 2 for one in pieces)
    reach = KEPT_Z * math.sqrt(reference.deviation**2 + variance)
    return reading_g < reference.grams - all_g - reach


# --- what explains a difference --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Option:
    """One piece of a line that is missing (``sign`` -1) or too many (+1)."""

    mean: float
    line: int
    sign: int
    variance: float


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """Changes that explain the difference, as (line, pieces: negative are missing), and how
    probable they are among all that were weighed. No changes: nothing is wrong."""

    changes: tuple[tuple[int, int], ...]
    share: float


@dataclass(frozen=True, slots=True)
class Explained:
    """All hypotheses, the most probable first; ``other`` is the share of something else."""

    found: tuple[Hypothesis, ...]
    other: float
    capped: bool


def explain(
    pieces: Sequence[Piece], difference: float, deviation: float, values: Values,
    changes: int = USUAL_CHANGES,
) -> Explained:  # fmt: skip
    """Every explanation by at most so many changes, with its posterior. The shares sum to 1.

    A line whose weight is unknown is named by none. ValueError without a deviation.
    """
    if not deviation > 0 or not 0 <= changes <= MOST_CHANGES:
        raise ValueError(f"deviation {deviation}, {changes} changes: more than 0, and up to 3")
    options = _options(pieces, values.spread)
    weights: dict[tuple[tuple[int, int], ...], float] = {}
    capped = False
    for chosen in _chosen(options, difference, deviation**2, changes):
        if capped := len(weights) == MOST_HYPOTHESES:
            break
        weight = _weight(chosen, pieces, difference, deviation**2, values)
        if weight is not None:
            weights[_changes_of(chosen)] = weight
    weights[()] = _density(difference, 0, deviation**2)
    other = values.other / values.window_g
    total = math.fsum([*weights.values(), other])
    found = [Hypothesis(key, weight / total) for key, weight in weights.items()]
    found.sort(key=lambda one: (-one.share, [(pieces[i].name, n) for i, n in one.changes]))
    return Explained(tuple(found), other / total, capped)


def _options(pieces: Sequence[Piece], spread: float) -> list[Option]:
    """Lightest first, what is missing being negative."""
    return sorted(
        (Option(sign * one.each_g, i, sign, (spread * one.each_g) ** 2)
         for i, one in enumerate(pieces) if one.each_g is not None
         for sign in ((-1, 1) if one.quantity else (1,))),
        key=lambda option: option.mean,
    )  # fmt: skip


def _chosen(
    options: Sequence[Option], difference: float, variance: float, changes: int
) -> Iterator[tuple[Option, ...]]:
    """Every choice of up to so many options whose sum may come near the difference, each once:
    the last is looked up in what is sorted."""
    means, widest = [one.mean for one in options], max((o.variance for o in options), default=0)
    for size in range(1, changes + 1):
        for first in combinations_with_replacement(range(len(options)), size - 1):
            left = difference - sum(means[i] for i in first)
            reach = KEPT_Z * math.sqrt(variance + widest + sum(options[i].variance for i in first))
            start = first[-1] if first else 0
            last = bisect_right(means, left + reach, start)
            for i in range(bisect_left(means, left - reach, start), last):
                yield (*(options[j] for j in first), options[i])


def _changes_of(chosen: Iterable[Option]) -> tuple[tuple[int, int], ...]:
    counted = Counter((one.line, one.sign) for one in chosen)
    return tuple(sorted((line, sign * n) for (line, sign), n in counted.items()))


def _weight(
    chosen: Sequence[Option], pieces: Sequence[Piece], difference: float, variance: float,
    values: Values,
) -> float | None:  # fmt: skip
    """None where it explains nothing: too far off, more missing than there are, or a line both
    missing and too many."""
    changed = _changes_of(chosen)
    if len({line for line, _ in changed}) < len(changed):
        return None
    if any(-n > pieces[line].quantity for line, n in changed):
        return None
    variance += sum(one.variance for one in chosen)
    mean = sum(one.mean for one in chosen)
    if abs(difference - mean) > KEPT_Z * math.sqrt(variance):
        return None
    odds = 1.0
    for line, n in changed:
        odds *= (
            values.extra**n if n > 0 else values.missing**-n * math.comb(pieces[line].quantity, -n)
        )
    return odds * _density(difference, mean, variance)


def _density(difference: float, mean: float, variance: float) -> float:
    z = (difference - mean) / math.sqrt(variance)
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi * variance)


# --- the answer --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Named:
    """One explanation of the list; ``pieces`` negative are missing. Without a name it is one of
    the kinds that name nothing: several items, something else, nothing wrong."""

    share: float
    name: str = ""
    pieces: int = 0
    kind: str = "one"


@dataclass(frozen=True, slots=True)
class Answer:
    """What the check says. ``named`` is empty without an alarm; ``needed`` is how many
    explanations it takes to hold the share that the policy asks, 0 where they are few enough."""

    reading_g: float
    reference: Reference
    alarm_g: float
    sure_g: float
    named: tuple[Named, ...] = ()
    needed: int = 0
    capped: bool = False
    scale_wrong: bool = False
    unweighed: tuple[str, ...] = ()

    @property
    def difference(self) -> float:
        return self.reading_g - self.reference.grams

    @property
    def alarm(self) -> bool:
        """Whether it has to be recounted, however probable it is that nothing is wrong."""
        return abs(self.difference) > self.alarm_g


def check(
    reading_g: float, reference: Reference, pieces: Sequence[Piece], values: Values,
    changes: int = USUAL_CHANGES,
) -> Answer:  # fmt: skip
    """The reading against what it should be; after an alarm the shortest list that holds the
    policy's share, or how many explanations that would take."""
    changes = min(changes, MOST_CHANGES if len(pieces) <= LINES_FOR_MOST else USUAL_CHANGES)
    deviation = reference.deviation
    unweighed = tuple(dict.fromkeys(one.name for one in pieces if one.each_g is None))
    quiet = Answer(reading_g, reference, values.deviations * deviation,
                   smallest_sure(deviation, values), unweighed=unweighed)  # fmt: skip
    if not quiet.alarm:
        return quiet
    wrong = below_tare(reading_g, reference, pieces, values.spread)
    explained = explain(pieces, quiet.difference, deviation, values, 0 if wrong else changes)
    named = [] if wrong else _shortest(_grouped(explained, pieces), values.share)
    few = len(named) <= values.most
    return Answer(reading_g, reference, quiet.alarm_g, quiet.sure_g, tuple(named if few else ()),
                  0 if few else len(named), explained.capped, wrong, unweighed)  # fmt: skip


def _grouped(explained: Explained, pieces: Sequence[Piece]) -> list[Named]:
    """One piece each; several items are no finding, and stand together without their names."""
    several = math.fsum(one.share for one in explained.found if _how_many(one) > 1)
    found = [Named(several, kind="several"), Named(explained.other, kind="other")]
    for one in explained.found:
        if _how_many(one) == 1:
            line, n = one.changes[0]
            found.append(Named(one.share, pieces[line].name, n))
        elif not one.changes:
            found.append(Named(one.share, kind="nothing"))
    return sorted(found, key=lambda named: -named.share)


def _how_many(one: Hypothesis) -> int:
    return sum(abs(n) for _, n in one.changes)


def _shortest(found: Iterable[Named], share: float) -> list[Named]:
    taken: list[Named] = []
    for one in found:
        taken.append(one)
        if math.fsum(each.share for each in taken) >= share:
            break
    return taken

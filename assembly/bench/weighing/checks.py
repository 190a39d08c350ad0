"""The weigh-check of an assembly: an open set on the scale, before the lid. It only asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from assembly.bench.builds import HEAVIEST_READING_G, OPEN, Kind
from assembly.bench.tally import Tally, tally_of
from assembly.bench.weighing.baselines import Known, Standing, in_force
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin, verb, write
from assembly.models import Build, BuildEvent
from assembly.persons import ASSEMBLE, Person
from assembly.rules.computing.weigh_check import (
    USUAL_CHANGES,
    Answer,
    Piece,
    Values,
    check,
    from_baseline,
    from_catalog,
    not_comparable,
    scale_of,
    smallest_sure,
)
from assembly.rules.computing.weigh_words import (
    STANDS,
    blind_words,
    headline,
    list_words,
    no_baseline,
)
from assembly.rules.policy.values import Policy
from catalog.models import Line


@dataclass(frozen=True, slots=True)
class Told:
    """What the check says of a reading, in sentences; ``answer`` None where it cannot be told."""

    answer: Answer | None
    said: list[str]

    @property
    def alarm(self) -> bool:
        return self.answer is not None and self.answer.alarm


def pieces_on(lines: Iterable[Line]) -> list[Piece]:
    """A count sheet as if all of it were there."""
    return [_piece(one.instrument, one.quantity, one.quantity) for one in lines]


def _pieces_in(tally: Tally) -> list[Piece]:
    """What was counted so far; a substitute voids the baseline, and is none of its line."""
    return [_piece(one.line.instrument, one.counted, one.line.wanted) for one in tally.lines]


def _piece(instrument: Any, quantity: int, usual: int) -> Piece:
    weight = instrument.weight_g
    return Piece(instrument.name, None if weight is None else float(weight), quantity, usual)


def told_of(
    reading_g: float, pieces: list[Piece], known: Known | None, changes: int = USUAL_CHANGES
) -> Told:
    """A reading against what the set weighs complete, where that is known."""
    policy = policy_in_force()
    values, now = Values.of(policy), scale_of(policy)
    if known is None:
        return Told(None, [no_baseline(values)])
    if unknown := not_comparable(pieces):
        return Told(None, [f"It cannot be compared: not all of {', '.join(unknown)} are in, and "
                           "nobody knows what one weighs."])  # fmt: skip
    reference = from_baseline(known.grams, pieces, known.scale or now, now, values.spread)
    return _told(check(reading_g, reference, pieces, values, changes))


def told_by_catalog(
    reading_g: float, tare_g: float, pieces: list[Piece], changes: int = USUAL_CHANGES
) -> Told:
    """A reading against the weights on record and the basket's, where those are good enough."""
    policy = policy_in_force()
    values = Values.of(policy)
    reference = from_catalog(tare_g, pieces, scale_of(policy), values)
    if reference is None:
        return Told(None, [no_baseline(values)])
    return _told(check(reading_g, reference, pieces, values, changes))


def _told(answer: Answer) -> Told:
    said = [headline(answer), *list_words(answer)]
    return Told(answer, [*said, STANDS] if answer.alarm else said)


def sure_of(policy: Policy, standing: Standing | None = None) -> float:
    """The lightest piece (g) that is surely noticed, by its baseline or by one of today's scale."""
    now = scale_of(policy)
    values = Values.of(policy)
    then = standing.scale if standing else now
    return smallest_sure(from_baseline(0, (), then, now, values.spread).deviation, values)


@verb(ASSEMBLE)
def weigh_open(
    person: Person, build_pk: int, grams: Decimal, number: int, key: str, as_read: str = ""
) -> BuildEvent:
    """The open set on the scale: the reading and what it tells stand on record with the assembly.

    It changes no count and stops nothing. ``number`` is that of the physical set.
    """
    build, before = begin(Build, build_pk, key, OPEN, person)
    if before:
        return before
    if not 0 < grams < HEAVIEST_READING_G:
        raise Refused(f"A reading of {grams:f} g is not taken. Read the scale again, and its unit.")
    tally = tally_of(build)
    standing = in_force(build.instrument_set).get(number)
    pieces = _pieces_in(tally)
    told = told_of(float(grams), pieces, standing.known if standing else None)
    blind = blind_words(sure_of(policy_in_force(), standing),
                        told.answer.unweighed if told.answer else ())  # fmt: skip
    complete = all(one.counted == one.line.wanted for one in tally.lines)
    data = {
        "grams": f"{grams:f}", "as_read": as_read or f"{grams:f} g", "number": number,
        "baseline": standing.baseline.pk if standing else None, "complete": complete,
        "alarm": told.alarm, "said": told.said, "blind": blind,
    }  # fmt: skip
    reason = f"No. {number}, {data['as_read']}: {told.said[0]}"
    return write(build, person, key, kind=Kind.WEIGHED, reason=reason[:300], data=data)


@dataclass(frozen=True, slots=True)
class Field:
    """The one field of the closing page: the numbers that have a baseline, the lightest piece (g)
    that it surely notices, and what was said of the last reading unless something was counted
    since."""

    numbers: tuple[int, ...]
    sure_g: float
    last: BuildEvent | None

    @property
    def number(self) -> int | None:
        """The number that is meant unless another is typed; None where it has to be."""
        if self.last:
            return int(self.last.data["number"])
        if len(self.numbers) < 2:
            return self.numbers[0] if self.numbers else 1
        return None


def field_for(tally: Tally, asked: bool, policy: Policy) -> Field | None:
    """None where the set has no baseline, and nobody ``asked`` to take its first."""
    known = in_force(tally.build.instrument_set)
    if not known and not asked and tally.weighed_open is None:
        return None
    return Field(tuple(known), surest(policy, known.values()), tally.weighed_open)


def surest(policy: Policy, known: Iterable[Standing]) -> float:
    """What is surely noticed whichever of the baselines it is; else by one of today's scale."""
    return max((sure_of(policy, one) for one in known), default=sure_of(policy))

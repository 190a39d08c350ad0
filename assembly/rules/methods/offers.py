"""Cycles that a set might go through: any that could be run, or the department's programmes.

Each is offered with the members that allow it. Source: the instrument makers' IFUs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.methods.accepting import RANK, Answer, Says, accepts
from assembly.rules.methods.covers import mask_of
from assembly.rules.methods.cycle_options import Member, Option
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


@dataclass(frozen=True, slots=True)
class Offer:
    """A cycle that could be run and, as a bit mask, the members that allow it.

    One that no sterilizer is known to run is an option whose bounds are single values.
    """

    cycle: Option | Programme
    mask: int


def free_offers(members: Sequence[Member], *, sure: bool = True) -> tuple[Offer, ...]:
    """Every cycle worth trying where any could be run, with who allows it.

    A box of cycles holds its own corner of least values, so trying every combination of
    least values that occur, per method and class, misses none. ``sure`` False lets an
    option with missing facts, and a member without any, allow what they might.
    """
    pools = [member.sure if sure else member.options for member in members]
    offers: dict[object, Offer] = {}
    for method, klass in _classes(option for pool in pools for option in pool):
        here = [
            option
            for pool in pools
            for option in pool
            if option.method is method and option.klass in ("", klass)
        ]
        names = sorted({name for option in here for name in option.bounds})
        lows = [sorted({option.low(name) for option in here}) for name in names]
        for values in product(*lows):
            single = {name: (at, at) for name, at in zip(names, values, strict=True)}
            point = Option(method, klass, single)
            mask = mask_of(
                n
                for n, pool in enumerate(pools)
                if any(option.holds(point) for option in pool) or not (sure or pool)
            )
            if mask:
                offers.setdefault((method, klass, values), Offer(point, mask))
    return tuple(offers.values())


def _classes(options: Iterable[Option]) -> list[tuple[Method, str]]:
    pairs = dict.fromkeys((option.method, option.klass) for option in options)
    named = {method for method, klass in pairs if klass}
    order = {method: n for n, method in enumerate(Method)}
    return sorted(
        ((method, klass) for method, klass in pairs if klass or method not in named),
        key=lambda pair: order[pair[0]],
    )


def programme_offers(
    members: Sequence[Member], programmes: Sequence[Programme], policy: Policy, *, sure: bool = True
) -> tuple[Offer, ...]:
    """The department's programmes in their order, with who accepts each.

    ``sure`` False counts a member that cannot be told as accepting.
    """
    return _programme_offers(members, programmes, sure, policy)


@kept
def _programme_offers(
    members: Sequence[Member], programmes: Sequence[Programme], sure: bool, policy: Policy
) -> tuple[Offer, ...]:
    good = (Says.YES,) if sure else (Says.YES, Says.CANNOT_TELL)
    return tuple(
        Offer(
            programme,
            mask_of(
                n
                for n, member in enumerate(members)
                if programme_answer(member, programme, policy).says in good
            ),
        )
        for programme in programmes
    )


def programme_answer(member: Member, programme: Programme, policy: Policy) -> Answer:
    """What a member says to a programme: the best answer of its cycles."""
    return _answer(member.cycles, member.contents, programme, policy)


@kept
def _answer(
    cycles: tuple[CycleOption, ...], contents: Contents, programme: Programme, policy: Policy
) -> Answer:
    if not cycles:
        return Answer(Says.CANNOT_TELL, "no cycle is on record", "cycles")
    answers = [accepts(cycle, programme, policy, contents) for cycle in cycles]
    return min(answers, key=lambda answer: (RANK[answer.says], bool(answer.caution)))


MOST_NAMED = 3
"""How many members a caution names before it counts the others."""


def cautions_of(members: Sequence[Member], programme: Programme, policy: Policy) -> str:
    """What to take care of where members accept a programme only just, each with its name."""
    found: dict[str, list[str]] = {}
    for member in members:
        if caution := programme_answer(member, programme, policy).caution:
            found.setdefault(caution, []).append(member.name)
    words = []
    for caution, names in found.items():
        more = len(names) - MOST_NAMED
        shown = ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
        words.append(f"{shown}: {caution[:1].lower()}{caution[1:]}")
    return " ".join(words)

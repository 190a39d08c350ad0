"""Which lines of a set can go through one cycle: parted only where IFUs truly clash.

What is missing of an IFU parts nothing: such a line goes where it is not ruled out, and is named
as a doubt. A section stays whole where one cycle may serve all of it. Source: the instrument
makers' IFUs; the least number of groups is a smallest cover, ours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.methods.covers import Cover, smallest_cover
from assembly.rules.methods.cycle_options import CommonCycle, Member, common_cycles, members_from
from assembly.rules.methods.offers import Offer, free_offers, programme_offers
from assembly.rules.policy.values import Policy

NODE_LIMIT = 20_000
"""Steps after which the search for the fewest groups stops: less than a tenth of a second."""


@dataclass(frozen=True, slots=True)
class CycleGroup:
    """Lines, by their places, that go through one cycle.

    ``cycle`` is None where none serves them (``orphans``), or where none is certain. ``doubts``
    are the names whose IFU does not settle it.
    """

    places: tuple[int, ...]
    cycle: Programme | CommonCycle | None = None
    doubts: tuple[str, ...] = ()
    orphans: bool = False
    number: int = -1


@dataclass(frozen=True, slots=True)
class CycleGroups:
    """The fewest groups; ``allowed`` are masks, one a line, of the cycles that may serve it.

    ``choices`` are the numbers of the groups that could take it. ``closed``: no cycle serves what
    none of the groups' cycles serves together.
    """

    groups: tuple[CycleGroup, ...]
    allowed: tuple[int, ...]
    choices: tuple[tuple[int, ...], ...] = ()
    closed: bool = False
    proved: bool = True


def cycle_groups(
    instruments: Sequence[Instrument],
    sections: Sequence[str],
    programmes: Sequence[Programme] | None,
    policy: Policy,
    moved: Mapping[int, int] | None = None,
) -> CycleGroups:
    """Lines in the fewest groups that each have a cycle, by what their IFUs say.

    ``sections`` are the lines' titles. A section that several groups can take whole goes to the
    largest of them, but for the lines that are ``moved``: their places with the group's number.
    Lines that no cycle can serve are a group by themselves, the last. Programmes None: any cycle
    that could be run.
    """
    members = members_from(instruments, policy)
    if programmes is None:
        maybe, sure = free_offers(members, sure=False), free_offers(members)
    else:
        maybe = programme_offers(members, programmes, policy, sure=False)
        sure = programme_offers(members, programmes, policy)
    of = _members_of(instruments, members)
    allowed = tuple(sum(1 << n for n, offer in enumerate(maybe) if offer.mask >> m & 1) for m in of)
    served = 0
    for offer in maybe:
        served |= offer.mask
    if not served:
        everybody = tuple(range(len(instruments)))
        ruled_out = any(member.options for member in members)
        names = () if ruled_out else tuple(member.name for member in members)
        return CycleGroups((CycleGroup(everybody, None, names, ruled_out),), allowed)
    cover, chosen = _cover(served, maybe, sure)
    taken = _placed(of, sections, chosen)
    for place, number in (moved or {}).items():
        taken[place] = number
    groups = [
        _group(tuple(n for n, at in enumerate(taken) if at == number), of, members, number, *pair)
        for number, pair in enumerate(chosen)
    ]
    can = tuple(tuple(g for g, (offer, _) in enumerate(chosen) if offer.mask >> m & 1) for m in of)
    closed = all(any(not one.mask & ~kept.mask for kept, _ in chosen) for one in maybe)
    groups.append(CycleGroup(tuple(n for n, at in enumerate(taken) if at < 0), orphans=True))
    groups = [one for one in groups if one.places]
    return CycleGroups(tuple(groups), allowed, can, closed, cover.proved)


def _members_of(instruments: Sequence[Instrument], members: Sequence[Member]) -> list[int]:
    """For each line the place of its member: those of equal cycles are one."""
    at = {(frozenset(one.cycles), one.contents): n for n, one in enumerate(members)}
    return [at[frozenset(one.cycles), one.contents] for one in instruments]


def _cover(
    served: int, maybe: Sequence[Offer], sure: Sequence[Offer]
) -> tuple[Cover, list[tuple[Offer, int]]]:
    """The fewest offers that may serve all, largest first, each with whom it certainly serves.

    Of covers as small the certain one is taken, where there is one.
    """
    certain = {offer.cycle: offer.mask for offer in sure}
    maybe = sorted(maybe, key=lambda offer: -certain.get(offer.cycle, 0).bit_count())
    cover = smallest_cover(served, [offer.mask for offer in maybe], NODE_LIMIT)
    chosen, all_sure = [maybe[n] for n in cover.chosen], 0
    for offer in sure:
        all_sure |= offer.mask
    if served & ~all_sure == 0:
        other = smallest_cover(served, [offer.mask for offer in sure], NODE_LIMIT)
        if len(other.chosen) <= len(cover.chosen):
            chosen = [sure[n] for n in other.chosen]
    pairs = [(offer, certain.get(offer.cycle, 0)) for offer in chosen]
    return cover, sorted(pairs, key=lambda pair: -pair[0].mask.bit_count())


def _placed(
    of: Sequence[int], sections: Sequence[str], chosen: Sequence[tuple[Offer, int]]
) -> list[int]:
    """For each line the number of its group, -1 where none may serve it: where it is certain
    first, then where most of its section can go, then where most can."""
    count = len(chosen)
    size = [sum(offer.mask >> m & 1 for m in of) for offer, _ in chosen]
    first = sorted(range(count), key=lambda g: -size[g])
    can = [[g for g in first if chosen[g][0].mask >> m & 1] for m in of]
    sure = [
        [g for g in options if chosen[g][1] >> m & 1] for options, m in zip(can, of, strict=True)
    ]
    can = [certain or options for certain, options in zip(sure, can, strict=True)]
    taken = [options[0] if options else -1 for options in can]
    whole: dict[str, list[int]] = {}
    for n, title in enumerate(sections):
        if title:
            whole.setdefault(title, []).append(n)
    for inside in whole.values():
        best = max(first, key=lambda g: sum(g in can[n] for n in inside))
        for n in inside:
            taken[n] = best if best in can[n] else taken[n]
    return taken


def _group(
    places: tuple[int, ...], of: Sequence[int], members: Sequence[Member], number: int,
    offer: Offer, sure: int,
) -> CycleGroup:  # fmt: skip
    inside = [members[m] for m in dict.fromkeys(of[n] for n in places)]
    open_ = [members[m] for m in dict.fromkeys(of[n] for n in places) if not sure >> m & 1]
    cycle: Programme | CommonCycle | None
    if isinstance(offer.cycle, Programme):
        cycle = offer.cycle
    else:
        cycle = next(iter(common_cycles(inside)), None)
        open_ = [] if cycle else open_
    return CycleGroup(places, cycle, tuple(member.name for member in open_), number=number)

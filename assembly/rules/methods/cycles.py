"""Does a set have one cycle for all its instruments; if not, who conflicts, how to split.

What instruments allow is compared as boxes of bounds or, better, against the programmes
that the department runs. Where nothing serves all, the smallest group that cannot go
together is named: within one method and class that is one instrument or a pair, because
boxes that meet in pairs all meet; across classes it may be three or more. Both searches
are exact. Sources: the instrument makers' IFUs; the searches are ours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Finding, Rule
from assembly.rules.methods.accepting import RANK, Says
from assembly.rules.methods.clashes import what_clashes, what_for
from assembly.rules.methods.covers import members_of, smallest_cover, smallest_hitting_set
from assembly.rules.methods.cycle_options import (
    CommonCycle,
    Member,
    common_cycles,
    members_from,
)
from assembly.rules.methods.offers import (
    Offer,
    free_offers,
    programme_answer,
    programme_offers,
)
from assembly.rules.policy.values import Policy

RULE = Rule("common cycle", "the instrument makers' IFUs")
BAND = "temperature_band"


@dataclass(frozen=True, slots=True)
class Conflict:
    """A smallest group that has no cycle in common.

    ``count`` is how many groups are as small, with instruments of equal options as one;
    ``groups`` are all their names. ``all_but_one``: without the one named, a cycle serves.
    """

    names: tuple[str, ...]
    why: str
    count: int
    proved: bool = True
    groups: tuple[tuple[str, ...], ...] = ()
    all_but_one: bool = False

    def sentence(self) -> str:
        """Who conflicts and why."""
        if self.all_but_one:
            return f"{self.why}."
        if len(self.names) == 1:
            words = f"{self.names[0]} alone rules out every cycle: {self.why}."
        else:
            both = "both" if len(self.names) == 2 else f"all {len(self.names)}"
            words = f"{self.why}, and no cycle serves {both}."
        if self.count > 1:
            words += f" {self.count - 1} more such clash{'es' if self.count > 2 else ''}."
        return words if self.proved else f"{words} A smaller group may exist: the search stopped."


@dataclass(frozen=True, slots=True)
class Group:
    """Instruments that go through one cycle together."""

    names: tuple[str, ...]
    cycle: CommonCycle | Programme

    @property
    def cycle_words(self) -> str:
        """The cycle, with who sets its bounds where it is none of a sterilizer."""
        return self.cycle.sentence() if isinstance(self.cycle, CommonCycle) else str(self.cycle)

    def sentence(self) -> str:
        """Who, and the cycle."""
        return f"{_listed(self.names)}: {self.cycle_words}."


@dataclass(frozen=True, slots=True)
class CycleSplit:
    """The fewest groups; ``orphans`` are instruments that no cycle serves, named first."""

    groups: tuple[Group, ...]
    orphans: tuple[str, ...]
    proved: bool = True

    def sentences(self) -> tuple[str, ...]:
        """Orphans first, then each group with its cycle."""
        first = (f"No cycle serves {_listed(self.orphans)}.",) if self.orphans else ()
        last = () if self.proved else ("Fewer groups may be possible: the search stopped.",)
        return (*first, *(group.sentence() for group in self.groups), *last)


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


# --- conflict and split -------------------------------------------------------------


Why = Callable[[Sequence[Member]], str]
"""Puts into words what keeps a group apart."""


def smallest_conflict(
    members: Sequence[Member], offers: Sequence[Offer], why: Why | None = None
) -> Conflict | None:
    """A smallest group of members that no offer serves whole; None when one serves all.

    Exact: a group conflicts when it meets the refusers of every offer, so the smallest is
    a minimum hitting set. Of equally small ones the first in the order of the set.
    """
    if not members:
        return None
    why = why or what_clashes
    everyone = (1 << len(members)) - 1
    if not offers:
        return Conflict((members[0].name,), why((members[0],)), len(members))
    hitting = smallest_hitting_set(everyone & ~offer.mask for offer in offers)
    if hitting is None:
        return None
    group = tuple(members[n] for n in hitting.members)
    return Conflict(tuple(m.name for m in group), why(group), hitting.count, hitting.proved,
                    tuple(m.names for m in group))  # fmt: skip


def _refused_by(programmes: Sequence[Programme], policy: Policy) -> Why:
    """What keeps a group from the department's programmes, in the facts of the IFUs."""

    def why(group: Sequence[Member]) -> str:
        if len(group) == 2 and common_cycles(group):
            both = common_cycles(group)[0].option
            who = _listed([member.name for member in group])
            return f"{who} allow {both}, which no sterilizer here runs"
        if len(group) > 1:
            return what_clashes(group)
        same = [p for p in programmes if p.method in {c.method for c in group[0].cycles}]
        if not same:
            return f"it is for {what_for(group[0])}, which no sterilizer here runs"
        asked = [(p, programme_answer(group[0], p, policy)) for p in same]
        nearest, answer = min(asked, key=lambda pair: RANK[pair[1].says])
        return f"{answer.why} ({nearest.code})"

    return why


def smallest_split(members: Sequence[Member], offers: Sequence[Offer]) -> CycleSplit:
    """The fewest groups of members that each have a cycle, exact up to the search limit.

    Members that no offer serves are orphans and left out. One that two groups could take
    goes to the larger, then to the earlier; each group's own cycle is then found afresh.
    """
    served = 0
    for offer in offers:
        served |= offer.mask
    orphans = tuple(
        name for n, member in enumerate(members) if not served >> n & 1 for name in member.names
    )
    cover = smallest_cover(served, [offer.mask for offer in offers])
    taken = [offers[n] for n in cover.chosen]
    taken.sort(key=lambda offer: -sum(len(members[n].names) for n in members_of(offer.mask)))
    groups, left = [], served
    for offer in taken:
        inside = [members[n] for n in members_of(offer.mask & left)]
        left &= ~offer.mask
        if inside:
            names = tuple(name for member in inside for name in member.names)
            groups.append(Group(names, _group_cycle(offer, inside)))
    return CycleSplit(tuple(groups), orphans, cover.proved)


def _group_cycle(offer: Offer, inside: Sequence[Member]) -> CommonCycle | Programme:
    if isinstance(offer.cycle, Programme):
        return offer.cycle
    return common_cycles(inside)[0]


def split_by_cycle(
    instruments: Sequence[Instrument], programmes: Sequence[Programme] | None, policy: Policy
) -> CycleSplit:
    """The fewest groups of instruments that each have a cycle; programmes None: any cycle.

    An instrument whose cycles are not on record, or lack a fact, is served by nothing that
    is certain: it is an orphan. Sources: the instrument makers' IFUs.
    """
    members = members_from(instruments, policy)
    if programmes is None:
        return smallest_split(members, free_offers(members))
    return smallest_split(members, programme_offers(members, programmes, policy))


# --- the finding --------------------------------------------------------------------


def common_cycle_finding(
    instruments: Sequence[Instrument], programmes: Sequence[Programme] | None, policy: Policy
) -> Finding:
    """Whether one cycle serves every instrument of a set; programmes None: any cycle counts.

    Met only by a cycle that every instrument certainly allows. Not met only where nothing
    that is missing could change it; otherwise cannot tell, naming who lacks what. An empty
    set cannot be told. Sources: the instrument makers' IFUs.
    """
    members = members_from(instruments, policy)
    if not members:
        return RULE.cannot_tell("The set has no lines yet: no cycle to ask about.", "lines")
    if programmes is None:
        return _any_cycle(members, policy)
    if not programmes:
        return RULE.not_met("The department runs no cycle.")
    return _programme(members, programmes, policy)


def _rule(policy: Policy) -> Rule:
    return RULE.by(f"{RULE.source}; a missing maximum exposure: {policy.source('unknown_maximum')}")


def _any_cycle(members: Sequence[Member], policy: Policy) -> Finding:
    rule = _rule(policy)
    sure = common_cycles(members)
    if sure:
        more = f" {len(sure) - 1} further ways." if len(sure) > 1 else ""
        return rule.met(f"One cycle serves all: {sure[0].sentence()}.{more}")
    conflict = smallest_conflict(members, free_offers(members, sure=False))
    if conflict is not None and any(member.options for member in members):
        return rule.not_met(conflict.sentence())
    doubtful = [member for member in members if member.doubts]
    return rule.cannot_tell(
        f"No cycle is certain for all: read the IFU of {_listed([m.name for m in doubtful])}.",
        *dict.fromkeys(name for member in doubtful for name in member.doubts),
    )


def _programme(
    members: Sequence[Member], programmes: Sequence[Programme], policy: Policy
) -> Finding:
    rule = _rule(policy)
    everyone = (1 << len(members)) - 1
    for offer in programme_offers(members, programmes, policy):
        if offer.mask == everyone:
            return rule.met(f"{offer.cycle} serves every instrument.")
    offers = programme_offers(members, programmes, policy, sure=False)
    conflict = _clash(members, programmes, policy)
    if conflict is not None:
        return rule.not_met(conflict.sentence() + _band(members, programmes, policy))
    best = next(o.cycle for o in offers if o.mask == everyone and isinstance(o.cycle, Programme))
    answers = [(member, programme_answer(member, best, policy)) for member in members]
    open_ = [(member, answer) for member, answer in answers if answer.says is not Says.YES]
    words = "; ".join(f"{member.name}: {answer.why}" for member, answer in open_)
    missing = dict.fromkeys(answer.missing for _, answer in open_)
    return rule.cannot_tell(f"{best} may serve all, but: {words}.", *missing)


def clash(
    instruments: Sequence[Instrument], programmes: Sequence[Programme] | None, policy: Policy
) -> Conflict | None:
    """Who keeps a set from one cycle; None where one serves, or might."""
    members = members_from(instruments, policy)
    if programmes is None:
        return smallest_conflict(members, free_offers(members, sure=False))
    return _clash(members, programmes, policy) if programmes else None


def _clash(
    members: Sequence[Member], programmes: Sequence[Programme], policy: Policy
) -> Conflict | None:
    offers = programme_offers(members, programmes, policy, sure=False)
    conflict = smallest_conflict(members, offers, _refused_by(programmes, policy))
    return conflict and (_all_but_one(members, offers) or conflict)


def _all_but_one(members: Sequence[Member], offers: Sequence[Offer]) -> Conflict | None:
    """The single instrument of several without which one programme serves all the others."""
    for offer in offers:
        left = [member for n, member in enumerate(members) if not offer.mask >> n & 1]
        if len(left) == 1 and not left[0].many and sum(len(m.names) for m in members) > 2:
            name, runs = left[0].name, offer.cycle
            code = runs.code if isinstance(runs, Programme) else str(runs)
            why = f"{code} would serve all but {name}, which is for {what_for(left[0])}"
            return Conflict((name,), why, 1, True, (left[0].names,), all_but_one=True)
    return None


def _band(members: Sequence[Member], programmes: Sequence[Programme], policy: Policy) -> str:
    """Says so where the band of a sterilizer, which the policy leaves out, would free the set."""
    freed = freed_by_band(members, programmes, policy)
    if freed is None:
        return ""
    return f" With the policy's temperature band, which is off, {freed.code} would serve all."


def freed_by_band(
    members: Sequence[Member], programmes: Sequence[Programme], policy: Policy
) -> Programme | None:
    """The first programme that serves all only by the band of a sterilizer; None for none."""
    everyone = (1 << len(members)) - 1
    served = (offer.mask == everyone for offer in programme_offers(members, programmes, policy))
    if policy.flag(BAND) or not members or any(served):
        return None
    for offer in programme_offers(members, programmes, policy.with_flag(BAND, True)):
        if offer.mask == everyone and isinstance(offer.cycle, Programme):
            return offer.cycle
    return None

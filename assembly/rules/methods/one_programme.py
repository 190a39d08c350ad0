"""One programme, asked of everything that is to go through it: by itself, whatever else is run.

Where a programme is chosen by a person, or a closed package meets the programme of a load,
nothing is looked for: each instrument says what its instructions say to this one.
Sources: the instrument makers' IFUs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Finding
from assembly.rules.methods.accepting import Answer, Says
from assembly.rules.methods.cycle_options import Member, members_from
from assembly.rules.methods.cycles import RULE
from assembly.rules.methods.offers import cautions_of, programme_answer
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


def route_of(programme: Programme) -> Route:
    """The programme as the way that is taken."""
    option = CycleOption(method=programme.method, temperature_c=programme.temperature_c)
    return Route(programme.method, programme.temperature_c, option, programme)


def only_route(programme: Programme, instruments: Sequence[Instrument], policy: Policy) -> Routes:
    """The programme as the one way there is; what the instruments say to it is asked apart."""
    care = cautions_of(members_from(instruments, policy), programme, policy)
    return Routes(known=True, accepted=(replace(route_of(programme), caution=care),))


def cycle_findings(
    instruments: Sequence[Instrument], programme: Programme, policy: Policy
) -> tuple[Finding, ...]:
    """What the instruments say to one programme: a finding for each that does not accept it.

    One that all are met where every instrument accepts it; nothing inside cannot be told.
    Instruments that say the same are one finding. Sources: the instrument makers' IFUs.
    """
    members = members_from(instruments, policy)
    if not members:
        return (RULE.cannot_tell("Nothing is on record as being inside.", "contents"),)
    answers = [(member, programme_answer(member, programme, policy)) for member in members]
    against = [_finding(member, answer, programme) for member, answer in answers
               if answer.says is not Says.YES]  # fmt: skip
    if against:
        return tuple(against)
    who = "every instrument" if len(instruments) > 1 else "the instrument"
    return (RULE.met(f"{programme} serves {who}."),)


def _finding(member: Member, answer: Answer, programme: Programme) -> Finding:
    words = f"{member.name}: {answer.why} ({programme.code})."
    if answer.says is Says.NO:
        return RULE.not_met(words)
    return RULE.cannot_tell(words, answer.missing)


def method_not_named(instruments: Sequence[Instrument], method: Method) -> str:
    """Whose IFU does not name the method, in a sentence; "" where every one does."""
    others = [one.name for one in instruments if method not in one.methods]
    if not others:
        return ""
    more = f" (and {len(others) - 1} more)" if len(others) > 1 else ""
    return f"No cycle on record of {others[0]}{more} is {method.words}."

"""The ways that a whole set may go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.findings import Finding, Status
from assembly.rules.methods.cycle_options import Member, common_cycles, members_from
from assembly.rules.methods.offers import cautions_of, programme_offers
from assembly.rules.methods.one_programme import route_of
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


def set_routes(question: SetQuestion, common: Finding, policy: Policy) -> Routes:
    """The ways the whole set may go: what every line certainly accepts, and what it might."""
    members = members_from(question.instruments, policy)
    if not members or not any(member.cycles for member in members):
        return Routes(known=False)
    if question.programmes is None:
        free = ((cycle.point, cycle.option.method) for cycle in common_cycles(members))
        accepted = tuple(_free_route(*one) for one in free)
        undecided = _in_doubt(question, common)
    else:
        sure = _serving(members, question.programmes, policy, sure=True)
        might = _serving(members, question.programmes, policy, sure=False)
        accepted = tuple(
            replace(route_of(one), caution=cautions_of(members, one, policy)) for one in sure
        )
        undecided = tuple(
            replace(route_of(one), doubt=common.sentence().rstrip("."), missing="cycles")
            for one in might
            if one not in sure
        )
    return Routes(True, accepted, undecided, common.sentence(), common.source)


def _in_doubt(question: SetQuestion, common: Finding) -> tuple[Route, ...]:
    """The methods that all may take, once what is missing of their cycles is known."""
    if common.status is not Status.CANNOT_TELL or not question.instruments:
        return ()
    named = [set(one.methods) for one in question.instruments if one.methods]
    shared = set.intersection(*named) if named else set()
    return tuple(
        Route(
            method,
            None,
            CycleOption(method=method),
            doubt=common.sentence().rstrip("."),
            missing="cycles",
        )
        for method in question.instruments[0].methods
        if method in shared
    )


def _serving(
    members: Sequence[Member], programmes: Sequence[Programme], policy: Policy, *, sure: bool
) -> list[Programme]:
    """The programmes that serve every line, certainly or perhaps."""
    every = (1 << len(members)) - 1
    offers = programme_offers(members, programmes, policy, sure=sure)
    return [one.cycle for one in offers if one.mask == every and isinstance(one.cycle, Programme)]


def _free_route(point: dict[str, float], method: Method) -> Route:
    option = CycleOption(
        method=method,
        temperature_c=point.get("temperature"),
        exposure_min=point.get("exposure"),
        drying_min=point.get("drying"),
    )
    return Route(method, option.temperature_c, option)

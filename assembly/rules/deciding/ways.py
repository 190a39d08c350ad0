"""The method and programme that a package goes through, with published times beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import Candidate, Finding, Status
from assembly.rules.kinds.containers import usable_routes
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.materials import routes_through
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy


def ways_of(candidate: Candidate, question: Question, routes: Routes) -> tuple[Route, ...]:
    """The certain routes that all of a candidate's supplies go through, in order."""
    codes = (candidate.code, *candidate.with_codes)
    supplies = [one for one in question.supplies if one.code in codes]
    ways = routes.accepted
    for supply in supplies:
        if isinstance(supply, Container):
            through = usable_routes(supply, routes)
        else:
            through = routes_through(routes, supply.material, supply.methods)
        ways = tuple(way for way in ways if way in through)
    return ways


def with_way(
    candidate: Candidate,
    ways: Sequence[Route],
    inside: Sequence[Instrument],
    policy: Policy,
) -> Candidate:
    """The candidate with its method and programme, and the published least times beside them.

    ``inside`` is each instrument in the package. The first way that no published time
    rules out is taken, else the first. Published times never overrule an IFU that states a
    shorter cycle; where they turn on something unknown they are shown and not asked.
    """
    if not inside:
        return candidate
    asked = [(way, _published(way, inside, policy)) for way in ways]
    if not asked:
        return candidate
    good = (pair for pair in asked if pair[1].status is not Status.NOT_MET)
    way, published = next(good, asked[0])
    details = {
        "method": str(way.method),
        "temperature_c": way.temperature_c,
        "programme": way.programme.code if way.programme else None,
        "cycle": str(way),
    }
    return replace(
        candidate,
        findings=(*candidate.findings, published),
        details={**candidate.details, **details},
    )


def _published(way: Route, inside: Sequence[Instrument], policy: Policy) -> Finding:
    """The published minimum for one way: not met if it is for any instrument inside."""
    cycle = way.programme or way.option
    found = [
        published_minimum_finding(cycle, one.contents, policy, stated=one.cycles) for one in inside
    ]
    finding = next((one for one in found if one.status is Status.NOT_MET), found[0])
    if finding.status is not Status.CANNOT_TELL:
        return finding
    return replace(finding, status=Status.DOES_NOT_APPLY, missing=())

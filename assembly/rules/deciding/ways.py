"""The method and programme that a package goes through, with published times beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from assembly.rules.deciding.protection import protectors_finding
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Protector
from assembly.rules.findings import Candidate, Caution, Finding, Status
from assembly.rules.kinds.containers import filter_finding, usable_routes
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.lumens import lumen_finding, lumens_of
from assembly.rules.methods.materials import routes_through
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


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


Pieces = Sequence[tuple[Instrument, int]]
"""Each instrument in a package, with how many of it."""


def with_way(
    candidate: Candidate,
    ways: Sequence[Route],
    pieces: Pieces,
    protectors: Sequence[Protector] | None,
    policy: Policy,
    container: Container | None = None,
) -> Candidate:
    """The candidate with its method and programme, and what is asked of that way.

    Every way is asked for the published least times, the filter of a ``container``, protectors
    and lumens; one that fails is dropped before the first that meets all is taken, else the
    first that only lacks a fact. Published times never overrule an IFU that states a shorter
    cycle.
    """
    if not pieces or not ways:
        return candidate
    # One instrument for each distinct list of cycles.
    inside = tuple({(one.contents, one.cycles): one for one, _ in reversed(pieces)}.values())

    def of_way(way: Route) -> Iterable[Finding]:
        yield _published(way, inside, policy)
        if container is not None:
            yield filter_finding(container, way)
        yield protectors_finding([one for one, _ in pieces], protectors, way, policy)
        yield lumen_finding(lumens_of(pieces), way)

    asked = [(way, tuple(of_way(way))) for way in ways]
    way, findings = min(asked, key=lambda pair: _worst(pair[1]))
    details = {
        "method": str(way.method),
        "temperature_c": way.temperature_c,
        "programme": way.programme.code if way.programme else None,
        "cycle": str(way),
    }
    cautions = [Caution(f"{way}: {way.caution}", way.source)] if way.caution else []
    if way.method is Method.EO:
        cautions.append(aeration(inside))
        details["aeration_min"] = aeration_min(inside)
    return replace(
        candidate,
        findings=(*candidate.findings, *findings),
        details={**candidate.details, **details},
        cautions=(*candidate.cautions, *cautions),
    )


def aeration_min(inside: Iterable[Instrument]) -> float | None:
    """The longest aeration that anything in it asks for after ethylene oxide, in minutes."""
    asked = [cycle.aeration_min for one in inside for cycle in one.cycles
             if cycle.method is Method.EO and cycle.aeration_min is not None]  # fmt: skip
    return max(asked, default=None)


def aeration(inside: Sequence[Instrument]) -> Caution:
    """What to say of aeration: the longest of the contents, and whose is not on record."""
    longest = aeration_min(inside)
    silent = [one.name for one in inside if aeration_min([one]) is None]
    words = [] if longest is None else [f"Aerate at least {longest / 60:g} h: the longest of "
                                        "what is in it."]  # fmt: skip
    if silent:
        words.append(f"How long {silent[0]} is aerated is not on record: read its IFU.")
    return Caution(" ".join(words), "the instrument maker's IFU")


_ORDER = {Status.NOT_MET: 2, Status.CANNOT_TELL: 1}


def _worst(findings: Iterable[Finding]) -> int:
    return max(_ORDER.get(finding.status, 0) for finding in findings)


def _published(way: Route, inside: Sequence[Instrument], policy: Policy) -> Finding:
    """The published minimum for one way: the worst answer for any instrument inside.

    Where no programme is part of the question, a missing fact of the IFU's own cycle is
    left to the department's sterilizers.
    """
    cycle = way.programme or way.option
    found = [
        published_minimum_finding(cycle, one.contents, policy, stated=one.cycles) for one in inside
    ]
    finding = max(found, key=lambda one: _ORDER.get(one.status, 0))
    if way.programme is None and finding.status is Status.CANNOT_TELL:
        return replace(finding, status=Status.DOES_NOT_APPLY, missing=())
    return finding

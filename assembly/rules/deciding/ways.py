"""The method and programme that a package goes through, with published times beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from assembly.rules.deciding.protection import protectors_finding
from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Container, Protector, Supply
from assembly.rules.findings import Caution, Finding, Status
from assembly.rules.kinds.containers import filter_finding, usable_routes
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.lumens import Lumens, lumen_finding, lumens_of
from assembly.rules.methods.materials import routes_through
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method


def ways_of(supplies: Iterable[Supply], routes: Routes) -> tuple[Route, ...]:
    """The certain routes that all of a candidate's supplies go through, in order."""
    ways = routes.accepted
    for supply in supplies:
        if isinstance(supply, Container):
            through = usable_routes(supply, routes)
        else:
            through = routes_through(routes, supply.material, supply.methods)
        ways = through if ways is routes.accepted else tuple(w for w in ways if w in through)
    return ways


Pieces = Sequence[tuple[Instrument, int]]
"""Each instrument in a package, with how many of it."""


@dataclass(frozen=True)
class Way:
    """The way that is taken: its findings, and what it adds to a candidate."""

    findings: tuple[Finding, ...] = ()
    details: dict[str, Any] = field(default_factory=dict)
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True)
class Inside:
    """What lies in a package, with how many of each, and the protectors in stock: asked about a
    way once, whatever the number of candidates that it is for."""

    pieces: Pieces
    protectors: Sequence[Protector] | None
    policy: Policy
    answers: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def taken(self, ways: tuple[Route, ...], container: Container | None = None) -> Way:
        """The way that is taken of several, and what is asked of it.

        Every way is asked for the published least times, the filter of a ``container``,
        protectors and lumens; one that fails is dropped before the first that meets all is
        taken, else the first that only lacks a fact. Published times never overrule an IFU that
        states a shorter cycle. Nothing is asked where nothing is inside, or no way is certain.
        """
        if not self.pieces or not ways:
            return Way()
        key = (*map(id, ways), container and container.filter_material)
        if key not in self.answers:
            self.answers[key] = self._taken(ways, container), ways
        found: Way = self.answers[key][0]
        return found

    def _taken(self, ways: tuple[Route, ...], container: Container | None) -> Way:
        asked = [(way, tuple(self._asked(way, container))) for way in ways]
        way, findings = min(asked, key=lambda pair: _worst(pair[1]))
        details = {
            "method": str(way.method),
            "temperature_c": way.temperature_c,
            "programme": way.programme.code if way.programme else None,
            "cycle": str(way),
        }
        cautions = [Caution(f"{way}: {way.caution}", way.source)] if way.caution else []
        if way.method is Method.EO:
            cautions.append(aeration(self._distinct))
            details["aeration_min"] = aeration_min(self._distinct)
        return Way(findings, details, tuple(cautions))

    def _asked(self, way: Route, container: Container | None) -> Iterable[Finding]:
        published, protectors, lumens = self._said(way)
        yield published
        if container is not None:
            yield filter_finding(container, way)
        yield protectors
        yield lumens

    def _said(self, way: Route) -> tuple[Finding, Finding, Finding]:
        if id(way) not in self.answers:
            said = (
                _published(way, self._distinct, self.policy),
                protectors_finding(
                    [one for one, _ in self.pieces], self.protectors, way, self.policy
                ),
                lumen_finding(self._lumens, way),
            )
            self.answers[id(way)] = said, way
        found: tuple[Finding, Finding, Finding] = self.answers[id(way)][0]
        return found

    @cached_property
    def _distinct(self) -> tuple[Instrument, ...]:
        """One instrument for each distinct list of cycles."""
        pieces = reversed(self.pieces)
        return tuple({(one.contents, one.cycles): one for one, _ in pieces}.values())

    @cached_property
    def _lumens(self) -> tuple[Lumens, ...]:
        return lumens_of(self.pieces)


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
    found = [_least_times(cycle, one.contents, one.cycles, policy) for one in inside]
    finding = max(found, key=lambda one: _ORDER.get(one.status, 0))
    if way.programme is None and finding.status is Status.CANNOT_TELL:
        return replace(finding, status=Status.DOES_NOT_APPLY, missing=())
    return finding


@kept
def _least_times(
    cycle: CycleOption | Programme,
    contents: Contents,
    stated: tuple[CycleOption, ...],
    policy: Policy,
) -> Finding:
    return published_minimum_finding(cycle, contents, policy, stated=stated)

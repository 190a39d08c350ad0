"""What a closed package carries for the sterilizer: what is in it, what is around it.

The decision at the bench names one programme. What may serve is more: every cycle that the
IFU of each instrument permits *and* that the pouch, wrap, filter and protectors are labelled
for. These facts stay with the package as they were when it was closed, and are judged
against the programme of a load when it is scanned into it, by the rules of the decision.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from assembly.rules.deciding.protection import protectors_finding, protectors_named
from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.from_json import plain, read_instrument, read_protector, read_supply
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Protector, Supply
from assembly.rules.findings import Candidate, Finding, Rule, Status, combined
from assembly.rules.kinds.containers import filter_finding, programme_finding
from assembly.rules.methods.beside_published import RULE as PUBLISHED
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.lumens import RULE as LUMENS
from assembly.rules.methods.lumens import lumen_finding, lumens_of
from assembly.rules.methods.materials import method_finding
from assembly.rules.methods.offers import cautions_of
from assembly.rules.methods.one_programme import cycle_findings, method_not_named, route_of
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method

OF_CYCLES = ("name", "protector", "cycles", "item_class", "form", "lumen_mm", "lumen_length_mm",
             "lumen_material", "channels", "pieces")  # fmt: skip
"""The facts of an instrument that what a sterilizer does to it turns on."""
INDICATOR = Rule("indicator", "ISO 11140-1: an indicator is for the process that is marked on it")


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """What goes through the sterilizer together.

    ``inside`` are the instruments, one for each line; ``around`` every pouch, wrap or
    container, inner and outer; ``protectors`` those in stock under the names that the
    instruments call. ``indicators`` is the method that the indicators were put in for, None
    while the package is open. ``gross_g`` is what the package weighs (None unknown),
    ``not_weighed`` the packaging that is not in it.
    """

    inside: tuple[Instrument, ...]
    around: tuple[Supply, ...]
    protectors: tuple[Protector, ...] = ()
    indicators: Method | None = None
    gross_g: float | None = None
    not_weighed: tuple[str, ...] = ()


def carried_in(question: Question | SetQuestion, candidate: Candidate) -> Carried:
    """What a package in ``candidate`` carries; ``indicators`` are for the method decided."""
    if isinstance(question, SetQuestion):
        inside = tuple(replace(line.instrument, pieces=line.quantity) for line in question.lines)
    else:
        inside = (question.instrument,)
    codes = (candidate.code, *candidate.with_codes)
    stocked: Sequence[Supply] = question.supplies
    called = [one.protector for one in inside if one.protector]
    return Carried(
        inside=inside,
        around=tuple(one for one in stocked if one.code in codes),
        protectors=tuple(
            dict.fromkeys(
                one for name in called for one in protectors_named(name, question.protectors or ())
            )
        ),
        indicators=candidate.method,
        gross_g=candidate.details.get("gross_g"),
        not_weighed=tuple(candidate.details.get("not_weighed", ())),
    )


# --- what is said to one programme ------------------------------------------------------


def findings_for(carried: Carried, programme: Programme, policy: Policy) -> tuple[Finding, ...]:
    """What the instruments, the packaging and the indicators say to a programme."""
    return (
        *cycle_findings(carried.inside, programme, policy),
        *_published(carried, programme, policy),
        *packaging_findings(carried, programme, policy),
    )


def may_serve(carried: Carried, programme: Programme, policy: Policy) -> bool:
    """Whether the whole package certainly goes through the programme."""
    return combined(findings_for(carried, programme, policy)) is Status.MET


def care_with(carried: Carried, programme: Programme, policy: Policy) -> str:
    """What to take care of where a programme serves only just; "" where nothing is to be said."""
    return cautions_of(members_from(carried.inside, policy), programme, policy)


def not_labelled(carried: Carried, programme: Programme, policy: Policy) -> str:
    """Why nobody may take the programme whatever the reason; "" where somebody may.

    An IFU that does not name the method, and packaging that is not certainly labelled for
    the programme, are no rules of the department: no override lifts them.
    """
    if words := method_not_named(carried.inside, programme.method):
        return words
    for finding in packaging_findings(carried, programme, policy):
        if finding.status in (Status.NOT_MET, Status.CANNOT_TELL):
            return finding.sentence()
    return ""


def packaging_findings(
    carried: Carried, programme: Programme, policy: Policy
) -> tuple[Finding, ...]:
    """Whether all packaging, protectors and indicators are for the programme, and its lumens.

    Sources: the makers' IFUs and labels; the material table; the sterilizer's claims.
    """
    way = route_of(programme)
    routes = Routes(known=True, accepted=(way,))
    found = [one for supply in carried.around for one in _through(supply, routes, way)]
    worn = [one for one in carried.inside if one.protector]
    if worn:
        found.append(protectors_finding(worn, carried.protectors, way, policy))
    found.append(lumen_finding(lumens_of((one, one.pieces) for one in carried.inside), way))
    if carried.indicators is not None:
        found.append(_indicators(carried.indicators, programme))
    return tuple(found)


def _through(supply: Supply, routes: Routes, way: Route) -> Iterable[Finding]:
    if isinstance(supply, Container):
        yield _validated(supply, routes, way)
        yield filter_finding(supply, way)
        return
    finding = method_finding(routes, supply.material, supply.methods)
    yield finding.about(supply.code, supply.code)


def _validated(container: Container, routes: Routes, way: Route) -> Finding:
    finding = programme_finding(container, routes, ())
    if finding.status is not Status.NOT_MET or way.programme is None:
        return finding.about(container.code)
    codes = ", ".join(container.programmes or ()) or "no cycle"
    words = f"Its maker's IFU validates {container.code} for {codes}, not for {way.programme.code}."
    return replace(finding, text=words)


def _indicators(put_in_for: Method, programme: Programme) -> Finding:
    if put_in_for is programme.method:
        return INDICATOR.met(f"Its indicators were put in for {put_in_for.words}.")
    method = programme.method.words
    return INDICATOR.not_met(
        f"Its indicators were put in for {put_in_for.words}, this is {method}."
    )


def _published(carried: Carried, programme: Programme, policy: Policy) -> Iterable[Finding]:
    """The published least times, where they speak against the programme."""
    asked = (published_minimum_finding(programme, one.contents, policy, stated=one.cycles)
             for one in carried.inside)  # fmt: skip
    against = [one for one in asked if one.status in (Status.NOT_MET, Status.CANNOT_TELL)]
    yield from dict.fromkeys(against)


CYCLE_RULES = ("common cycle", "method", "programme", "filter", "protector", LUMENS.name,
               PUBLISHED.name)  # fmt: skip
"""The findings of a decision that say whether its cycle serves."""


def cycle_is_met(candidate: Candidate) -> bool:
    """Whether nothing that was found of the candidate's own cycle stands in its way."""
    return bool(candidate.details.get("cycle")) and not any(
        one.rule in CYCLE_RULES for one in candidate.reasons
    )


# --- in words, and on record ------------------------------------------------------------


def cycle_words(programmes: Sequence[Programme]) -> str:
    """Several programmes of one method in few words: the method with the temperature.

    >>> from assembly.rules.facts.cycles import Programme as P
    >>> low, high = (P(code=str(t), method=Method.STEAM, temperature_c=t) for t in (132, 134))
    >>> cycle_words([low]), cycle_words([low, high])
    ('132 (steam 132 °C)', 'steam 132 to 134 °C')
    """
    if len(programmes) == 1:
        return str(programmes[0])
    words = " or ".join(dict.fromkeys(one.method.words for one in programmes))
    kinds = {one.air_removal for one in programmes}
    if len(kinds) == 1 and (kind := kinds.pop()) is not None:
        words = f"{kind.words} {words}"
    known = [one.temperature_c for one in programmes if one.temperature_c is not None]
    if len(known) < len(programmes):
        names = dict.fromkeys(one.cycle_name or one.code for one in programmes)
        return f"{words}, cycle {' or '.join(names)}"
    low, high = min(known), max(known)
    return f"{words} {low:g} °C" if low == high else f"{words} {low:g} to {high:g} °C"


def as_json(carried: Carried) -> dict[str, Any]:
    """What is carried as plain JSON types: the facts that cycles turn on, under their names."""
    inside = [
        {name: getattr(one, name) for name in OF_CYCLES}
        | {"cycles": [asdict(cycle) for cycle in one.cycles]}
        for one in carried.inside
    ]
    around = [{"kind": one.kind, **asdict(one)} for one in carried.around]
    made: dict[str, Any] = plain(
        {
            "inside": inside,
            "around": around,
            "protectors": [asdict(one) for one in carried.protectors],
            "indicators": carried.indicators,
            "gross_g": carried.gross_g,
            "not_weighed": carried.not_weighed,
        }
    )
    return made


def from_json(raw: Mapping[str, Any]) -> Carried:
    """What :func:`as_json` wrote; FactsError where it is no such thing."""
    method = raw.get("indicators")
    return Carried(
        inside=tuple(read_instrument(one) for one in raw["inside"]),
        around=tuple(read_supply(one) for one in raw["around"]),
        protectors=tuple(read_protector(one) for one in raw["protectors"]),
        indicators=Method(method) if method else None,
        gross_g=raw.get("gross_g"),
        not_weighed=tuple(raw.get("not_weighed", ())),
    )

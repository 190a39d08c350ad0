"""The decision for a whole set: every line, its basket, and the container or wrap around it.

The same findings as for one instrument, asked of all lines together: one cycle for all,
each piece in the basket, the three weights against the limits of policy, basket and
supply. The container or wrap on the set's record is asked first; others are offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from assembly.rules.deciding.protection import protectors_finding
from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import (
    basket_in_finding,
    basket_weight_finding,
    pieces_in_finding,
    pouches_inside_finding,
    set_allowed_finding,
    set_sharp_finding,
    wrap_rating_finding,
)
from assembly.rules.deciding.ways import with_way
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import (
    Candidate,
    Caution,
    Decision,
    Finding,
)
from assembly.rules.kinds.containers import (
    filter_finding,
    programme_finding,
    rated_weight_finding,
    usable_routes,
)
from assembly.rules.kinds.wraps import wrap_sheet
from assembly.rules.limits.handling import handling_cautions, sharp_finding
from assembly.rules.limits.textiles import textile_findings
from assembly.rules.limits.weights import Weighing, gross_finding, load_finding, net_finding, weigh
from assembly.rules.methods.cycle_options import common_cycles, members_from
from assembly.rules.methods.cycles import (
    CycleSplit,
    Offer,
    cautions_of,
    common_cycle_finding,
    programme_offers,
    split_by_cycle,
)
from assembly.rules.methods.lumens import lumen_finding, lumens_of
from assembly.rules.methods.materials import method_finding, routes_through
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.picking import pick, ranked
from assembly.rules.policy.values import Policy
from catalog.vocabulary import ItemClass, Kind, Method


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one line adds to the decision: its weight (g, None unknown) and its findings."""

    line: SetLine
    weight_g: float | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SetDecision:
    """The decision, how the set would have to be split by cycle, and each line's part in it."""

    decision: Decision
    split: CycleSplit
    contributions: tuple[Contribution, ...]
    ruling: Finding | None

    @property
    def split_needed(self) -> bool:
        """Whether no single cycle serves all lines."""
        return len(self.split.groups) + len(self.split.orphans) > 1


@dataclass(frozen=True, slots=True)
class _Asked:
    """A set question with what every candidate needs of it, worked out once."""

    question: SetQuestion
    policy: Policy
    routes: Routes
    common: Finding
    net: Weighing
    load: Weighing


def decide_set(question: SetQuestion, policy: Policy) -> SetDecision:
    """The decision for a set: the container or wrap on record first, then the others.

    Combining is as for one instrument: a line whose weight, size or cycle is unknown leaves
    the set undecided. A kind that the policy leaves out answers for no set. The order in
    which supplies are listed changes nothing.
    """
    asked = _asked(question, policy)
    kinds = [kind for kind in policy.words("kinds_in_order") if kind in ("wrap", "container")]
    found = [_candidate(asked, supply) for supply in question.supplies if supply.kind in kinds]
    decision = _decision(asked, ranked(found, kinds, question.packed_in))
    return SetDecision(
        decision,
        split_by_cycle(question.instruments, question.programmes, policy),
        tuple(_contribution(line, question, policy) for line in question.lines),
        _ruling(decision),
    )


def _asked(question: SetQuestion, policy: Policy) -> _Asked:
    net = weigh([line.piece for line in question.lines])
    load = _with(net, question.basket.code, question.basket.tare_g) if question.basket else net
    common = common_cycle_finding(question.instruments, question.programmes, policy)
    return _Asked(question, policy, _routes(question, common, policy), common, net, load)


def _with(weighing: Weighing, name: str, tare_g: float | None) -> Weighing:
    """A weighing with one more part (g); an unknown tare is named."""
    if tare_g is None:
        return replace(weighing, most=None, unknown=(*weighing.unknown, name))
    most = None if weighing.most is None else weighing.most + tare_g
    return replace(
        weighing, known=weighing.known + tare_g, least=weighing.least + tare_g, most=most
    )


def _routes(question: SetQuestion, common: Finding, policy: Policy) -> Routes:
    """The ways the whole set may go: what every line certainly accepts, and what it might."""
    members = members_from(question.instruments, policy)
    if not members or not any(member.cycles for member in members):
        return Routes(known=False)
    if question.programmes is None:
        return Routes(
            known=True,
            accepted=tuple(
                _free_route(cycle.point, cycle.option.method) for cycle in common_cycles(members)
            ),
            refusal=common.sentence(),
            source=common.source,
        )
    everyone = (1 << len(members)) - 1
    sure = _serving(programme_offers(members, question.programmes, policy), everyone)
    might = _serving(programme_offers(members, question.programmes, policy, sure=False), everyone)
    return Routes(
        known=True,
        accepted=tuple(
            replace(_programme_route(one), caution=cautions_of(members, one, policy))
            for one in sure
        ),
        undecided=tuple(
            replace(_programme_route(one), doubt=common.sentence(), missing="cycles")
            for one in might
            if one not in sure
        ),
        refusal=common.sentence(),
        source=common.source,
    )


def _serving(offers: Iterable[Offer], everyone: int) -> list[Programme]:
    return [
        offer.cycle
        for offer in offers
        if offer.mask == everyone and isinstance(offer.cycle, Programme)
    ]


def _programme_route(programme: Programme) -> Route:
    option = CycleOption(method=programme.method, temperature_c=programme.temperature_c)
    return Route(programme.method, programme.temperature_c, option, programme)


def _free_route(point: dict[str, float], method: Method) -> Route:
    option = CycleOption(
        method=method,
        temperature_c=point.get("temperature"),
        exposure_min=point.get("exposure"),
        drying_min=point.get("drying"),
    )
    return Route(method, option.temperature_c, option)


# --- one container or wrap ----------------------------------------------------------


def _candidate(asked: _Asked, supply: Container | Wrap) -> Candidate:
    if isinstance(supply, Container):
        return _in_container(asked, supply)
    return _in_wrap(asked, supply)


def _on_its_way(
    asked: _Asked, candidate: Candidate, ways: Sequence[Route], container: Container | None = None
) -> Candidate:
    """The candidate with its way, and what is asked of it: filter, protectors, least times."""
    question = asked.question

    def of_way(way: Route) -> Iterable[Finding]:
        if container is not None:
            yield filter_finding(container, way)
        if question.instruments:
            yield protectors_finding(question.instruments, question.protectors, way, asked.policy)
            pieces = [(line.instrument, line.quantity) for line in question.lines]
            yield lumen_finding(lumens_of(pieces), way)

    return with_way(candidate, ways, _distinct(question), asked.policy, of_way)


def _in_container(asked: _Asked, container: Container) -> Candidate:
    question = asked.question
    usable = usable_routes(container, asked.routes)
    gross = _gross(asked, container.code, container.tare_g)
    inside = Box(
        length_mm=container.inner_length_mm,
        width_mm=container.inner_width_mm,
        height_mm=container.inner_height_mm,
    )
    findings = (
        *_about_lines(asked, Kind.CONTAINER),
        _validated(container, asked.routes, usable, question),
        set_sharp_finding(question.instruments, Kind.CONTAINER),
        *_room(asked, inside, container.code),
        *_weights(asked, gross, False),
        rated_weight_finding(gross, container),
    )
    volume = None
    if not inside.missing:
        volume = (inside.length_mm or 0) * (inside.width_mm or 0) * (inside.height_mm or 0)
    return _on_its_way(
        asked,
        Candidate(
            kind=str(Kind.CONTAINER),
            code=container.code,
            findings=findings,
            order=(volume or 0.0, container.code),
            with_codes=_basket_codes(question),
            details={"gross_g": None if gross.unknown else gross.known},
            cautions=(
                Caution("A new filter each cycle, covering every hole.", "SF2S good practice"),
            ),
        ),
        usable,
        container,
    )


def _in_wrap(asked: _Asked, wrap: Wrap) -> Candidate:
    question, policy = asked.question, asked.policy
    pack = question.pack or (question.basket.box if question.basket else Box())
    gross = _gross(asked, wrap.code, 0.0)
    fits, details, cautions = wrap_sheet(pack, wrap, None, policy)
    method = method_finding(asked.routes, wrap.material, wrap.methods)
    weight = None if gross.unknown else gross.known
    textile = textile_findings(pack, weight, policy) if _is_textile(question) else ()
    findings = (
        *_about_lines(asked, Kind.WRAP),
        method,
        set_sharp_finding(question.instruments, Kind.WRAP),
        fits,
        *_room(asked, None, wrap.code),
        *_weights(asked, gross, True),
        wrap_rating_finding(gross, wrap),
        *textile,
    )
    ways = routes_through(asked.routes, wrap.material, wrap.methods)
    return _on_its_way(
        asked,
        Candidate(
            kind=str(Kind.WRAP),
            code=wrap.code,
            findings=findings,
            order=((wrap.width_mm or 0.0) * (wrap.length_mm or 0.0), wrap.code),
            with_codes=_basket_codes(question),
            details={**details, "gross_g": weight},
            cautions=cautions,
        ),
        ways,
    )


def _distinct(question: SetQuestion) -> tuple[Instrument, ...]:
    """One instrument for each distinct list of cycles in the set."""
    found = {(one.contents, one.cycles): one for one in reversed(question.instruments)}
    return tuple(found.values())


def _is_textile(question: SetQuestion) -> bool:
    """Whether the pack is one of drapes and gowns, which has limits of its own."""
    return any(one.item_class is ItemClass.TEXTILES for one in question.instruments)


def _basket_codes(question: SetQuestion) -> tuple[str | None, ...]:
    return (question.basket.code,) if question.basket else ()


def _gross(asked: _Asked, name: str, tare_g: float | None) -> Weighing:
    return asked.question.reading or _with(asked.load, name, tare_g)


def _about_lines(asked: _Asked, kind: Kind) -> Iterable[Finding]:
    yield set_allowed_finding(asked.question.instruments, kind)
    yield asked.common
    yield pouches_inside_finding(asked.question)


def _validated(
    container: Container, routes: Routes, usable: tuple[Route, ...], question: SetQuestion
) -> Finding:
    stand_in = Question(instrument=Instrument(name="the set"), supplies=(),
                        programmes=question.programmes)  # fmt: skip
    return programme_finding(container, routes, stand_in)


def _room(asked: _Asked, inside: Box | None, code: str) -> Iterable[Finding]:
    """Each line in the basket, the basket in the container; without a basket the container."""
    basket, instruments = asked.question.basket, asked.question.instruments
    if basket is not None:
        yield pieces_in_finding(instruments, basket.box, basket.code, 0.0, asked.policy)
        if inside is not None:
            yield basket_in_finding(basket, inside, code, asked.policy)
    elif inside is not None:
        free = asked.policy.number("rim_clearance_mm")
        yield pieces_in_finding(instruments, inside, code, free, asked.policy)


def _weights(asked: _Asked, gross: Weighing, wrapped: bool) -> Iterable[Finding]:
    """Each weight against its limit: basket, net, load, gross."""
    if asked.question.basket is not None:
        yield basket_weight_finding(asked.net, asked.question.basket)
    yield net_finding(asked.net, asked.policy)
    if not wrapped:
        yield load_finding(asked.load, asked.policy)
    yield gross_finding(gross, asked.policy, wrapped=wrapped)


# --- putting it together ------------------------------------------------------------


def _decision(asked: _Asked, candidates: Sequence[Candidate]) -> Decision:
    picked = pick(candidates, on_record=asked.question.packed_in, serves="would serve too")
    shown = picked.shown
    findings = shown.findings if shown else (asked.common, net_finding(asked.net, asked.policy))
    return picked.decision(
        findings=findings,
        cautions=_cautions(asked.question, shown),
        unknown=[name for finding in findings for name in finding.missing],
        policy_digest=asked.policy.digest,
    )


def _cautions(question: SetQuestion, shown: Candidate | None) -> tuple[Caution, ...]:
    if shown is None:
        return ()
    every = handling_cautions(question.instruments, Kind(shown.kind))
    return tuple(dict.fromkeys((*shown.cautions, *every)))


def _contribution(line: SetLine, question: SetQuestion, policy: Policy) -> Contribution:
    one, basket = (line.instrument,), question.basket
    findings = [
        common_cycle_finding(one, question.programmes, policy),
        sharp_finding(line.instrument, Kind.WRAP),
    ]
    if basket is not None:
        findings.append(pieces_in_finding(one, basket.box, basket.code, 0.0, policy))
    weight = line.instrument.weight_g
    return Contribution(line, None if weight is None else weight * line.quantity, tuple(findings))


def _ruling(decision: Decision) -> Finding | None:
    """Of the weights that were compared with a limit, the one with the least margin."""
    weights = [
        finding
        for finding in decision.findings
        if finding.unit == "g" and finding.margin is not None
    ]
    return min(weights, key=lambda finding: finding.margin or 0.0, default=None)

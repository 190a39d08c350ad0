"""The decision for a whole set: every line, its basket, and the container or wrap around it.

The same findings as for one instrument, asked of all lines together: one cycle for all,
each piece in the basket, the three weights against the limits of policy, basket and
supply. The container or wrap on the set's record is asked first; others are offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from assembly.rules.deciding.boxes import is_out, waits_for_box, with_boxes
from assembly.rules.deciding.doubts import in_doubt
from assembly.rules.deciding.protection import (
    protected,
    protected_cautions,
)
from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import (
    basket_in_finding,
    basket_weight_finding,
    gross_of,
    outside,
    pieces_in_finding,
    pouches_inside_finding,
    set_allowed_finding,
    set_reading_finding,
    set_sharp_finding,
    wrap_rating_finding,
)
from assembly.rules.deciding.set_ways import set_routes
from assembly.rules.deciding.ways import with_way
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import (
    Candidate,
    Caution,
    Decision,
    Finding,
    Status,
)
from assembly.rules.kinds.containers import (
    NEW_FILTER,
    container_load_finding,
    programme_finding,
    rated_weight_finding,
    usable_routes,
)
from assembly.rules.kinds.wraps import wrap_sheet
from assembly.rules.limits.handling import handling_cautions, sharp_finding
from assembly.rules.limits.loaned import loaned_findings
from assembly.rules.limits.packs import pack_finding
from assembly.rules.limits.textiles import textile_findings
from assembly.rules.limits.weights import (
    Weighing,
    gross_details,
    gross_finding,
    net_finding,
    weigh,
)
from assembly.rules.methods.cycles import (
    CycleSplit,
    common_cycle_finding,
    split_by_cycle,
)
from assembly.rules.methods.materials import method_finding, routes_through
from assembly.rules.methods.one_programme import cycle_findings, only_route
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.picking import pick, ranked
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind, Material

NOT_COUNTED = (
    "Filters, mats, protectors and seals are not counted: weigh the container as it goes in."
)


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
    common: tuple[Finding, ...]
    net: Weighing
    load: Weighing
    reading: Finding


def decide_set(question: SetQuestion, policy: Policy) -> SetDecision:
    """The decision for a set: the container or wrap on record first, then the others.

    Combining is as for one instrument: a line whose weight, size or cycle is unknown leaves
    the set undecided. A kind that the policy leaves out answers for no set. The order in
    which supplies are listed changes nothing.
    """
    bare = question.instruments
    worn = [
        replace(line, instrument=protected(line.instrument, question.protectors, policy))
        for line in question.lines
    ]
    question = replace(question, lines=tuple(worn))
    asked = _asked(question, policy)
    kinds = [kind for kind in policy.words("kinds_in_order") if kind in ("wrap", "container")]
    found = [_candidate(asked, supply) for supply in question.supplies if supply.kind in kinds]
    decision = _decision(asked, ranked(found, kinds, question.packed_in))
    worn_cautions = protected_cautions(bare, question.instruments, question.protectors, policy)
    decision = replace(decision, cautions=(*decision.cautions, *worn_cautions))
    return SetDecision(
        decision,
        split_by_cycle(question.instruments, question.programmes, policy),
        tuple(_contribution(line, question, policy) for line in question.lines),
        _ruling(decision),
    )


def _asked(question: SetQuestion, policy: Policy) -> _Asked:
    net = weigh([line.piece for line in question.lines])
    load, basket = net, question.basket
    if basket:
        load = net.plus(basket.code, basket.tare_g, f"{basket.code}.tare_g")
    if question.chosen:
        common = cycle_findings(question.instruments, question.chosen, policy)
        routes = only_route(question.chosen, question.instruments, policy)
    else:
        common = (common_cycle_finding(question.instruments, question.programmes, policy),)
        routes = set_routes(question, common[0], policy)
    reading = set_reading_finding(question, load, policy)
    return _Asked(question, policy, routes, common, net, load, reading)


# --- one container or wrap ----------------------------------------------------------


def _candidate(asked: _Asked, supply: Container | Wrap) -> Candidate:
    if isinstance(supply, Container):
        return _in_container(asked, supply)
    return _in_wrap(asked, supply)


def _on_its_way(
    asked: _Asked, candidate: Candidate, ways: Sequence[Route], container: Container | None = None
) -> Candidate:
    question = asked.question
    pieces = [(line.instrument, line.quantity) for line in question.lines]
    candidate = with_way(candidate, ways, pieces, question.protectors, asked.policy, container)
    return with_boxes(candidate, question)


def _in_container(asked: _Asked, container: Container) -> Candidate:
    question, policy = asked.question, asked.policy
    usable = usable_routes(container, asked.routes)
    gross = _gross(asked, container)
    findings = (
        *_about_lines(asked, Kind.CONTAINER),
        programme_finding(container, asked.routes, question.programmes),
        set_sharp_finding(question.instruments, Kind.CONTAINER),
        *_room(asked, container.inside, container.code),
        *_weights(asked, gross, container),
        rated_weight_finding(gross, container),
        *_textiles(asked, asked.net),
    )
    return _on_its_way(
        asked,
        Candidate(
            kind=str(Kind.CONTAINER),
            code=container.code,
            findings=findings,
            order=(container.inside.volume_mm3 or 0.0, container.code),
            with_codes=_basket_codes(question),
            details=gross_details(gross),
            cautions=(NEW_FILTER, Caution(NOT_COUNTED, policy.source("gross_limit_g"))),
        ),
        usable,
        container,
    )


CREPE = Caution(
    "Crepe is no longer advised around baskets: take a nonwoven wrap where there is one.",
    "SF2S good practice",
)


def _in_wrap(asked: _Asked, wrap: Wrap) -> Candidate:
    question, policy = asked.question, asked.policy
    pack = _pack(asked)
    gross = _gross(asked, wrap)
    weight = None if gross.unknown else gross.known
    fits, details, cautions = wrap_sheet(pack, wrap, weight, policy)
    method = method_finding(asked.routes, wrap.material, wrap.methods)
    findings = (
        *_about_lines(asked, Kind.WRAP),
        method,
        set_sharp_finding(question.instruments, Kind.WRAP),
        fits,
        *_room(asked, None, wrap.code),
        *_weights(asked, gross, wrap),
        wrap_rating_finding(gross, wrap),
        *_textiles(asked, gross),
    )
    if question.basket and wrap.material is Material.CELLULOSE:
        cautions = (*cautions, CREPE)
    ways = routes_through(asked.routes, wrap.material, wrap.methods)
    return _on_its_way(
        asked,
        Candidate(
            kind=str(Kind.WRAP),
            code=wrap.code,
            findings=findings,
            order=(
                not details.pop("suits"),
                (wrap.width_mm or 0.0) * (wrap.length_mm or 0.0),
                wrap.code,
            ),
            with_codes=_basket_codes(question),
            details=details | gross_details(gross),
            cautions=cautions,
        ),
        ways,
    )


def _textiles(asked: _Asked, weighing: Weighing) -> tuple[Finding, ...]:
    """The limits of a pack of drapes and gowns, where the set has any (g)."""
    weight = None if weighing.unknown else weighing.known
    return textile_findings(asked.question.instruments, _pack(asked), weight, asked.policy)


def _pack(asked: _Asked) -> Box:
    """What is wrapped (mm): the pack as measured, else the basket by its outer size."""
    question = asked.question
    if question.pack is not None or question.basket is None:
        return question.pack or Box()
    return outside(question.basket, asked.policy)


def _basket_codes(question: SetQuestion) -> tuple[str | None, ...]:
    return (question.basket.code,) if question.basket else ()


def _gross(asked: _Asked, supply: Container | Wrap) -> Weighing:
    """The gross weight in one supply (g): read from the scale where that was weighed in it."""
    return _read_in(asked, supply) or gross_of(asked.load, supply, asked.policy)


def _read_in(asked: _Asked, supply: Container | Wrap) -> Weighing | None:
    """The reading (g) where it is that of this supply, and what is known lets expect it."""
    known = supply.code == asked.question.weighed and asked.reading.status is Status.MET
    return asked.question.reading if known else None


def _worked_back(asked: _Asked, supply: Container | Wrap) -> tuple[Weighing, Weighing]:
    """Net and load (g) in one supply: worked back from the reading in it, else added up."""
    read, basket = _read_in(asked, supply), asked.question.basket
    packaging = supply.tare_g if isinstance(supply, Container) else supply.pack_g
    if read is None or packaging is None:
        return asked.net, asked.load
    load = read.without(packaging)
    if basket is None:
        return load, load
    return (asked.net if basket.tare_g is None else load.without(basket.tare_g)), load


def _about_lines(asked: _Asked, kind: Kind) -> Iterable[Finding]:
    yield set_allowed_finding(asked.question.instruments, kind)
    yield from asked.common
    yield pouches_inside_finding(asked.question)
    yield from loaned_findings(asked.question.ifu_received)
    yield asked.reading
    yield _pack_holds(asked)


def _pack_holds(asked: _Asked) -> Finding:
    """Whether the pack as measured can hold the basket and each piece."""
    question = asked.question
    contents = [(one.name, one.box) for one in question.instruments]
    if question.basket is not None:
        takes = outside(question.basket, asked.policy)
        contents.insert(0, (f"Basket {question.basket.code}", takes))
    return pack_finding(question.pack, contents)


def _room(asked: _Asked, inside: Box | None, code: str) -> Iterable[Finding]:
    """Each line in the basket, the basket in the container; without a basket the container."""
    basket, lines = asked.question.basket, asked.question.lines
    if basket is not None:
        yield pieces_in_finding(lines, basket.box, basket.code, 0.0, asked.policy)
        if inside is not None:
            yield basket_in_finding(basket, inside, code, asked.policy)
    elif inside is not None:
        free = asked.policy.number("rim_clearance_mm")
        yield pieces_in_finding(lines, inside, code, free, asked.policy)


def _weights(asked: _Asked, gross: Weighing, supply: Container | Wrap) -> Iterable[Finding]:
    """Each weight against its limit: basket, net, load, gross; in a wrap its own gross limit."""
    net, load = _worked_back(asked, supply)
    if asked.question.basket is not None:
        yield basket_weight_finding(net, asked.question.basket)
    yield net_finding(net, asked.policy)
    if isinstance(supply, Container):
        yield container_load_finding(load, supply, asked.policy)
    yield gross_finding(gross, asked.policy, wrapped=isinstance(supply, Wrap))


# --- putting it together ------------------------------------------------------------


def _decision(asked: _Asked, candidates: Sequence[Candidate]) -> Decision:
    picked = pick(
        candidates, on_record=asked.question.packed_in, serves="would serve too",
        in_doubt=in_doubt, waits=waits_for_box, is_out=is_out,
    )  # fmt: skip
    shown = picked.shown
    findings = shown.findings if shown else (*asked.common, net_finding(asked.net, asked.policy))
    return picked.decision(
        findings=findings,
        cautions=_cautions(asked.question, shown),
        unknown=[name for finding in findings for name in finding.missing],
        policy_digest=asked.policy.digest,
    )


def _cautions(question: SetQuestion, shown: Candidate | None) -> tuple[Caution, ...]:
    if shown is None:
        return ()
    every = handling_cautions(question.instruments, Kind(shown.kind), shown.method)
    return tuple(dict.fromkeys((*shown.cautions, *every)))


def _contribution(line: SetLine, question: SetQuestion, policy: Policy) -> Contribution:
    one, basket = (line.instrument,), question.basket
    findings = [
        common_cycle_finding(one, question.programmes, policy),
        sharp_finding(line.instrument, Kind.WRAP),
    ]
    if basket is not None:
        findings.append(pieces_in_finding([line], basket.box, basket.code, 0.0, policy))
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

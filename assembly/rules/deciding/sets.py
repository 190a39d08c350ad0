"""The decision for a whole set: every line, its basket, and the container or wrap around it.

The same findings as for one instrument, asked of all lines together: one cycle for all,
each piece in the basket, the three weights against the limits of policy, basket and
supply. The container or wrap on the set's record is asked first; others are offered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from assembly.rules.deciding.boxes import is_out, waits_for_box, with_boxes
from assembly.rules.deciding.doubts import in_doubt
from assembly.rules.deciding.protection import (
    protected,
    protected_cautions,
)
from assembly.rules.deciding.set_decision import SetDecision
from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import (
    basket_in_finding,
    gross_of,
    outside,
    pieces_in_finding,
    pouches_inside_finding,
    set_allowed_finding,
    set_reading_finding,
    set_sharp_finding,
    weight_findings,
)
from assembly.rules.deciding.set_ways import set_routes
from assembly.rules.deciding.ways import Inside
from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Box, Instrument
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
    programme_finding,
    usable_routes,
)
from assembly.rules.kinds.wraps import wrap_sheet
from assembly.rules.limits.handling import handling_cautions
from assembly.rules.limits.loaned import loaned_findings
from assembly.rules.limits.packs import pack_finding
from assembly.rules.limits.textiles import textile_findings
from assembly.rules.limits.weights import (
    Weighing,
    gross_details,
    net_finding,
    weigh,
)
from assembly.rules.methods.cycles import (
    common_cycle_finding,
)
from assembly.rules.methods.materials import method_finding, routes_through
from assembly.rules.methods.one_programme import cycle_findings, only_route
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.picking import pick, ranked
from assembly.rules.policy.values import Policy
from catalog.vocabulary import ItemClass, Kind, Material

NOT_COUNTED = (
    "Filters, mats, protectors and seals are not counted: weigh the container as it goes in."
)


NOT_MEASURED = Box()


@dataclass(frozen=True)
class _Asked:
    """A set question with what every candidate needs of it, worked out once."""

    question: SetQuestion
    policy: Policy
    routes: Routes
    common: tuple[Finding, ...]
    net: Weighing
    load: Weighing
    reading: Finding

    @cached_property
    def inside(self) -> Inside:
        pieces = tuple((line.instrument, line.quantity) for line in self.question.lines)
        return Inside(pieces, self.question.protectors, self.policy)

    @cached_property
    def pack(self) -> Box:
        """What is wrapped (mm): the pack as measured, else the basket by its outer size."""
        question = self.question
        if question.pack is not None or question.basket is None:
            return question.pack or NOT_MEASURED
        return outside(question.basket, self.policy)

    @cached_property
    def textiles(self) -> tuple[Instrument, ...]:
        every = self.question.instruments
        return tuple(one for one in every if one.item_class is ItemClass.TEXTILES)

    @cached_property
    def in_basket(self) -> Finding | None:
        """Whether each line lies in the basket, where there is one."""
        basket, lines = self.question.basket, self.question.lines
        if basket is None:
            return None
        return pieces_in_finding(lines, basket.box, basket.code, 0.0, self.policy)

    @cached_property
    def about_lines(self) -> tuple[Finding, ...]:
        """What is found of the lines whatever they go into."""
        question = self.question
        return (
            *self.common,
            pouches_inside_finding(question),
            *loaned_findings(question.ifu_received),
            self.reading,
            pack_finding(question.pack, self._contents()),
        )

    def _contents(self) -> Iterator[tuple[str, Box]]:
        basket = self.question.basket
        if basket is not None:
            yield f"Basket {basket.code}", outside(basket, self.policy)
        yield from ((one.name, one.box) for one in self.question.instruments)

    @cached_property
    def in_container(self) -> tuple[Finding, Finding]:
        return self._handling(Kind.CONTAINER)

    @cached_property
    def in_wrap(self) -> tuple[Finding, Finding]:
        return self._handling(Kind.WRAP)

    def _handling(self, kind: Kind) -> tuple[Finding, Finding]:
        """Whether the IFUs allow the kind, and points are covered in it."""
        every = self.question.instruments
        return set_allowed_finding(every, kind), set_sharp_finding(every, kind)


def decide_set(question: SetQuestion, policy: Policy) -> SetDecision:
    """The decision for a set: the container or wrap on record first, then the others.

    Combining is as for one instrument: a line whose weight, size or cycle is unknown leaves
    the set undecided. A kind that the policy leaves out answers for no set. The order in
    which supplies are listed changes nothing.
    """
    bare = question.instruments
    question = replace(question, lines=_worn(question, policy))
    asked = _asked(question, policy)
    kinds = [kind for kind in policy.words("kinds_in_order") if kind in ("wrap", "container")]
    found = [_candidate(asked, supply) for supply in question.supplies if supply.kind in kinds]
    decision = _decision(asked, ranked(found, kinds, question.packed_in))
    worn_cautions = protected_cautions(bare, question.instruments, question.protectors, policy)
    decision = replace(decision, cautions=(*decision.cautions, *worn_cautions))
    return SetDecision(decision, question, policy)


def _worn(question: SetQuestion, policy: Policy) -> tuple[SetLine, ...]:
    """The lines with the protectors on."""
    found = []
    for line in question.lines:
        worn = protected(line.instrument, question.protectors, policy)
        same = worn is line.instrument
        found.append(line if same else derived(line, instrument=worn))
    return tuple(found)


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
    asked: _Asked, candidate: Candidate, ways: tuple[Route, ...], container: Container | None = None
) -> Candidate:
    way = asked.inside.taken(ways, container)
    candidate = replace(
        candidate,
        findings=(*candidate.findings, *way.findings),
        details={**candidate.details, **way.details},
        cautions=(*candidate.cautions, *way.cautions),
    )
    return with_boxes(candidate, asked.question)


def _in_container(asked: _Asked, container: Container) -> Candidate:
    question, policy = asked.question, asked.policy
    usable = usable_routes(container, asked.routes)
    gross = _gross(asked, container)
    allowed, sharp = asked.in_container
    findings = (
        allowed,
        *asked.about_lines,
        programme_finding(container, asked.routes, question.programmes),
        sharp,
        *_room(asked, container.inside, container.code),
        *_weights(asked, gross, container),
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
    gross = _gross(asked, wrap)
    weight = None if gross.unknown else gross.known
    fits, details, cautions = wrap_sheet(asked.pack, wrap, weight, policy)
    allowed, sharp = asked.in_wrap
    findings = (
        allowed,
        *asked.about_lines,
        method_finding(asked.routes, wrap.material, wrap.methods),
        sharp,
        fits,
        *_room(asked, None, wrap.code),
        *_weights(asked, gross, wrap),
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
    return textile_findings(asked.textiles, asked.pack, weight, asked.policy)


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


def _room(asked: _Asked, inside: Box | None, code: str) -> Iterable[Finding]:
    """Each line in the basket, the basket in the container; without a basket the container."""
    basket, lines = asked.question.basket, asked.question.lines
    if basket is not None and asked.in_basket is not None:
        yield asked.in_basket
        if inside is not None:
            yield basket_in_finding(basket, inside, code, asked.policy)
    elif inside is not None:
        free = asked.policy.number("rim_clearance_mm")
        yield pieces_in_finding(lines, inside, code, free, asked.policy)


def _weights(asked: _Asked, gross: Weighing, supply: Container | Wrap) -> Iterable[Finding]:
    net, load = _worked_back(asked, supply)
    return weight_findings(net, load, gross, supply, asked.question.basket, asked.policy)


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

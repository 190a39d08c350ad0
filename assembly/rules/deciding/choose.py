"""The decision: every rule for every supply, combined, ranked, with all reasons kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import assert_never

from assembly.rules.deciding.boxes import is_out, waits_for_box, with_boxes
from assembly.rules.deciding.doubts import in_doubt
from assembly.rules.deciding.giving_way import in_order_of_choice
from assembly.rules.deciding.protection import (
    protected,
    protected_cautions,
)
from assembly.rules.deciding.ways import Inside, ways_of
from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Supply, Wrap
from assembly.rules.findings import (
    CLOSE_MM,
    Candidate,
    Caution,
    Decision,
    Finding,
    Rule,
    Status,
)
from assembly.rules.kinds.containers import container_candidate
from assembly.rules.kinds.doubles import double_candidates
from assembly.rules.kinds.pouches import pouch_candidate
from assembly.rules.kinds.rolls import roll_candidate
from assembly.rules.kinds.wraps import wrap_candidate
from assembly.rules.limits.handling import handling_cautions
from assembly.rules.limits.loaned import loaned_findings
from assembly.rules.limits.weights import (
    Piece,
    Weighing,
    gross_details,
    gross_finding,
    net_finding,
    weigh,
    with_packaging,
)
from assembly.rules.methods.one_programme import cycle_findings, only_route
from assembly.rules.methods.routes import Routes, routes_for
from assembly.rules.picking import RULED_OUT, pick, ranked
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

NOTHING_IN_STOCK = Rule("stock", "the department's supplies").not_met(
    "No supply of the kinds asked for is in stock."
)


def candidates_in(
    question: Question, routes: Routes, kinds: Sequence[str], policy: Policy
) -> list[Candidate]:
    """Every supply of these kinds in stock; where a double is asked for, every validated pair."""
    if question.double:
        return double_candidates(question, routes, policy) if Kind.POUCH in kinds else []
    stocked = [supply for supply in question.supplies if supply.kind in kinds]
    return [_candidate(question, supply, routes, policy) for supply in stocked]


def _candidate(question: Question, supply: Supply, routes: Routes, policy: Policy) -> Candidate:
    match supply:
        case Pouch():
            return pouch_candidate(question.instrument, supply, routes, policy)
        case Roll():
            return roll_candidate(question.instrument, supply, routes, policy)
        case Wrap():
            return wrap_candidate(question, supply, routes, policy)
        case Container():
            return container_candidate(question, supply, routes, policy)
        case _:
            assert_never(supply)


@dataclass(frozen=True)
class _Asked:
    """A question with what every candidate needs of it, worked out once."""

    question: Question
    policy: Policy
    routes: Routes

    @cached_property
    def supplies(self) -> dict[str, Supply]:
        return {one.code: one for one in self.question.supplies}

    @cached_property
    def inside(self) -> Inside:
        instrument = self.question.instrument
        pieces = ((instrument, instrument.pieces),)
        return Inside(pieces, self.question.protectors, self.policy)

    @cached_property
    def lent(self) -> tuple[Finding, ...]:
        return loaned_findings(self.question.ifu_received)

    @cached_property
    def chosen(self) -> tuple[Finding, ...]:
        """What the instrument says to the programme that a person chose."""
        if self.question.chosen is None:
            return ()
        return cycle_findings((self.question.instrument,), self.question.chosen, self.policy)

    @cached_property
    def net(self) -> Weighing:
        instrument = self.question.instrument
        return weigh([Piece(name=instrument.name, quantity=1, weight_g=instrument.weight_g)])

    @cached_property
    def net_said(self) -> Finding:
        return net_finding(self.net, self.policy)


def decide(question: Question, policy: Policy) -> Decision:
    """The decision for one package.

    The first kind, in the policy's order, with a candidate that meets every rule gives the
    recommendation: the least material of its kind; a pouch may give way. Where none meets
    all, one undecided candidate leaves the whole undecided; otherwise there is none. The
    order in which supplies are listed changes nothing.
    """
    bare, question = question.instrument, as_packed(question, policy)
    instrument = question.instrument
    if question.chosen:
        routes = only_route(question.chosen, (instrument,), policy)
    else:
        routes = routes_for(instrument.cycles, question.programmes, policy, instrument.contents)
    kinds, asked = policy.words("kinds_in_order"), _Asked(question, policy, routes)
    found = candidates_in(question, routes, kinds, policy)
    completed = [_completed(one, asked) for one in ranked(found, kinds)]
    candidates = in_order_of_choice(completed, policy)
    picked = pick(candidates, why_not=lambda one: _why_not(one, policy), in_doubt=in_doubt,
                  waits=waits_for_box, is_out=is_out)  # fmt: skip
    return picked.decision(
        findings=picked.shown.findings if picked.shown else (NOTHING_IN_STOCK,),
        cautions=(
            *_cautions(instrument, picked.shown),
            *_cycle_cautions(question),
            *protected_cautions([bare], [instrument], question.protectors, policy),
        ),
        unknown=_unknown(bare, candidates),
        policy_digest=policy.digest,
    )


def as_packed(question: Question, policy: Policy) -> Question:
    """The question with the protector on the instrument, as it lies in its package."""
    worn = protected(question.instrument, question.protectors, policy)
    return derived(question, instrument=worn)


def _completed(candidate: Candidate, asked: _Asked) -> Candidate:
    """The candidate with what is asked of every kind: its way, protectors, policy weights."""
    codes = dict.fromkeys((candidate.code, *candidate.with_codes))
    own = [asked.supplies[code] for code in codes if code in asked.supplies]
    container = next((one for one in own if isinstance(one, Container)), None)
    way = asked.inside.taken(ways_of(own, asked.routes), container)
    weights, gross = _policy_weights(candidate, own, asked)
    return with_boxes(
        Candidate(
            kind=candidate.kind,
            code=candidate.code,
            order=candidate.order,
            with_codes=candidate.with_codes,
            findings=(
                *asked.chosen, *candidate.findings, *way.findings, *asked.lent, *weights,
            ),
            details={**gross_details(gross), **candidate.details, **way.details},
            cautions=(*candidate.cautions, *way.cautions),
        ),
        asked.question,
    )  # fmt: skip


def _policy_weights(
    candidate: Candidate, own: Iterable[Supply], asked: _Asked
) -> tuple[tuple[Finding, ...], Weighing]:
    """The policy's weight limits (g) where the candidate's kind has not asked them, and the gross
    weight: with each pouch, or the piece of roll, that it goes into."""
    gross = asked.net
    for supply in own:
        if isinstance(supply, Pouch):
            gross = with_packaging(gross, supply.code, supply.weight_g, asked.policy)
        elif isinstance(supply, Roll):
            weight = supply.piece_g(candidate.details.get("cut_length_mm"))
            gross = with_packaging(gross, supply.code, weight, asked.policy)
    if candidate.kind in (Kind.WRAP, Kind.CONTAINER):
        return (), gross
    return (asked.net_said, gross_finding(gross, asked.policy)), gross


def _cycle_cautions(question: Question) -> tuple[Caution, ...]:
    """Said where no programme is part of the question and the IFU's cycle lacks a fact."""
    cycles = question.instrument.cycles
    bare = [one for one in cycles if None in (one.temperature_c, one.exposure_min)]
    bare = [one for one in bare if not one.cycle_name]
    if question.programmes is not None or not bare:
        return ()
    words = f"Of its cycle ({bare[0].method.words}) not all is on record: read temperature and "
    words += "exposure in its IFU before it goes into a sterilizer."
    return (Caution(words, "the instrument maker's IFU"),)


def _why_not(candidate: Candidate, policy: Policy) -> str:
    return "near miss" if near_miss(candidate, policy) else RULED_OUT


SIZES = ("width", "length", "outer width", "outer length", "sheet")
"""The rules about a size, by which a candidate may just fail."""


def near_miss(candidate: Candidate, policy: Policy) -> Finding | None:
    """The one size by which a candidate just fails, if that is all that stands in its way.

    Within the policy's near-miss distance in mm, or its share of what is needed.
    """
    reasons = candidate.reasons
    if len(reasons) != 1 or reasons[0].rule not in SIZES:
        return None
    finding = reasons[0]
    if finding.margin is None or finding.figure is None:
        return None
    allowed = max(policy.number("near_miss_mm"), policy.number("near_miss_share") * finding.figure)
    return finding if -finding.margin <= allowed + CLOSE_MM else None


def _unknown(instrument: Instrument, candidates: Sequence[Candidate]) -> list[str]:
    """Facts that are missing: the instrument's by name, others as ``CODE.name``.

    What the pack or the question lacks reads ``pack.name`` and ``question.name``.
    """
    names = [one.name for one in instrument.not_on_record if one.asked]
    own = {*names, "size"}
    for candidate in candidates:
        for finding in candidate.reasons:
            if finding.status is not Status.CANNOT_TELL:
                continue
            for field in finding.missing:
                if field in own:
                    continue
                known = "." in field or hasattr(instrument, field)
                names.append(field if known else f"{candidate.code}.{field}")
    return names


def _cautions(instrument: Instrument, shown: Candidate | None) -> tuple[Caution, ...]:
    if shown is None:
        return ()
    return tuple(
        dict.fromkeys(
            (*shown.cautions, *handling_cautions([instrument], Kind(shown.kind), shown.method))
        )
    )

"""Double pouches: an inner pouch, flat and unfolded, free to move inside an outer one.

Only pairs that the maker has validated are candidates. The inner pouch obeys every rule of
a single one; the outer one must take the closed outer size of the inner with play on each
side. No separate rule for the instrument in the outer pouch is needed: the inner sheet
already spans it from edge to edge, so whatever lets that sheet in lets the instrument in.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from assembly.rules.facts.checks import product
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import Candidate, Caution, Finding, Rule, in_mm
from assembly.rules.kinds.pouches import RANK, material_order, material_reckoned, pouch_candidate
from assembly.rules.limits.weights import rating_finding
from assembly.rules.methods.materials import Answer, ask, method_finding
from assembly.rules.methods.routes import Routes
from assembly.rules.policy.values import Policy

VALIDATED = Rule("validated pair", "ST79 8.3.4 as reported; the pouch maker's IFU")
NESTING_SOURCE = "ISO/TS 16775:2014, health-care annex, c"

CAUTIONS = (
    Caution(
        "Film to film and porous side to porous side: the sterilant enters, and the label is "
        "read, through both.",
        "ISO/TS 16775:2014, health-care annex, c; DGSV A.6",
    ),
    Caution(
        "The inner pouch lies flat: it is never folded or bent.",
        "DGSV A.6; ISO/TS 16775:2014, health-care annex, c",
    ),
    Caution("The indicator goes into the inner pouch.", "common practice, no source"),
    Caution(
        "A double pouch only where the pouch's maker has validated it; a single one is "
        "normally enough.",
        "ST79 8.3.4 as reported",
    ),
    Caution(
        "The inner pouch's own weight is not on record and is not counted against what the "
        "outer one may hold.",
        "the packaging maker's IFU",
    ),
)


def double_candidates(question: Question, routes: Routes, policy: Policy) -> list[Candidate]:
    """Every validated pair in stock; without any, the smallest inner pouch and what it lacks.

    Source: ISO/TS 16775:2014, health-care annex, c; ST79 8.3.4 as reported.
    """
    pouches = {supply.code: supply for supply in question.supplies if isinstance(supply, Pouch)}
    pairs = [
        (inner, pouches[code])
        for inner in pouches.values()
        for code in dict.fromkeys(inner.doubles_in)
        if code in pouches and code != inner.code
    ]
    if pairs:
        return [
            double_candidate(question.instrument, inner, outer, routes, policy)
            for inner, outer in pairs
        ]
    return _no_pair(question.instrument, pouches.values(), routes, policy)


def _no_pair(
    instrument: Instrument, pouches: Iterable[Pouch], routes: Routes, policy: Policy
) -> list[Candidate]:
    singles = [pouch_candidate(instrument, pouch, routes, policy) for pouch in pouches]
    if not singles:
        return []
    inner = min(singles, key=lambda single: (-RANK[single.status], single.order))
    lacking = VALIDATED.not_met(
        "No pair of pouches in stock is on record as validated by its maker for doubling: "
        "ask the maker, or use a single pouch."
    )
    return [replace(inner, findings=(*inner.findings, lacking))]


def double_candidate(
    instrument: Instrument, inner: Pouch, outer: Pouch, routes: Routes, policy: Policy
) -> Candidate:
    """Every rule for one instrument in ``inner`` in ``outer``: the inner pouch's, then theirs."""
    single = pouch_candidate(instrument, inner, routes, policy)
    pair = _pair_findings(instrument, inner, outer, routes, policy)
    material = None
    if inner.material_mm2 is not None and outer.material_mm2 is not None:
        material = inner.material_mm2 + outer.material_mm2
    reckoned = [material_reckoned(one, policy) for one in (inner, outer)]
    least = None if None in reckoned else sum(one or 0.0 for one in reckoned)
    cost = None if inner.cost is None or outer.cost is None else inner.cost + outer.cost
    return Candidate(
        kind=single.kind,
        code=inner.code,
        with_codes=(outer.code,),
        findings=(*single.findings, *pair),
        order=(*material_order(least, cost, inner.code), outer.code),
        details={**single.details, **_details(inner, outer, pair), "material_mm2": material},
        cautions=(*single.cautions, *CAUTIONS),
    )


def _pair_findings(
    instrument: Instrument, inner: Pouch, outer: Pouch, routes: Routes, policy: Policy
) -> tuple[Finding, ...]:
    method = method_finding(shared_routes(inner, routes), outer.material, outer.methods)
    weight = rating_finding(instrument.weight_g, outer.rated_g, "pouch")
    return (
        validated_finding(inner, outer),
        _of_outer(method, "outer method", outer),
        play_finding("outer width", inner.outer_width_mm, outer.opened_width_mm, outer, policy),
        play_finding("outer length", inner.outer_length_mm, outer.inner_length_mm, outer, policy),
        _of_outer(weight, "outer contents weight", outer),
    )


def shared_routes(inner: Pouch, routes: Routes) -> Routes:
    """The routes left for the outer pouch: both go through one and the same.

    Where the inner pouch's own answer is open, the route is open for the pair. Where it
    leaves none, or its material is unknown, all are kept: the inner pouch's own finding
    then says so.
    """
    if inner.material is None:
        return routes
    accepted, undecided = [], []
    for route in (*routes.accepted, *routes.undecided):
        answer = ask(inner.material, route.method, route.temperature_c, inner.methods).answer
        if answer is Answer.YES and route in routes.accepted:
            accepted.append(route)
        elif answer is Answer.YES:
            undecided.append(route)
        elif answer is not Answer.NO:
            undecided.append(replace(route, doubt="whether the inner pouch stands it is open"))
    if not accepted and not undecided:
        return routes
    return replace(routes, accepted=tuple(accepted), undecided=tuple(undecided))


def _of_outer(finding: Finding, rule: str, outer: Pouch) -> Finding:
    """A rule about one pouch, said of the outer one; its missing facts are named as its own."""
    own = {"material", "methods", "rated_g"}
    missing = tuple(f"{outer.code}.{name}" if name in own else name for name in finding.missing)
    return replace(
        finding, rule=rule, text=f"Outer pouch {outer.code}: {finding.text}", missing=missing
    )


def validated_finding(inner: Pouch, outer: Pouch) -> Finding:
    """Whether the maker has validated ``inner`` inside ``outer``; no record is not met.

    >>> validated_finding(Pouch(code="A", doubles_in=("B",)), Pouch(code="B")).status
    <Status.MET: 'met'>
    """
    if outer.code in inner.doubles_in:
        return VALIDATED.met(f"Its maker has validated {inner.code} inside {outer.code}.")
    return VALIDATED.not_met(f"{inner.code} inside {outer.code} is not on record as validated.")


def play_finding(
    name: str, inner_outer: float | None, outer_inner: float | None, outer: Pouch, policy: Policy
) -> Finding:
    """Outer size of the closed inner pouch plus play at both sides, in mm; equal is met.

    Width uses the outer pouch's width with its pleats opened. Either size unknown: cannot
    tell. Source: ISO/TS 16775:2014, health-care annex, c; how much play is the policy's.
    """
    word = name.removeprefix("outer ")
    rule = Rule(name, f"{NESTING_SOURCE}; {policy.source('double_play_mm')}")
    if inner_outer is None:
        return rule.cannot_tell(
            f"The outer {word} of the inner pouch is not on record: measure it closed.",
            f"outer_{word}_mm",
        )
    if outer_inner is None:
        return rule.cannot_tell(
            f"The inner {word} of {outer.code} is not on record: measure it seal to seal.",
            f"{outer.code}.inner_{word}_mm",
        )
    play = policy.number("double_play_mm")
    return rule.at_most(
        inner_outer + 2 * play,
        outer_inner,
        "mm",
        met=f"The inner pouch moves freely in {word}: {{figure}} needed ({{size}} and {{play}} "
        f"at each side), {{limit}} in {outer.code}.",
        not_met=f"The inner pouch would bend or jam in {word}: {{figure}} needed ({{size}} and "
        f"{{play}} at each side), {{limit}} in {outer.code}, {{margin}} lacking.",
        amounts=in_mm(size=inner_outer, play=play),
    )


def _details(inner: Pouch, outer: Pouch, pair: tuple[Finding, ...]) -> dict[str, Any]:
    """Margins beyond the play (mm), and how much of the outer pouch the inner one covers."""
    details: dict[str, Any] = {"inner": inner.code, "outer": outer.code}
    for word in ("width", "length"):
        margin = next(finding.margin for finding in pair if finding.rule == f"outer {word}")
        details[f"play_{word}_mm"] = margin
    covered = product(inner.outer_width_mm, inner.outer_length_mm)
    area = product(outer.inner_width_mm, outer.inner_length_mm)
    if covered is not None and area is not None:
        details["inner_share"] = covered / area
    return details

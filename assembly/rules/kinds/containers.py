"""Rigid containers: room in plan at any angle, height below the lid, weight, programmes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import (
    CLOSE_MM,
    Candidate,
    Caution,
    Finding,
    Rule,
    Status,
    in_mm,
)
from assembly.rules.kinds.lying import lies_open
from assembly.rules.kinds.pouches import material_order
from assembly.rules.limits.handling import allowed_finding, sharp_finding
from assembly.rules.limits.packs import pack_finding
from assembly.rules.limits.plans import longest_at_any_angle
from assembly.rules.limits.textiles import textile_findings
from assembly.rules.limits.weights import (
    CONTENTS_WEIGHT,
    Piece,
    Weighing,
    gross_details,
    gross_finding,
    load_finding,
    net_finding,
    weigh,
    weight_finding,
)
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Filter, Kind, Method

PLAN_SOURCE = "rectangle in a rectangle (Carver 1957; Wetzel, Math. Mag. 73, 2000)"
PROGRAMME = Rule("programme", "the container maker's IFU")
FILTER = Rule("filter", "packaging guidance as restated; SF2S good practice")
CELLULOSE = (Filter.PAPER, Filter.TEXTILE)
TARE = "the container"
NEW_FILTER = Caution(
    "A new filter each cycle, or one that stays in, within its date; it covers every hole.",
    "SF2S good practice",
)


def container_candidate(
    question: Question, container: Container, routes: Routes, policy: Policy
) -> Candidate:
    """Every rule for the question's pack, else the instrument, in the order they are read."""
    instrument, way = question.instrument, lies_open(question.instrument, policy)
    box = question.pack or way.item.box
    contents = Piece(name=instrument.name, quantity=1, weight_g=instrument.weight_g)
    net = weigh([contents])
    loaded = net.plus(TARE, container.tare_g, "tare_g")
    usable = usable_routes(container, routes)
    own = question.pack is None
    plan = plan_finding(box, container, policy, own)
    findings = (
        allowed_finding(instrument, Kind.CONTAINER),
        programme_finding(container, routes, question.programmes),
        sharp_finding(instrument, Kind.CONTAINER),
        way.said(plan) if own else plan,
        height_finding(box, container, policy, own),
        rated_weight_finding(loaded, container),
        net_finding(net, policy),
        container_load_finding(net, container, policy),
        gross_finding(loaded, policy),
        pack_finding(question.pack, [(instrument.name, instrument.box)]),
        *textile_findings([instrument], box, instrument.weight_g, policy),
    )
    return Candidate(
        kind=str(Kind.CONTAINER),
        code=container.code,
        findings=findings,
        order=material_order(container.inside.volume_mm3, container.cost, container.code),
        details=_details(box, container, loaded, usable, policy),
        cautions=tuple(_cautions(box, container, policy)),
    )


def usable_routes(container: Container, routes: Routes) -> tuple[Route, ...]:
    """The accepted programmes that the container's maker has validated."""
    validated = container.programmes or ()
    return tuple(
        route for route in routes.accepted if route.programme and route.programme.code in validated
    )


def programme_finding(
    container: Container, routes: Routes, programmes: Sequence[Programme] | None
) -> Finding:
    """Whether one of the ``programmes`` that are run serves both the instrument and this container.

    A container goes only through programmes its maker has validated. Unknown cycles,
    programmes run or programmes validated cannot be told. Source: the container maker's IFU.
    """
    if not routes.known:
        return PROGRAMME.by("the instrument maker's IFU").cannot_tell(
            "No cycle is on record for this instrument: read its IFU.", "cycles"
        )
    if programmes is None:
        return PROGRAMME.cannot_tell(
            "A container still needs its validated cycle: say which cycles are run.",
            "question.programmes",
        )
    if not routes.accepted and not routes.undecided:
        return PROGRAMME.by(routes.source).not_met(routes.refusal)
    if container.programmes is None:
        return PROGRAMME.cannot_tell(
            "The cycles validated for this container are not on record: read its IFU.", "programmes"
        )
    usable = usable_routes(container, routes)
    if usable:
        return PROGRAMME.met(f"Validated for {usable[0]}.")
    for route in routes.undecided:
        if route.programme and route.programme.code in container.programmes:
            return PROGRAMME.by(routes.source).cannot_tell(
                f"{route.programme.code}: {route.doubt}.", route.missing
            )
    codes = ", ".join(container.programmes) or "none"
    return PROGRAMME.not_met(
        f"None of the cycles that serve the instrument is validated for it (only: {codes})."
    )


def filter_finding(container: Container, way: Route) -> Finding:
    """No cellulose filter in hydrogen peroxide: it takes up the peroxide.

    Asked of the way that is taken. A filter whose material is not on record, or is none of
    the known ones, cannot be told. Source: packaging guidance as restated; SF2S good practice.
    """
    if way.method is not Method.H2O2:
        return FILTER.does_not_apply(f"It goes through {way.method.words}, not hydrogen peroxide.")
    material = container.filter_material
    if material is None:
        return FILTER.cannot_tell(
            "What its filter is made of is not on record: cellulose takes up the peroxide.",
            "filter_material",
        )
    if material in CELLULOSE:
        return FILTER.not_met(f"Its filter ({material.words}) takes up the peroxide.")
    return FILTER.met(f"Its filter ({material.words}) is no cellulose.")


def plan_finding(box: Box, container: Container, policy: Policy, own: bool = True) -> Finding:
    """Length and width (mm) in the container's, at any angle, with the gap around; equal is met.

    The gap is added to the contents and once to the container. Unknown sizes: not met where
    the known side alone is too much, else cannot tell. Source: Carver 1957; Wetzel 2000.
    """
    gap = policy.number("basket_gap_mm")
    rule = Rule("plan", f"{PLAN_SOURCE}; {policy.source('basket_gap_mm')}")
    long, wide = container.inner_length_mm, container.inner_width_mm
    if long is None or wide is None:
        missing = tuple(name for name in ("inner_length_mm", "inner_width_mm")
                        if getattr(container, name) is None)  # fmt: skip
        return rule.cannot_tell("The inner size of this container is not on record.", *missing)
    sides = [side for side in (box.length_mm, box.width_mm) if side is not None]
    longer, shorter = max(sides, default=0.0), min(sides) if len(sides) == 2 else 0.0
    if shorter > min(long, wide) + CLOSE_MM:
        figure, limit = shorter, min(long, wide)
    else:
        figure = longer
        limit = max(longest_at_any_angle(shorter + gap, long + gap, wide + gap) - gap,
                    max(long, wide))  # fmt: skip
    if len(sides) < 2 and figure <= limit + CLOSE_MM:
        return _not_measured(rule, box, own, "length_mm", "width_mm")
    return rule.at_most(
        figure,
        limit,
        "mm",
        met="{figure} long, and {limit} goes in at the most at this width, turned as need be.",
        not_met="Does not go in at any angle: {figure}, at most {limit}.",
    )


def _not_measured(rule: Rule, box: Box, own: bool, *names: str) -> Finding:
    missing = ("size",) if own else [f"pack.{n}" for n in names if getattr(box, n) is None]
    return rule.cannot_tell("Not every size is on record: measure it as it will lie.", *missing)


def height_finding(box: Box, container: Container, policy: Policy, own: bool = True) -> Finding:
    """Height and the free room below the lid, in the inner height (mm); equal is met.

    An unknown height on either side cannot be told. Source: the policy's clearance.
    """
    free = policy.number("rim_clearance_mm")
    rule = Rule("height", policy.source("rim_clearance_mm"))
    if container.inner_height_mm is None:
        return rule.cannot_tell(
            "The inner height of this container is not on record.", "inner_height_mm"
        )
    if box.height_mm is None:
        return _not_measured(rule, box, own, "height_mm")
    return rule.at_most(
        box.height_mm + free,
        container.inner_height_mm,
        "mm",
        met="{figure} of height needed ({free} of it free below the lid), {limit} there.",
        not_met="Too high: {figure} needed ({free} of it free below the lid), {limit} there.",
        amounts=in_mm(free=free),
    )


def rated_weight_finding(loaded: Weighing, container: Container) -> Finding:
    """Contents and container together (g) against the maker's limit; equal is met.

    An unknown rating, tare or contents weight cannot be told, unless what is known is
    already over. Source: the container maker's IFU.
    """
    rule = Rule("rated weight", CONTENTS_WEIGHT.source)
    if container.rated_g is None:
        return rule.cannot_tell(
            "What this container may weigh when loaded is not on record: read its IFU.",
            "rated_g",
            unit="g",
        )
    return weight_finding(rule, loaded, container.rated_g, "loaded container")


def load_share(container: Container, policy: Policy) -> float | None:
    """The container's part of one sterilization unit, at most the whole; None: not measured.

    By the policy's reading, of its outer size where all of it is on record, else its inner.
    """
    reading = policy.word("load_limit_reading")
    if reading == "not divided":
        return 1.0
    names = ("length", "width", "height") if reading == "by volume" else ("length", "width")
    for side in ("outer", "inner"):
        sizes = [getattr(container, f"{side}_{name}_mm") for name in names]
        if None not in sizes:
            unit = math.prod(policy.number(f"load_unit_{name}_mm") for name in names)
            return min(1.0, math.prod(sizes) / unit)
    return None


def container_load_finding(load: Weighing, container: Container, policy: Policy) -> Finding:
    """Load (g) against the limit of one sterilization unit, in proportion to the container.

    A container that is not measured: not met where the load is over the whole limit, else
    cannot tell. Source: the policy's own (prEN 868-8, DIN 58953-9).
    """
    share = load_share(container, policy)
    finding = load_finding(load, policy, 1.0 if share is None else share)
    if share is None and finding.status is Status.MET:
        words = "Its load limit goes by its size, which is not on record: measure it."
        missing = ("inner_length_mm", "inner_width_mm")
        return Rule(finding.rule, finding.source).cannot_tell(words, *missing, unit="g")
    if finding.limit is None or share in (None, 1.0):
        return finding
    reading = policy.word("load_limit_reading")
    return replace(
        finding,
        text=f"{finding.text} The container is {{share}} of one sterilization unit, {reading}.",
        source=f"{finding.source}; {policy.source('load_limit_reading')}",
        amounts={**finding.amounts, "share": (share or 0.0, "ratio")},
    )


def _at_an_angle(box: Box, container: Container) -> bool:
    sides = (box.length_mm, box.width_mm, container.inner_length_mm, container.inner_width_mm)
    if None in sides:
        return False
    length, width, long, wide = (side or 0.0 for side in sides)
    return max(length, width) > max(long, wide) + CLOSE_MM


def _details(
    box: Box, container: Container, loaded: Weighing, usable: tuple[Route, ...], policy: Policy
) -> dict[str, Any]:
    """Programmes that serve, how it lies, and the loaded weight where it is known (g)."""
    return {
        "programmes": [route.programme.code for route in usable if route.programme],
        "lies": "at an angle" if _at_an_angle(box, container) else "straight",
        **gross_details(loaded),
        "gap_mm": policy.number("basket_gap_mm"),
    }


def _cautions(box: Box, container: Container, policy: Policy) -> Iterator[Caution]:
    yield NEW_FILTER
    words = "Baskets and accessories are not counted: weigh the container as it goes in."
    yield Caution(words, policy.source("gross_limit_g"))
    if _at_an_angle(box, container):
        yield Caution("It lies at an angle: nothing else goes in that layer.", PLAN_SOURCE)

"""Rigid containers: room in plan at any angle, height below the lid, weight, programmes.

A rectangle that is longer than the container may still go in at an angle; how long it may
be is known exactly (Carver 1957; Wetzel, Mathematics Magazine 73, 2000). Real instruments
have width and reach less far than the bare diagonal.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from assembly.rules.facts.instruments import Box
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import (
    CLOSE_MM,
    CLOSE_RATIO,
    Candidate,
    Caution,
    Finding,
    Status,
    at_most,
    cannot_tell,
)
from assembly.rules.kinds.pouches import material_order
from assembly.rules.limits.handling import allowed_finding, sharp_finding
from assembly.rules.limits.weights import (
    RATING_SOURCE,
    Piece,
    Weighing,
    gross_finding,
    load_finding,
    net_finding,
    weigh,
    weight_finding,
)
from assembly.rules.methods.routes import Route, Routes
from assembly.rules.policy.values import Policy
from catalog.vocabulary import FILTER_NAMES, METHOD_NAMES, Filter, Kind, Method

PLAN_SOURCE = "rectangle in a rectangle (Carver 1957; Wetzel, Math. Mag. 73, 2000)"
PROGRAMME_SOURCE = "the container maker's IFU"
FILTER_SOURCE = "packaging guidance as restated; SF2S good practice"
CELLULOSE = (Filter.PAPER, Filter.TEXTILE)
TARE = "the container"


def fits_at_any_angle(p: float, q: float, long: float, wide: float) -> bool:
    """Whether a rectangle ``p`` x ``q`` goes into ``long`` x ``wide``, turned as need be.

    All in one unit; the order of the sides does not matter; equal fits. Exact in both
    directions. Source: Carver 1957; Wetzel, Mathematics Magazine 73 (2000).

    >>> fits_at_any_angle(520, 20, 480, 250), fits_at_any_angle(530, 20, 480, 250)
    (True, False)
    """
    p, q = max(p, q), min(p, q)
    long, wide = max(long, wide), min(long, wide)
    if q > wide + CLOSE_MM:
        return False
    if p <= long + CLOSE_MM:
        return True
    return ((long + wide) / (p + q)) ** 2 + ((long - wide) / (p - q)) ** 2 >= 2 - CLOSE_RATIO


def longest_at_any_angle(q: float, long: float, wide: float) -> float:
    """The longest rectangle of width ``q`` that goes into ``long`` x ``wide`` at some angle.

    0 where ``q`` is wider than the container. Found by halving, to a thousandth.

    >>> round(longest_at_any_angle(20, 480, 250), 1), round(longest_at_any_angle(0, 480, 250), 1)
    (525.2, 541.2)
    """
    if q > min(long, wide) + CLOSE_MM:
        return 0.0
    least, most = max(long, wide), math.hypot(long, wide)
    while most - least > CLOSE_MM / 10:
        middle = (least + most) / 2
        if fits_at_any_angle(middle, q, long, wide):
            least = middle
        else:
            most = middle
    return least


def container_candidates(question: Question, routes: Routes, policy: Policy) -> list[Candidate]:
    """Every container in stock. What goes in is the question's pack, else the instrument."""
    return [
        container_candidate(question, supply, routes, policy)
        for supply in question.supplies
        if isinstance(supply, Container)
    ]


def container_candidate(
    question: Question, container: Container, routes: Routes, policy: Policy
) -> Candidate:
    """Every rule for one instrument in one container, in the order they are read."""
    instrument, box = question.instrument, question.pack or question.instrument.box
    contents = Piece(name=instrument.name, quantity=1, weight_g=instrument.weight_g)
    net = weigh([contents])
    loaded = weigh([contents, Piece(name=TARE, quantity=1, weight_g=container.tare_g)])
    usable = usable_routes(container, routes)
    own = question.pack is None
    findings = (
        allowed_finding(instrument, Kind.CONTAINER),
        programme_finding(container, routes, question),
        sharp_finding(instrument, Kind.CONTAINER),
        plan_finding(box, container, policy, own),
        height_finding(box, container, policy, own),
        rated_weight_finding(loaded, container),
        net_finding(net, policy),
        load_finding(net, policy),
        _tare_named(gross_finding(loaded, policy), container),
    )
    return Candidate(
        kind=str(Kind.CONTAINER),
        code=container.code,
        findings=findings,
        order=material_order(_volume(container), container.cost, container.code),
        details=_details(box, container, loaded, usable, policy),
        cautions=_cautions(box, container, policy),
    )


def _volume(container: Container) -> float | None:
    sizes = (container.inner_length_mm, container.inner_width_mm, container.inner_height_mm)
    return None if None in sizes else math.prod(size for size in sizes if size is not None)


def usable_routes(container: Container, routes: Routes) -> tuple[Route, ...]:
    """The accepted programmes that the container's maker has validated."""
    validated = container.programmes or ()
    return tuple(
        route for route in routes.accepted if route.programme and route.programme.code in validated
    )


def programme_finding(container: Container, routes: Routes, question: Question) -> Finding:
    """Whether a programme that is run serves both the instrument and this container.

    A container goes only through programmes its maker has validated. Unknown cycles,
    programmes run or programmes validated cannot be told. Source: the container maker's IFU.
    """
    rule = "programme"
    if not routes.known:
        return cannot_tell(rule, "No cycle is on record for this instrument: read its IFU.",
                           "the instrument maker's IFU", missing=("cycles",))  # fmt: skip
    if question.programmes is None:
        return cannot_tell(
            rule,
            "A container still needs its validated programme: say which programmes are run.",
            PROGRAMME_SOURCE,
            missing=("question.programmes",),
        )
    if not routes.accepted and not routes.undecided:
        return Finding(rule, Status.NOT_MET, routes.refusal, routes.source)
    if container.programmes is None:
        return cannot_tell(
            rule,
            "The programmes validated for this container are not on record: read its IFU.",
            PROGRAMME_SOURCE,
            missing=("programmes",),
        )
    usable = usable_routes(container, routes)
    if usable:
        return Finding(rule, Status.MET, f"Validated for {usable[0]}.", PROGRAMME_SOURCE)
    for route in routes.undecided:
        if route.programme and route.programme.code in container.programmes:
            return cannot_tell(rule, f"{route.programme.code}: {route.doubt}.", routes.source,
                               missing=(route.missing,))  # fmt: skip
    codes = ", ".join(container.programmes) or "none"
    return Finding(
        rule,
        Status.NOT_MET,
        f"None of the programmes that serve the instrument is validated for it (only: {codes}).",
        PROGRAMME_SOURCE,
    )


def filter_finding(container: Container, way: Route) -> Finding:
    """No cellulose filter in hydrogen peroxide: it takes up the peroxide.

    Asked of the way that is taken. A filter whose material is not on record, or is none of
    the known ones, cannot be told. Source: packaging guidance as restated; SF2S good practice.
    """
    if way.method is not Method.H2O2:
        return Finding("filter", Status.DOES_NOT_APPLY,
                       f"It goes through {METHOD_NAMES[way.method]}, not hydrogen peroxide.",
                       FILTER_SOURCE)  # fmt: skip
    material = container.filter_material
    if material is None:
        return cannot_tell(
            "filter",
            "What its filter is made of is not on record: cellulose takes up the peroxide.",
            FILTER_SOURCE,
            missing=("filter_material",),
        )
    words = FILTER_NAMES[material]
    if material in CELLULOSE:
        return Finding("filter", Status.NOT_MET, f"Its filter ({words}) takes up the peroxide.",
                       FILTER_SOURCE)  # fmt: skip
    return Finding("filter", Status.MET, f"Its filter ({words}) is no cellulose.", FILTER_SOURCE)


def plan_finding(box: Box, container: Container, policy: Policy, own: bool = True) -> Finding:
    """Length and width (mm) in the container's, at any angle, with the gap around; equal is met.

    The gap is added to the contents and once to the container. Unknown sizes: not met where
    the known side alone is too much, else cannot tell. Source: Carver 1957; Wetzel 2000.
    """
    gap = policy.number("basket_gap_mm")
    source = f"{PLAN_SOURCE}; {policy.source('basket_gap_mm')}"
    long, wide = container.inner_length_mm, container.inner_width_mm
    if long is None or wide is None:
        missing = tuple(name for name in ("inner_length_mm", "inner_width_mm")
                        if getattr(container, name) is None)  # fmt: skip
        return cannot_tell("plan", "The inner size of this container is not on record.", source,
                           missing=missing)  # fmt: skip
    sides = [side for side in (box.length_mm, box.width_mm) if side is not None]
    longer, shorter = max(sides, default=0.0), min(sides) if len(sides) == 2 else 0.0
    if shorter > min(long, wide) + CLOSE_MM:
        figure, limit = shorter, min(long, wide)
    else:
        figure = longer
        limit = max(longest_at_any_angle(shorter + gap, long + gap, wide + gap) - gap,
                    max(long, wide))  # fmt: skip
    if len(sides) < 2 and figure <= limit + CLOSE_MM:
        return _not_measured("plan", box, own, ("length_mm", "width_mm"), source)
    return at_most(
        "plan",
        figure=figure,
        limit=limit,
        unit="mm",
        met="{figure} long, and {limit} goes in at the most at this width, turned as need be.",
        not_met="Does not go in at any angle: {figure}, at most {limit}.",
        source=source,
    )


def _not_measured(rule: str, box: Box, own: bool, names: tuple[str, ...], source: str) -> Finding:
    missing = ("size",) if own else [f"pack.{n}" for n in names if getattr(box, n) is None]
    return cannot_tell(rule, "Not every size is on record: measure it as it will lie.", source,
                       missing=missing)  # fmt: skip


def height_finding(box: Box, container: Container, policy: Policy, own: bool = True) -> Finding:
    """Height and the free room below the lid, in the inner height (mm); equal is met.

    An unknown height on either side cannot be told. Source: the policy's clearance.
    """
    free = policy.number("rim_clearance_mm")
    source = policy.source("rim_clearance_mm")
    if container.inner_height_mm is None:
        return cannot_tell("height", "The inner height of this container is not on record.",
                           source, missing=("inner_height_mm",))  # fmt: skip
    if box.height_mm is None:
        return _not_measured("height", box, own, ("height_mm",), source)
    return at_most(
        "height",
        figure=box.height_mm + free,
        limit=container.inner_height_mm,
        unit="mm",
        met="{figure} of height needed ({free} of it free below the lid), {limit} there.",
        not_met="Too high: {figure} needed ({free} of it free below the lid), {limit} there.",
        source=source,
        amounts={"free": (free, "mm")},
    )


def rated_weight_finding(loaded: Weighing, container: Container) -> Finding:
    """Contents and container together (g) against the maker's limit; equal is met.

    An unknown rating, tare or contents weight cannot be told, unless what is known is
    already over. Source: the container maker's IFU.
    """
    if container.rated_g is None:
        return cannot_tell(
            "rated weight",
            "What this container may weigh when loaded is not on record: read its IFU.",
            RATING_SOURCE,
            missing=("rated_g",),
            unit="g",
        )
    finding = weight_finding(
        "rated weight", loaded, container.rated_g, "loaded container", RATING_SOURCE
    )
    return _tare_named(finding, container)


def _tare_named(finding: Finding, container: Container) -> Finding:
    """Names the container's own weight among what is missing, where it is."""
    if finding.status is not Status.CANNOT_TELL or container.tare_g is not None:
        return finding
    return replace(finding, missing=(*finding.missing, "tare_g"))


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
        "gross_g": None if loaded.unknown else loaded.known,
        "gap_mm": policy.number("basket_gap_mm"),
    }


def _cautions(box: Box, container: Container, policy: Policy) -> tuple[Caution, ...]:
    cautions = [
        Caution("A new filter each cycle, covering every hole.", "SF2S good practice"),
        Caution(
            "Baskets and accessories are not counted: weigh the container as it goes in.",
            policy.source("gross_limit_g"),
        ),
    ]
    if _at_an_angle(box, container):
        cautions.append(
            Caution("It lies at an angle: nothing else goes in that layer.", PLAN_SOURCE)
        )
    if policy.number_or_none("load_limit_g") is not None:
        cautions.append(
            Caution(
                "The load limit is that of a container of one sterilization unit: smaller ones "
                "hold less, in proportion.",
                policy.source("load_limit_g"),
            )
        )
    return tuple(cautions)

"""Rules about all lines of a set: each is the rule for one instrument, asked of all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.facts.checks import derived
from assembly.rules.facts.instruments import SIZES, Box, Instrument
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import CLOSE_MM, CLOSE_RATIO, Finding, Rule, Status, in_mm, worst
from assembly.rules.kinds.containers import container_load_finding, rated_weight_finding
from assembly.rules.kinds.lying import ON_ITS_SIDE, Lying, ways_to_lie
from assembly.rules.limits.handling import ALLOWED, SHARP, allowed_finding, sharp_finding
from assembly.rules.limits.plans import fits_at_any_angle
from assembly.rules.limits.weights import (
    CONTENTS_WEIGHT,
    Weighing,
    gross_finding,
    net_finding,
    rating_finding,
    reading_finding,
    weight_finding,
    with_packaging,
)
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

PIECES = Rule("each piece fits", "rectangle in rectangle (Carver 1957; Wetzel 2000)")


def set_allowed_finding(instruments: Sequence[Instrument], kind: Kind) -> Finding:
    """The first line whose IFU forbids this kind of package, else that none does."""
    found = [allowed_finding(one, kind) for one in instruments]
    for instrument, finding in zip(instruments, found, strict=True):
        if finding.status is Status.NOT_MET:
            return finding.about(instrument.name)
    return (
        found[0]
        if found
        else ALLOWED.by("the instrument makers' IFUs").does_not_apply("No lines yet.")
    )


def set_sharp_finding(instruments: Sequence[Instrument], kind: Kind) -> Finding:
    """The first line whose point would cut the package, or whose protector is not on record."""
    found = [(sharp_finding(one, kind), one.name) for one in instruments if one.sharp]
    if found:
        finding = worst(one for one, _ in found)
        if finding.status in (Status.NOT_MET, Status.CANNOT_TELL):
            return finding.about(next(name for one, name in found if one is finding))
        return finding if kind is Kind.CONTAINER else SHARP.met("Every sharp point is covered.")
    unknown = any(one.sharp is None for one in instruments)
    words = "No line is on record as sharp"
    words += ", and of some it is not on record: look at them." if unknown else "."
    return SHARP.does_not_apply(words)


def pouches_inside_finding(question: SetQuestion) -> Finding:
    """No film pouch inside a set unless its maker validated that and the site tested it."""
    rule = Rule("pouches inside", "ANSI/AAMI ST79 as reported")
    if not question.pouches_inside:
        return rule.does_not_apply("No film pouch lies in this set.")
    if question.pouches_validated:
        return rule.met("Film pouches inside: validated by their maker and tested here.")
    words = "Film pouches inside a set are refused unless validated by their maker and tested here."
    return rule.not_met(words)


def pieces_in_finding(
    lines: Sequence[SetLine], inside: Box, code: str, free_above: float, policy: Policy
) -> Finding:
    """Whether each line's instrument lies in a basket or container, at any angle, in mm.

    What is hinged lies open, what may be turned on its side where that serves. Not met names
    the first that cannot; an unknown size, and a width open that is only reckoned, cannot be
    told. Whether all lie in it together is seen at the bench; where their areas prove that they
    cannot in one layer, it is said. Source: rectangle in rectangle (Carver 1957; Wetzel 2000).
    """
    if inside.missing:
        return PIECES.cannot_tell(
            f"The inner size of {code} is not on record.",
            *[f"{code}.{name}" for name in inside.missing],
        )
    instruments = [line.instrument for line in lines]
    found = [_lies(one, inside, code, free_above, policy) for one in instruments]
    if against := [one for one, _ in found if one]:
        return worst(against)
    unknown = [one.name for one in instruments if None in one.box.sizes]
    if unknown:
        words = f"Not every size is on record: measure {', '.join(unknown)}."
        return PIECES.cannot_tell(words, "size")
    words = f"Each piece by itself lies in {code}, clear of the rim. "
    if turned := [way.item.name for _, way in found if way.how == ON_ITS_SIDE]:
        words += f"Lay on its side: {', '.join(dict.fromkeys(turned))}. "
    share = _floor_share(lines, inside)
    if share > 1 + CLOSE_RATIO:
        words += "By their areas they cannot all lie flat in one layer: they take {share} of its "
        words += "floor. See at the bench whether they lie well in several."
    else:
        words += "Whether all lie in it together is seen at the bench."
    return PIECES.met(words, amounts={"share": (share, "ratio")})


def _floor_share(lines: Sequence[SetLine], inside: Box) -> float:
    """The least areas of all pieces as a share of the floor; all sizes are known."""
    areas = (line.quantity * (floor_mm2(line.instrument) or 0.0) for line in lines)
    return sum(areas) / ((inside.length_mm or 0.0) * (inside.width_mm or 0.0))


def floor_mm2(one: Instrument) -> float | None:
    """The least floor that a piece takes (mm²); None where a size is unknown.

    What is hinged stands beside its like on a stringer and takes no more than its thickness.
    """
    length, width, height = one.box.sizes
    if length is None or width is None or height is None:
        return None
    return length * (min(width, height) if one.opens else width)


@kept
def _lies(
    instrument: Instrument, inside: Box, code: str, free_above: float, policy: Policy
) -> tuple[Finding | None, Lying]:
    gap = policy.number("basket_gap_mm")
    against_one = partial(_does_not_lie, inside=inside, code=code, free_above=free_above, gap=gap)
    return _best_way(instrument, against_one, policy)


def _best_way(
    instrument: Instrument, against: Callable[[Instrument], Finding | None], policy: Policy
) -> tuple[Finding | None, Lying]:
    """The first way in which an instrument lies there, else what speaks against the best.

    Where only a width open that was reckoned is too much, it is to be measured.
    """
    found = []
    for way in ways_to_lie(instrument, policy):
        finding = against(way.item)
        if finding is None:
            return None, way
        closed = way.closed_mm and derived(way.item, width_mm=way.closed_mm)
        if closed and against(closed) is None:
            open_ = replace(finding, status=Status.CANNOT_TELL, missing=("width_open_mm",))
            finding = way.said(replace(open_, text=f"{open_.text} Measure it open."))
        found.append((finding, way))
    return min(found, key=lambda one: one[0].status is Status.NOT_MET)


def _does_not_lie(
    instrument: Instrument, inside: Box, code: str, free_above: float, gap: float
) -> Finding | None:
    """The finding that an instrument is too high or too large in plan, where that is certain."""
    box, room = instrument.box, (inside.height_mm or 0.0) - free_above
    if box.height_mm is not None and box.height_mm > room + CLOSE_MM:
        words = f"{instrument.name} stands {{height}} high; {code} has {{room}}."
        return PIECES.not_met(words, amounts=in_mm(height=box.height_mm, room=room))
    if box.length_mm is None or box.width_mm is None:
        return None
    short, long = sorted((box.length_mm, box.width_mm))
    narrow, wide = sorted((inside.width_mm or 0.0, inside.length_mm or 0.0))
    if long <= wide + CLOSE_MM and short <= narrow + CLOSE_MM:
        return None
    if fits_at_any_angle(long + gap, short + gap, wide + gap, narrow + gap):
        return None
    words = f"{instrument.name} ({{long}} by {{short}}) lies in {code} at no angle."
    return PIECES.not_met(words, amounts=in_mm(long=long, short=short))


@kept
def outside(basket: Basket, policy: Policy) -> Box:
    """What a basket takes up (mm): its outer size, else its inner and the policy's wall."""
    wall = policy.number("basket_wall_mm")
    measured, reckoned = Box.of(basket, "outer_"), basket.box.plus(2 * wall, 2 * wall, wall)
    known = zip(SIZES, measured.sizes, reckoned.sizes, strict=True)
    return Box(**{name: outer or inner for name, outer, inner in known})


def basket_in_finding(basket: Basket, inside: Box, code: str, policy: Policy) -> Finding:
    """The basket by its outer size in the container, straight, clear of the lid, in mm.

    An outer size that is not on record is reckoned from the inner one, and said to be.
    Source: the policy's clearance and wall.
    """
    rule = Rule("basket fits", policy.source("rim_clearance_mm", "basket_wall_mm"))
    takes = outside(basket, policy)
    if takes.missing or inside.missing:
        return rule.cannot_tell(
            f"A size of {basket.code} or {code} is not on record.", f"{basket.code}.size"
        )
    needs = sorted((takes.length_mm or 0.0, takes.width_mm or 0.0))
    has = sorted((inside.length_mm or 0.0, inside.width_mm or 0.0))
    height = (takes.height_mm or 0.0) + policy.number("rim_clearance_mm")
    fits = all(a <= b + CLOSE_MM for a, b in zip(needs, has, strict=True))
    fits = fits and height <= (inside.height_mm or 0.0) + CLOSE_MM
    words = f"Basket {basket.code} {'stands' if fits else 'does not stand'} in {code}"
    if Box.of(basket, "outer_").missing:
        words += " (its outer size is reckoned with walls of {wall}: measure it)"
    said = rule.met if fits else rule.not_met
    return said(f"{words}.", amounts=in_mm(wall=policy.number("basket_wall_mm")))


def basket_weight_finding(net: Weighing, basket: Basket) -> Finding:
    """Contents of a basket (g) against its rating; either unknown cannot be told.

    Source: the basket maker's IFU.
    """
    rule = Rule("basket weight", "the basket maker's IFU")
    if basket.rated_g is None:
        return rule.cannot_tell(
            f"What basket {basket.code} may hold is not on record: read its IFU.",
            f"{basket.code}.rated_g",
            unit="g",
        )
    return weight_finding(rule, net, basket.rated_g, "contents of the basket")


def wrap_rating_finding(gross: Weighing, wrap: Wrap) -> Finding:
    """The pack (g) against what the wrap may hold. Source: the packaging maker's IFU."""
    if wrap.rated_g is None or gross.unknown:
        return rating_finding(None if gross.unknown else gross.known, wrap.rated_g, "wrap")
    return weight_finding(CONTENTS_WEIGHT, gross, wrap.rated_g, "pack")


def gross_of(load: Weighing, supply: Container | Wrap, policy: Policy) -> Weighing:
    """The weights on record added up (g): the load, and what it is packed in."""
    if isinstance(supply, Container):
        return load.plus(supply.code, supply.tare_g, f"{supply.code}.tare_g")
    return with_packaging(load, supply.code, supply.pack_g, policy, wrapped=True)


def weight_findings(
    net: Weighing, load: Weighing, gross: Weighing,
    supply: Container | Wrap, basket: Basket | None, policy: Policy,
) -> Iterator[Finding]:  # fmt: skip
    """Each weight (g) against its limit: basket, net, load, gross, and the supply's rating."""
    if basket is not None:
        yield basket_weight_finding(net, basket)
    yield net_finding(net, policy)
    if isinstance(supply, Container):
        yield container_load_finding(load, supply, policy)
        yield gross_finding(gross, policy)
        yield rated_weight_finding(gross, supply)
    else:
        yield gross_finding(gross, policy, wrapped=True)
        yield wrap_rating_finding(gross, supply)


def set_reading_finding(question: SetQuestion, load: Weighing, policy: Policy) -> Finding:
    """Whether the scale's reading, if there is one, may be that of what is known."""
    if question.reading is None:
        rule = Rule("scale reading", policy.source("scale_error_g"))
        return rule.does_not_apply("No scale was read.")
    weighed = next((one for one in question.supplies if one.code == question.weighed), None)
    packaging = weighed.tare_g if isinstance(weighed, Container) else None
    if isinstance(weighed, Wrap):
        packaging = weighed.pack_g
    expected = load.plus("the packaging", packaging, "weight")
    return reading_finding(question.reading, expected, question.weighed, policy)

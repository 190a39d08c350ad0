"""The published least times beside the cycle that is taken.

The instrument maker's IFU comes first: a cycle shorter than the published one is met where
that IFU itself states it, and not met otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.findings import Finding, Rule, Status
from assembly.rules.methods.accepting import Says, accepts
from assembly.rules.methods.published import Basis, PublishedRow, published_for
from assembly.rules.policy.values import Policy
from catalog.vocabulary import AirRemoval, Method

RULE = Rule("published minimum", "the instrument maker's IFU")
KINDS = (AirRemoval.GRAVITY, AirRemoval.DYNAMIC)


def published_minimum_finding(
    cycle: CycleOption | Programme,
    contents: Contents,
    policy: Policy,
    *,
    stated: Sequence[CycleOption] = (),
) -> Finding:
    """Whether a steam cycle reaches the published least exposure and drying, in minutes.

    ``stated`` are the cycles of the instrument's IFU; a shorter cycle that one of them
    states is met, because the IFU rules. A CycleOption is its own IFU. Equal is met. A
    missing temperature, exposure or drying cannot be told, nor can an unknown air removal
    unless both kinds give the same answer. Source: the row's own.
    """
    if cycle.method is not Method.STEAM:
        return RULE.does_not_apply("Published least times are on record for steam only.")
    if cycle.temperature_c is None:
        return RULE.cannot_tell("The temperature is not on record.", "temperature_c")
    if isinstance(cycle, CycleOption):
        stated = (cycle,)
    kinds = (cycle.air_removal,) if cycle.air_removal in KINDS else KINDS
    asked = _Asked(cycle, contents, stated, policy)
    answers = [_against(asked, cycle.temperature_c, kind) for kind in kinds]
    if len({answer.status for answer in answers}) == 1:
        return answers[0]
    return RULE.by(answers[0].source).cannot_tell(
        "The published least times depend on how the sterilizer removes air: say which.",
        "air_removal",
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    """The cycle that is asked about, what goes through it, and what the IFU states."""

    cycle: CycleOption | Programme
    contents: Contents
    stated: Sequence[CycleOption]
    policy: Policy


def _against(asked: _Asked, temperature_c: float, kind: AirRemoval) -> Finding:
    cycle, item = asked.cycle, asked.contents.item_class
    row = published_for(kind, item, temperature_c)
    holding = published_for(kind, item, temperature_c, Basis.HOLDING)
    by_ifu = []
    for part, given, least, found in _parts(cycle, row, holding):
        if given is None or given >= least:
            continue
        finding = _shorter(asked, part, given, least, found)
        if finding.status is not Status.MET:
            return finding
        by_ifu.append(finding)
    for part, given, _, found in _parts(cycle, row, None):
        if given is None:
            return RULE.by(found.source).cannot_tell(
                f"The {part} is not on record. Published: {found.sentence()}.", f"{part}_min"
            )
    if by_ifu:
        return by_ifu[0]
    if row is None:
        words = f"wrapped {item} is on record at {temperature_c:g} °C with {kind.words}"
        return RULE.by(holding.source if holding else RULE.source).does_not_apply(
            f"No least time for {words}: the instrument's IFU alone counts."
        )
    return RULE.by(row.source).met(f"It reaches the published least times ({row.sentence()}).")


def _parts(
    cycle: CycleOption | Programme, row: PublishedRow | None, holding: PublishedRow | None
) -> Iterable[tuple[str, float | None, float, PublishedRow]]:
    """What is compared: the part, what the cycle gives, the published least and its row."""
    for found in (row, holding):
        if found is not None:
            yield "exposure", cycle.exposure_min, found.exposure_min, found
            if found.drying_from_min is not None:
                yield "drying", cycle.drying_min, found.drying_from_min, found


def _shorter(asked: _Asked, part: str, given: float, least: float, row: PublishedRow) -> Finding:
    """What a cycle below a published time is: met only where the IFU itself states it."""
    published = f"Published: {row.sentence()}."
    rule = RULE.by(f"{RULE.source}; {row.source}")
    below = f"{part} of {given:g} min is below the published {least:g} min"
    answers = {_states(asked, option, part) for option in asked.stated}
    if Says.YES in answers:
        return rule.met(
            f"Its {below}, but the instrument's IFU states this shorter cycle, and the IFU "
            f"rules. {published}"
        )
    if Says.CANNOT_TELL in answers:
        return rule.cannot_tell(
            f"Its {below}, and whether the instrument's IFU states it is not on record. "
            f"{published}",
            "cycles",
        )
    return RULE.by(row.source).not_met(
        f"Too short: its {below}, and the instrument's IFU does not state it. {published}"
    )


def _states(asked: _Asked, option: CycleOption, part: str) -> Says:
    """Whether an IFU's cycle states this one: an IFU silent on drying states no short one."""
    if isinstance(asked.cycle, CycleOption):
        return Says.YES if option is asked.cycle else Says.NO
    answer = accepts(option, asked.cycle, asked.policy, asked.contents)
    if answer.says is Says.YES and part == "drying" and option.drying_min is None:
        return Says.NO
    return answer.says

"""What helps a set to dry, as far as an IFU on record has it: a liner, a cycle that dries longer.

Advice, never a limit: nothing here stops a set or passes it. A longer cycle is one that every rule
of the set takes in the same package: each instrument's IFU, and what the container's maker has
validated. Never beyond an IFU, and not where one says nothing of drying.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from assembly.rules.computing.condensate import Wetting
from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.deciding.sets import decide_set
from assembly.rules.facts.cycles import Programme
from assembly.rules.findings import Show, metric
from assembly.rules.policy.values import Policy

PRACTICE = "common practice, no source"
MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Holder:
    """A basket or container: whether a liner that takes up moisture may lie in it, by its IFU;
    None where that is not on record."""

    code: str
    liner: bool | None = None
    ifu: str = ""


@dataclass(frozen=True, slots=True)
class Longer:
    """Cycles that dry longer than the one that is ``taken`` and that everything takes, the shortest
    first; ``silent`` are the instruments whose IFU says nothing of drying."""

    taken: Programme
    programmes: tuple[Programme, ...] = ()
    silent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Advice:
    """One sentence of advice and where it comes from."""

    words: str
    source: str


def longer_drying(question: SetQuestion, code: str, taken: Programme, policy: Policy) -> Longer:
    """What dries longer than ``taken`` in the package of this ``code``: one decision for each
    cycle that might."""
    silent = tuple(dict.fromkeys(
        line.instrument.name for line in question.lines
        if not any(one.method is taken.method and one.drying_min is not None
                   for one in line.instrument.cycles)
    ))  # fmt: skip
    if silent:
        return Longer(taken, silent=silent)
    serving = []
    others = [one for one in question.programmes or () if _is_longer(one, taken)]
    for one in sorted(others, key=lambda each: (each.drying_min or 0, each.code)):
        recommended = decide_set(replace(question, chosen=one), policy).decision.recommended
        serving += [one] if recommended and recommended.code == code else []
    return Longer(taken, tuple(serving))


def _is_longer(one: Programme, taken: Programme) -> bool:
    """Whether it dries longer by the same method, as hot and with air removed the same way."""
    same = (one.method, one.temperature_c, one.air_removal) == (
        taken.method, taken.temperature_c, taken.air_removal
    )  # fmt: skip
    return same and (one.drying_min or 0) > (taken.drying_min or 0)


def advice(
    found: Wetting, holders: Iterable[Holder], longer: Longer | str, show: Show = metric
) -> list[Advice]:
    """What helps the set to dry, amounts written by ``show``; what nobody knows of it is said as
    well. ``longer`` is in words why no drying can be asked about, where it cannot."""
    said = []
    if one := found.heaviest:
        weight = show(one.weight_g or 0.0, "g")
        said.append(Advice(f"Heaviest piece: {one.name}, {weight}. Spread heavy pieces, lay them "
                           "low, and nothing so that water stands in it.", PRACTICE))  # fmt: skip
    return [*said, *(_liner(one) for one in holders), *_drying(longer)]


def _liner(one: Holder) -> Advice:
    source = one.ifu or "its IFU"
    if one.liner is None:
        return Advice(f"Whether a liner may lie in {one.code} is not on record: read its IFU.",
                      source)  # fmt: skip
    if one.liner:
        return Advice(f"A liner that takes up moisture may lie in {one.code}.", source)
    return Advice(f"No liner in {one.code}: its IFU has none.", source)


def _drying(longer: Longer | str) -> Iterator[Advice]:
    if isinstance(longer, str):
        yield Advice(f"{longer}: no longer drying is proposed.", "the rules of the set")
        return
    source = "the IFUs on record, and what the department runs"
    taken = longer.taken
    if longer.silent:
        names = ", ".join(longer.silent[:MOST_NAMED])
        more = len(longer.silent) - MOST_NAMED
        names += f" and {more} more" if more > 0 else ""
        yield Advice("Longer drying is not proposed: nothing of drying is on record of the IFU of "
                     f"{names}.", source)  # fmt: skip
    elif longer.programmes:
        other, less = longer.programmes[0], f"{taken.drying_min or 0:g}"
        yield Advice(f"{other.code} dries {other.drying_min:g} min, {taken.code} {less}: every IFU "
                     "on record takes it.", source)  # fmt: skip
    else:
        yield Advice(f"No cycle of the department that dries longer than {taken.code} serves the "
                     "whole set.", source)  # fmt: skip

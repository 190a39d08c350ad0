"""What a set is split into trays by: what one tray may hold, and what stays together.

A tray is what the set is packed in: each part has its basket and its container or wrap. What
they weigh comes off every limit; of what is left the least rules. Room is a sum of areas over
layers, the policy's share of each, never a plan of how things lie.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import floor_mm2, gross_of, weight_findings
from assembly.rules.facts.checks import LARGEST_G
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import Finding, Status, metric
from assembly.rules.limits.weights import weigh
from assembly.rules.policy.values import Policy
from assembly.rules.splitting.trays import Unit, fits_alone, tray_area_mm2


@dataclass(frozen=True, slots=True)
class TrayLimit:
    """What one tray may hold: ``room_g`` of instruments beside ``packaging_g``.

    ``rule`` and ``source`` say which limit comes first. ``area_mm2`` is over all ``layers``, None
    where it cannot be asked; ``said``: a person said how many those are. ``unknown`` names
    packaging that is to be weighed first, ``doubts`` are sentences on what else nobody knows.
    """

    code: str
    room_g: float
    packaging_g: float
    rule: str
    source: str
    area_mm2: float | None = None
    layers: int = 0
    said: bool = False
    unknown: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def gross_g(self) -> float:
        """The limit as a gross weight: instruments and packaging together (g)."""
        return self.room_g + self.packaging_g


def tray_limit(
    question: SetQuestion, supply: Container | Wrap, layers: int | None, policy: Policy
) -> TrayLimit:
    """What a tray of the set may hold in ``supply``, by the rules of its decision (g, mm²), lying
    in as many ``layers`` as a person said; None: as many as the whole set takes.

    A wrap that was never weighed leaves the policy's share of the gross limit, beyond which the
    decision asks for its weight. Sources: those of the limits.
    """
    nothing, basket = weigh([]), question.basket
    load = nothing.plus(basket.code, basket.tare_g, "tare_g") if basket else nothing
    gross = gross_of(load, supply, policy)
    found = list(weight_findings(nothing, load, gross, supply, basket, policy))
    doubts = [one.sentence() for one in found if one.status is Status.CANNOT_TELL]
    share = policy.number("near_limit_share") if gross.uncounted else 1.0
    rooms = [(_room_g(one, share), one) for one in found if one.limit is not None]
    room, first = min(rooms, key=lambda pair: pair[0], default=(LARGEST_G, None))
    doubts += [f"The weight of {name} is not on record." for name in gross.uncounted]
    area, many, doubt = _layers(question, supply, layers, policy)
    return TrayLimit(
        supply.code, room, gross.known, first.rule if first else "", first.source if first else "",
        area, many, layers is not None, gross.unknown,
        (*doubts, *([doubt] if doubt else [])),
    )  # fmt: skip


def _room_g(finding: Finding, share: float) -> float:
    limit, known = finding.limit or 0.0, finding.amounts["known"][0]
    return (share if finding.rule == "gross weight" else 1.0) * limit - known


def _floor(question: SetQuestion, supply: Container | Wrap) -> tuple[Box, str]:
    """What the pieces lie in, and its code."""
    if question.basket is not None:
        return question.basket.box, question.basket.code
    return (supply.inside if isinstance(supply, Container) else Box()), supply.code


def _layers(
    question: SetQuestion, supply: Container | Wrap, said: int | None, policy: Policy
) -> tuple[float | None, int, str]:
    """Area of all layers (mm²), how many, and why it cannot be asked where a person said how many.

    Nobody said: as many as the whole set takes, which lies in one such tray today.
    """
    inside, code = _floor(question, supply)
    if inside.length_mm is None or inside.width_mm is None:
        why = f"The inner size of {code} is not on record: whether a tray has room was not asked."
        return None, 0, why if said else ""
    one = tray_area_mm2(inside.length_mm, inside.width_mm, 1, policy)
    takes = sum(line.quantity * (floor_mm2(line.instrument) or 0.0) for line in question.lines)
    layers = said or max(1, math.ceil(takes / one))
    return one * layers, layers, ""


@dataclass(frozen=True, slots=True)
class Kept:
    """Pieces that stay together: pairs of a line's place and a count, what they weigh and take."""

    name: str
    pieces: tuple[tuple[int, int], ...]
    unit: Unit


class Keeping:
    """The lines of a set as units: whole sections, lines where one is too big, then pieces."""

    def __init__(self, lines: Sequence[SetLine], limit: TrayLimit, policy: Policy) -> None:
        self.lines, self.limit = lines, limit
        self.most_g = policy.number("unweighed_most_g")
        self.unit_of = [(line.instrument.weight_g, floor_mm2(line.instrument)) for line in lines]

    def units(self, places: Sequence[int], finest: bool = False) -> tuple[list[Kept], list[str]]:
        """What of ``places`` stays together, and the names of what had to be parted for it.

        A section is what its title names; lines without a title are each for itself.
        """
        found: list[Kept] = []
        parted: list[str] = []
        sections: dict[str, list[int]] = {}
        for place in places:
            sections.setdefault(self.lines[place].section, []).append(place)
        for title, part in sections.items():
            whole = self.kept(title, [(n, self.lines[n].quantity) for n in part])
            if title and not finest and not self.too_big(whole):
                found.append(whole)
                continue
            if title and not finest:
                parted.append(title)
            for place in part:
                found += self._line(place, finest, parted)
        return found, parted

    def _line(self, place: int, finest: bool, parted: list[str]) -> list[Kept]:
        line = self.lines[place]
        whole = self.kept(line.instrument.name, [(place, line.quantity)])
        if line.quantity == 1 or not (finest or self.too_big(whole)):
            return [whole]
        if not finest:
            parted.append(line.instrument.name)
        return [self.kept(line.instrument.name, [(place, 1)])] * line.quantity

    def kept(self, name: str, pieces: Sequence[tuple[int, int]]) -> Kept:
        """Pieces as one unit: an unknown weight counts at the policy's most, an area not at all."""
        weight = area = 0.0
        known = True
        for place, count in pieces:
            each, takes = self.unit_of[place]
            known = known and each is not None
            weight += count * (self.most_g if each is None else each)
            area += count * (takes or 0.0)
        unit = Unit(name=name, weight_g=weight if known else None, most_g=weight, area_mm2=area)
        return Kept(name, tuple(pieces), unit)

    def too_big(self, kept: Kept) -> bool:
        """Whether no tray can hold it by itself."""
        return not fits_alone(kept.unit, self.limit.room_g, self.limit.area_mm2)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What nobody knows of the lines, in sentences."""
        bare = [line.instrument.name for line in self.lines if line.instrument.weight_g is None]
        flat = [
            line.instrument.name
            for line, (_, area) in zip(self.lines, self.unit_of, strict=True)
            if area is None
        ]
        most = metric(self.most_g, "g")
        words = []
        if bare:
            words.append(f"Not weighed, and counted at {most} each: {_names(bare)}. Weigh first.")
        if flat and self.limit.said and self.limit.area_mm2 is not None:
            words.append(f"Not measured, and not counted in the room: {_names(flat)}.")
        return tuple(words)


def _names(names: Sequence[str]) -> str:
    return ", ".join(dict.fromkeys(names))

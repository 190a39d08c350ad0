"""The split of a set that is too heavy, or has no common cycle: its trays, and what is proved.

By cycle only where IFUs truly clash; then by weight and room into the fewest trays, sections
whole, the heaviest as light as can be. An answer that leans on what nobody knows is provisional
and never called proved. Sources: those of its limits; the makers' IFUs; the search is ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import product
from string import ascii_uppercase
from typing import Any

from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import Show, metric
from assembly.rules.policy.values import Policy
from assembly.rules.splitting.cycle_groups import CycleGroup, CycleGroups, cycle_groups
from assembly.rules.splitting.set_parts import Keeping, Kept, TrayLimit, tray_limit
from assembly.rules.splitting.trays import (
    PAIR,
    TraySplit,
    Unit,
    fewest_trays,
    least_trays,
    split,
)

MOST_PARTS = len(ascii_uppercase)
EVEN_G = 1.0
"""No scale at a bench tells trays apart that are closer than this (common practice, no source)."""
MOST_MOVED = 6
"""So many of the heaviest units that several cycles serve are tried in each of their groups."""
MOST_TRIED = 8
"""So many ways to place them are gone into, where they may save a tray."""


class SetSplitOutcome(StrEnum):
    """How the split of a set ends."""

    SPLIT = "split"
    ONE = "one tray holds it"
    TOO_BIG = "too big for any tray"
    UNKNOWN = "weigh first"
    NO_PACKAGING = "what it is packed in is not on record"
    EMPTY = "nothing to split"


@dataclass(frozen=True, slots=True)
class Part:
    """One tray: pairs of a line's place and a count, in the order of the count sheet.

    ``gross_g`` is with its own packaging. ``cycle`` is in words, "" where none is certain.
    """

    letter: str
    pieces: tuple[tuple[int, int], ...]
    gross_g: float
    area_share: float | None
    cycle: str
    orphans: bool = False

    @property
    def count(self) -> int:
        """How many pieces lie in it."""
        return sum(count for _, count in self.pieces)

    @property
    def pieces_words(self) -> str:
        """How many pieces, in words."""
        return f"{self.count} piece{'s' if self.count > 1 else ''}"

    @property
    def cycle_words(self) -> str:
        """The cycle, or that none is certain, or that none serves it."""
        return self.cycle or ("no cycle serves it" if self.orphans else "no cycle is certain")


@dataclass(frozen=True)
class SetSplit:
    """The trays of a set with their limit.

    ``proved``: no fewer trays can hold it, and nothing of it is unknown. ``stopped`` says that
    the search ended before that. ``least_heaviest_g`` is the gross weight that the heaviest of as
    many trays cannot go below. ``parted`` names sections and lines that no tray holds whole,
    ``if_parted`` how many trays would do where all were parted, None where no fewer. ``doubts``
    are sentences on what nobody knows; ``named`` is what is too big, or to be weighed first.
    """

    outcome: SetSplitOutcome
    lines: tuple[SetLine, ...] = ()
    limit: TrayLimit | None = None
    parts: tuple[Part, ...] = ()
    proved: bool = False
    least_heaviest_g: float = 0.0
    parted: tuple[str, ...] = ()
    if_parted: int | None = None
    doubts: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    apart: tuple[str, ...] = field(default=())

    def sentences(self, show: Show = metric) -> tuple[str, ...]:
        """What is to be known of the split, what no cycle serves first."""
        names = ", ".join(self.named)
        if self.outcome is SetSplitOutcome.TOO_BIG:
            return (f"No tray holds this by itself: {names}. Pack it in something else.",)
        if self.outcome is SetSplitOutcome.UNKNOWN:
            return (f"Weigh first: {names}.",)
        if self.outcome is not SetSplitOutcome.SPLIT:
            return (f"{self.outcome[:1].upper()}{self.outcome[1:]}.",)
        return tuple(self._said(show))

    def _said(self, show: Show) -> list[str]:
        words = []
        if self.apart:
            part = next(one.letter for one in self.parts if one.orphans)
            words.append(f"No cycle here serves {', '.join(self.apart)}: apart, in {part}.")
        trays = f"{len(self.parts)} trays"
        if self.proved:
            words.append(f"Proved: no fewer than {trays} hold it.")
        elif self.doubts:
            words.append(f"Not proved: provisional, {trays} by what is on record.")
        else:
            words.append("Not proved: fewer trays may be possible, the search stopped.")
        words += self.doubts
        if self.parted:
            words.append(f"Too big to stay whole, and parted: {', '.join(self.parted)}.")
        if self.if_parted:
            words.append(f"Everything parted piece by piece, {self.if_parted} would do.")
        heaviest = max(part.gross_g for part in self.parts)
        by_weight = len({part.cycle for part in self.parts}) < len(self.parts)
        if by_weight and heaviest - self.least_heaviest_g > EVEN_G:
            least = show(self.least_heaviest_g, "g")
            words.append(f"More even may be possible: the heaviest not under {least}.")
        return words

    def as_json(self) -> dict[str, Any]:
        """The split as plain JSON types: weights in g to two decimals."""
        limit = self.limit
        return {
            "outcome": str(self.outcome),
            "trays": [self._tray(part) for part in self.parts],
            "proved": self.proved,
            "packed_in": limit.code if limit else None,
            "limit": {"rule": limit.rule, "source": limit.source} if limit else None,
            "least_heaviest_g": round(self.least_heaviest_g, 2),
            "parted": list(self.parted),
            "trays_if_parted": self.if_parted,
            "no_cycle": list(self.apart),
            "doubts": list(self.doubts),
            "named": list(self.named),
        }

    def _tray(self, part: Part) -> dict[str, Any]:
        lines = [{"item_number": self.lines[n].item_number, "name": self.lines[n].instrument.name,
                  "quantity": count} for n, count in part.pieces]  # fmt: skip
        limit = self.limit.gross_g if self.limit and self.limit.rule else None
        return {
            "part": part.letter,
            "lines": lines,
            "gross_g": round(part.gross_g, 2),
            "limit_g": None if limit is None else round(limit, 2),
            "cycle": part.cycle or None,
        }


def split_set(
    question: SetQuestion, packed_in: str | None, policy: Policy, layers: int | None = None
) -> SetSplit:
    """The split of a set into trays that are each packed as the set is.

    ``packed_in`` is the code of the container or wrap, ``layers`` how many lie in a tray; None: as
    many as the whole set takes today. The counts of the parts add up exactly to
    the count sheet's. Equal in, equal out.
    """
    lines = question.lines
    supply = next((one for one in question.supplies if one.code == packed_in), None)
    if not lines:
        return SetSplit(SetSplitOutcome.EMPTY)
    if not isinstance(supply, Container | Wrap):
        return SetSplit(SetSplitOutcome.NO_PACKAGING, lines)
    limit = tray_limit(question, supply, layers, policy)
    if limit.unknown:
        return SetSplit(SetSplitOutcome.UNKNOWN, lines, limit, named=limit.unknown)
    if limit.room_g <= 0:
        return SetSplit(SetSplitOutcome.TOO_BIG, lines, limit, named=(limit.code,))
    keeping = Keeping(lines, limit, policy)
    every, _ = keeping.units(range(len(lines)))
    if big := [one for one in every if keeping.too_big(one)]:
        heavy = [one.name for one in big if one.unit.weight_g is not None]
        outcome = SetSplitOutcome.TOO_BIG if heavy else SetSplitOutcome.UNKNOWN
        names = heavy or [one.name for one in big]
        return SetSplit(outcome, lines, limit, named=tuple(dict.fromkeys(names)))
    return _answer(question, keeping, policy)


# --- the trays of each group --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Grouped:
    """The groups of one way to place what several can take, each with its trays."""

    groups: CycleGroups
    kept: tuple[list[Kept], ...]
    splits: tuple[TraySplit, ...]
    parted: tuple[str, ...]

    @property
    def count(self) -> int:
        return sum(len(one.trays) for one in self.splits)


def _answer(question: SetQuestion, keeping: Keeping, policy: Policy) -> SetSplit:
    best = _grouped(question, keeping, policy, {})
    proved = _proved(best, keeping)
    if not proved and len(best.groups.groups) > 1:
        best, proved = _moved(question, keeping, policy, best)
    limit, groups = keeping.limit, best.groups.groups
    parts = _parts(best, keeping)
    by_cycle = [f"Not settled by its IFU, read it first: {name} ({_words(group)})."
                for group in groups for name in group.doubts]  # fmt: skip
    doubts = (*by_cycle, *keeping.doubts, *limit.doubts)
    orphans = next((group for group in groups if group.orphans and len(groups) > 1), None)
    names = [question.lines[n].instrument.name for n in orphans.places] if orphans else []
    several = len(parts) > 1
    return SetSplit(
        SetSplitOutcome.SPLIT if several else SetSplitOutcome.ONE, question.lines, limit, parts,
        proved=proved and not doubts, least_heaviest_g=_least_g(best, limit),
        parted=best.parted, if_parted=_if_parted(best, keeping) if several else None,
        doubts=doubts, apart=tuple(dict.fromkeys(names)),
    )  # fmt: skip


def _moved(
    question: SetQuestion, keeping: Keeping, policy: Policy, best: _Grouped
) -> tuple[_Grouped, bool]:
    """The fewest trays where units that several cycles serve go elsewhere, and whether that is
    proved: all ways were tried, and each needs as many by its lower bound."""
    free = [(one, choices) for kept in best.kept for one in kept
            if len(choices := _choices(one, best.groups)) > 1]  # fmt: skip
    free.sort(key=lambda pair: -(pair[0].unit.upper_g or 0.0))
    every = len(free) <= MOST_MOVED and best.groups.closed and best.groups.proved
    lowest = best.count
    for numbers in (_filled_up(best, free), product(*(some for _, some in free[:MOST_MOVED]))):
        ways = []
        for way in numbers:
            pairs = zip(free, way, strict=False)
            moved = {place: number for (one, _), number in pairs for place, _count in one.pieces}
            ways.append((_least_trays(best, keeping, moved), moved))
        lowest = min([lowest, *(least for least, _ in ways)])
        for least, moved in sorted(ways, key=lambda way: way[0])[:MOST_TRIED]:
            if least < best.count:
                other = _grouped(question, keeping, policy, moved)
                best = min(best, other, key=lambda way: way.count)
        if _proved(best, keeping):
            return best, True
    return best, every and lowest >= best.count


def _filled_up(way: _Grouped, free: Sequence[tuple[Kept, Sequence[int]]]) -> Iterator[list[int]]:
    """For one tray fewer, of two groups: the free units' groups, so many trays of each filled."""
    served = [group.number for group in way.groups.groups if not group.orphans]
    if len(served) != len(way.groups.groups) or len(served) != PAIR:
        return
    mass, own = [one.unit.upper_g or 0.0 for one, _ in free], {id(one) for one, _ in free}
    fixed = [sum(one.unit.upper_g or 0.0 for one in kept if id(one) not in own)
             for kept in way.kept]  # fmt: skip
    each = (sum(fixed) + sum(mass)) / max(1, way.count - 1)
    for trays in range(1, way.count - 1):
        load, numbers = fixed[0], []
        for weight in mass:
            first = load + weight <= trays * each
            load += weight if first else 0.0
            numbers.append(served[not first])
        yield numbers


def _choices(kept: Kept, groups: CycleGroups) -> list[int]:
    """The numbers of the groups that can take a unit whole."""
    every = [set(groups.choices[place]) for place, _ in kept.pieces] if groups.choices else [set()]
    return sorted(set.intersection(*every))


def _least_trays(way: _Grouped, keeping: Keeping, moved: Mapping[int, int]) -> int:
    """What the groups' trays cannot be fewer than, with units moved to other groups."""
    units: dict[int, list[Unit]] = {}
    for group, kept in zip(way.groups.groups, way.kept, strict=True):
        for one in kept:
            number = moved.get(one.pieces[0][0], group.number)
            units.setdefault(number, []).append(one.unit)
    limit = keeping.limit
    return sum(least_trays(inside, limit.room_g, limit.area_mm2) for inside in units.values())


def _grouped(
    question: SetQuestion, keeping: Keeping, policy: Policy, moved: Mapping[int, int]
) -> _Grouped:
    sections = [line.section for line in question.lines]
    groups = cycle_groups(question.instruments, sections, question.programmes, policy, moved)
    found = [keeping.units(group.places) for group in groups.groups]
    splits = tuple(_trays([one.unit for one in kept], keeping.limit) for kept, _ in found)
    parted = dict.fromkeys(name for _, names in found for name in names)
    return _Grouped(groups, tuple(kept for kept, _ in found), splits, tuple(parted))


def _trays(units: Sequence[Unit], limit: TrayLimit) -> TraySplit:
    named = [replace(unit, name=str(n)) for n, unit in enumerate(units)]
    return split(named, limit.room_g, limit.area_mm2)


def _parts(way: _Grouped, keeping: Keeping) -> tuple[Part, ...]:
    limit, parts = keeping.limit, list[Part]()
    for group, kept, found in zip(way.groups.groups, way.kept, way.splits, strict=True):
        for tray in found.trays:
            counts: dict[int, int] = {}
            for name in tray.names:
                for place, count in kept[int(name)].pieces:
                    counts[place] = counts.get(place, 0) + count
            share = tray.area_mm2 / limit.area_mm2 if tray.area_mm2 and limit.area_mm2 else None
            parts.append(Part(letter(len(parts)), tuple(sorted(counts.items())),
                              tray.weight_g + limit.packaging_g, share, _words(group),
                              group.orphans))  # fmt: skip
    return tuple(parts)


def letter(number: int) -> str:
    """The letter of a part: A to Z, then AA.

    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    before, last = divmod(number, MOST_PARTS)
    return (letter(before - 1) if before else "") + ascii_uppercase[last]


def _words(group: CycleGroup) -> str:
    if group.orphans or group.cycle is None:
        return ""
    return str(group.cycle) if isinstance(group.cycle, Programme) else group.cycle.sentence()


def _proved(way: _Grouped, keeping: Keeping) -> bool:
    """Whether no fewer trays can hold it: each group proved, and none could give to another.

    Units that no cycle can bring together with any of another group need trays of their own;
    their least numbers add up. So does nothing else: otherwise it is not proved.
    """
    if not way.groups.proved or not all(one.proved for one in way.splits):
        return False
    if way.count == len(way.groups.groups) or len(way.groups.groups) == 1:
        return True
    limit, least = keeping.limit, 0
    every = [one.unit for kept in way.kept for one in kept]
    if least_trays(every, limit.room_g, limit.area_mm2) == way.count:
        return True
    for alone, kept, found in zip(_alone(way), way.kept, way.splits, strict=True):
        units = [one.unit for one in alone]
        whole = len(alone) == len(kept)
        least += len(found.trays) if whole else least_trays(units, limit.room_g, limit.area_mm2)
    return least == way.count


def _alone(way: _Grouped) -> list[list[Kept]]:
    """Of each group the units that no cycle can bring together with any of another group."""
    masks = [[_allowed(one, way.groups) for one in kept] for kept in way.kept]
    found = []
    for number, kept in enumerate(way.kept):
        others = [mask for n, of in enumerate(masks) if n != number for mask in of]
        pairs = zip(kept, masks[number], strict=True)
        found.append([one for one, mask in pairs if not any(mask & other for other in others)])
    return found


def _least_g(way: _Grouped, limit: TrayLimit) -> float:
    """What the heaviest of as many trays cannot go below (g, gross)."""
    if list(map(len, _alone(way))) == list(map(len, way.kept)):
        return max(one.least_heaviest_g for one in way.splits) + limit.packaging_g
    weights = [one.unit.upper_g or 0.0 for kept in way.kept for one in kept]
    return max(sum(weights) / way.count, *weights) + limit.packaging_g


def _allowed(kept: Kept, groups: CycleGroups) -> int:
    """The cycles that may serve every piece of a unit."""
    mask = -1
    for place, _ in kept.pieces:
        mask &= groups.allowed[place]
    return mask


def _if_parted(way: _Grouped, keeping: Keeping) -> int | None:
    """How many trays would do if every piece went by itself; None where no fewer."""
    count = 0
    for group, found in zip(way.groups.groups, way.splits, strict=True):
        pieces, _ = keeping.units(group.places, finest=True)
        one = len(found.trays)
        if one > 1:
            one = min(one, fewest_trays([p.unit for p in pieces], keeping.limit.room_g,
                                        keeping.limit.area_mm2))  # fmt: skip
        count += one
    return count if count < way.count else None

"""Two revisions of a count sheet, line by line: added, removed, count changed, moved."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol


class AnyLine(Protocol):
    """What is compared of a line."""

    instrument_id: int
    quantity: int
    section: str
    may_go_without: bool
    note: str


@dataclass(frozen=True, slots=True)
class LineChange:
    """One line of either revision. ``old`` is None when added, ``new`` when removed.

    ``moved`` is told of as few lines as explain the new order, and of a new section.
    """

    old: AnyLine | None
    new: AnyLine | None
    moved: bool = False
    details: tuple[str, ...] = ()
    """What else differs, in words."""

    @property
    def line(self) -> AnyLine:
        """The line as it is, or was."""
        found = self.new or self.old
        assert found is not None
        return found

    @property
    def count_changed(self) -> bool:
        return bool(self.old and self.new and self.old.quantity != self.new.quantity)

    @property
    def section_changed(self) -> bool:
        return bool(self.old and self.new and self.old.section != self.new.section)

    @property
    def words(self) -> list[str]:
        """What happened to the line; nothing when it stayed."""
        if self.old is None:
            return ["added"]
        if self.new is None:
            return ["removed"]
        found = []
        if self.count_changed:
            found.append(f"count changed from {self.old.quantity} to {self.new.quantity}")
        if self.section_changed:
            found.append(f"moved from {self.old.section or 'no section'}")
        elif self.moved:
            found.append("moved")
        return [*found, *self.details]


def details_of(line: AnyLine) -> Mapping[str, str]:
    """What is compared beyond count, section and place: name to value in words."""
    return {"may go without": "yes" if line.may_go_without else "no", "note": line.note}


Details = Callable[[AnyLine], Mapping[str, str]]


def _differing(old: AnyLine | None, new: AnyLine, details: Details) -> tuple[str, ...]:
    if old is None:
        return ()
    was, now = details(old), details(new)
    return tuple(
        f"{name}: {was[name] or 'none'} → {now[name] or 'none'}"
        for name in now
        if was[name] != now[name]
    )


def compare(
    old: Sequence[AnyLine], new: Sequence[AnyLine], details: Details = details_of
) -> list[LineChange]:
    """Every line of ``new`` in its order, each removed line after the one it stood behind.

    Lines of one instrument are paired section by section, then in their order. ``details``
    says what else of a line is compared.
    """
    partner = _pairs(old, new)
    place_of = {id(line): place for place, line in enumerate(old)}
    kept = [place_of[id(partner[place])] for place in sorted(partner)]
    steady = set(_longest_rising(kept))
    result: list[LineChange] = []
    for place, line in enumerate(new):
        was = partner.get(place)
        moved = was is not None and place_of[id(was)] not in steady
        result.append(LineChange(was, line, moved, _differing(was, line, details)))
    matched = {id(line) for line in partner.values()}
    for place, line in enumerate(old):
        if id(line) not in matched:
            result.insert(_after(result, old[:place]), LineChange(line, None))
    return result


def _pairs(old: Sequence[AnyLine], new: Sequence[AnyLine]) -> dict[int, AnyLine]:
    """Place in ``new`` to the old line of the same instrument."""
    free: dict[int, list[AnyLine]] = defaultdict(list)
    for line in old:
        free[line.instrument_id].append(line)
    partner: dict[int, AnyLine] = {}
    for same_section in (True, False):
        for place, line in enumerate(new):
            if place in partner:
                continue
            for candidate in free[line.instrument_id]:
                if candidate.section == line.section or not same_section:
                    partner[place] = candidate
                    free[line.instrument_id].remove(candidate)
                    break
    return partner


def _after(result: Sequence[LineChange], before: Sequence[AnyLine]) -> int:
    """Where a removed line goes: behind the nearest line that stood before it."""
    places = {id(change.old): place for place, change in enumerate(result) if change.old}
    for line in reversed(before):
        if id(line) in places:
            return places[id(line)] + 1
    return 0


def _longest_rising(numbers: Sequence[int]) -> list[int]:
    """A longest rising part of ``numbers``, all of them different.

    >>> _longest_rising([0, 3, 1, 2])
    [0, 1, 2]
    """
    ends: list[int] = []
    best: list[list[int]] = []
    for number in numbers:
        place = bisect_left(ends, number)
        run = [*(best[place - 1] if place else []), number]
        if place == len(ends):
            ends.append(number)
            best.append(run)
        else:
            ends[place], best[place] = number, run
    return best[-1] if best else []

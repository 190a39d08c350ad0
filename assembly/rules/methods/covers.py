"""Exact searches in small families of sets: smallest hitting set, smallest cover.

Sets are integers read as bit masks: bit ``i`` stands for member ``i``. Both searches give
the same answer for the same input, and say when they stopped before the answer was proved.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

NODE_LIMIT = 200_000
"""Steps after which a search stops and says that its answer is not proved."""


@dataclass(frozen=True, slots=True)
class Hitting:
    """The smallest hitting sets: the first one, how many there are, and whether it is proved."""

    members: tuple[int, ...]
    count: int
    proved: bool = True


@dataclass(frozen=True, slots=True)
class Cover:
    """A smallest cover: the positions of the sets taken, and whether it is proved."""

    chosen: tuple[int, ...]
    proved: bool = True


def members_of(mask: int) -> tuple[int, ...]:
    """The members of a bit mask, rising.

    >>> members_of(0b1011)
    (0, 1, 3)
    """
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


def mask_of(members: Iterable[int]) -> int:
    """The bit mask of members.

    >>> mask_of([0, 1, 3])
    11
    """
    mask = 0
    for member in members:
        mask |= 1 << member
    return mask


def minimal(masks: Iterable[int]) -> list[int]:
    """The sets that hold no other set of the family, smallest first, each once.

    >>> minimal([0b111, 0b011, 0b100, 0b011])
    [4, 3]
    """
    kept: list[int] = []
    for mask in sorted(set(masks), key=lambda m: (m.bit_count(), m)):
        if not any(other & mask == other for other in kept):
            kept.append(mask)
    return kept


def smallest_hitting_set(masks: Iterable[int], limit: int = NODE_LIMIT) -> Hitting | None:
    """A smallest set that shares a member with every mask; None when a mask is empty.

    Sizes 1, 2, 3 and so on are searched in turn, branching on the smallest mask not yet
    hit, so that the first size found is the smallest. Of equally small ones the one whose
    members come first is shown and all are counted. Past ``limit`` steps: not proved.

    >>> smallest_hitting_set([0b110, 0b101, 0b011])
    Hitting(members=(0, 1), count=3, proved=True)
    """
    family = minimal(masks)
    if not family or family[0] == 0:
        return None
    search = _HittingSearch(family, limit)
    for size in range(1, len(family) + 1):
        search.found.clear()
        search.down(0, size)
        if search.found:
            best = min(members_of(mask) for mask in search.found)
            return Hitting(best, len(search.found), search.nodes <= limit)
        if search.nodes > limit:
            break
    return Hitting(members_of(_greedy_hitting(family)), 1, proved=False)


class _HittingSearch:
    def __init__(self, family: list[int], limit: int) -> None:
        self.family, self.limit, self.nodes = family, limit, 0
        self.found: set[int] = set()
        self.seen: set[tuple[int, int]] = set()

    def down(self, taken: int, left: int) -> None:
        self.nodes += 1
        if self.nodes > self.limit or (taken, left) in self.seen:
            return
        self.seen.add((taken, left))
        open_mask = next((mask for mask in self.family if not mask & taken), 0)
        if not open_mask:
            self.found.add(taken)
        elif left:
            for member in members_of(open_mask):
                self.down(taken | 1 << member, left - 1)


def _greedy_hitting(family: Sequence[int]) -> int:
    taken = 0
    while left := [mask for mask in family if not mask & taken]:
        width = max(mask.bit_length() for mask in left)
        best = max(range(width), key=lambda i: (sum(mask >> i & 1 for mask in left), -i))
        taken |= 1 << best
    return taken


def smallest_cover(everything: int, masks: Sequence[int], limit: int = NODE_LIMIT) -> Cover:
    """Fewest of ``masks`` that together hold ``everything``.

    Every member must be in some mask. Sets held by another are dropped (the earlier of two
    equal ones stays), a greedy cover bounds the search, which branches on the member with
    fewest sets. Past ``limit`` steps the best cover so far is given as not proved.

    >>> smallest_cover(0b11111, [0b00011, 0b01100, 0b10001, 0b00100])
    Cover(chosen=(0, 1, 2), proved=True)
    """
    kept = _undominated(everything, masks)
    covered = 0
    for _, mask in kept:
        covered |= mask
    if covered != everything:
        raise ValueError(f"members {members_of(everything & ~covered)} are in none of the sets")
    search = _CoverSearch(kept, limit, _greedy_cover(everything, kept))
    search.down(everything, ())
    return Cover(tuple(sorted(search.best)), search.nodes <= limit)


def _undominated(everything: int, masks: Sequence[int]) -> list[tuple[int, int]]:
    """(position, mask) of the sets not held by another, largest first."""
    ranked = sorted(
        ((n, mask & everything) for n, mask in enumerate(masks)),
        key=lambda pair: (-pair[1].bit_count(), pair[0]),
    )
    kept: list[tuple[int, int]] = []
    for position, mask in ranked:
        if mask and not any(mask & other == mask for _, other in kept):
            kept.append((position, mask))
    return kept


def _greedy_cover(everything: int, kept: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    chosen, left = [], everything
    while left:
        position, mask = max(kept, key=lambda pair: (pair[1] & left).bit_count())
        chosen.append(position)
        left &= ~mask
    return tuple(chosen)


class _CoverSearch:
    def __init__(self, kept: Sequence[tuple[int, int]], limit: int, best: tuple[int, ...]) -> None:
        self.kept, self.limit, self.best, self.nodes = kept, limit, best, 0
        self.widest = max((mask.bit_count() for _, mask in kept), default=1)

    def down(self, left: int, chosen: tuple[int, ...]) -> None:
        self.nodes += 1
        if self.nodes > self.limit:
            return
        if not left:
            self.best = chosen
            return
        if len(chosen) + -(-left.bit_count() // self.widest) >= len(self.best):
            return
        rarest = min(
            members_of(left), key=lambda i: (sum(mask >> i & 1 for _, mask in self.kept), i)
        )
        options = [(p, m) for p, m in self.kept if m >> rarest & 1]
        for position, mask in sorted(options, key=lambda o: (-(o[1] & left).bit_count(), o[0])):
            self.down(left & ~mask, (*chosen, position))

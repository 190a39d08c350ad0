"""One sheet of several kinds for each row, by the order of kinds: as picking and giving way do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.rules.comparing.sheets import FAILS, OPEN, THEIRS, Mask, Sheet
from assembly.rules.computing.catalogue import NONE, UNDECIDED, Bits, Needs
from assembly.rules.computing.columns import Floats, floats
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import CLOSE_RATIO
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

ASK = -3
"""The arrays cannot tell: the rules for one package are asked."""
Found = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Judged:
    """Each row in each sheet of one kind: its flags, and its place in the order of choice.

    Of equal places the first column comes first. ``unsure`` are rows of which the flags do not
    say all. ``used`` is the material of each piece of roll (mm2).
    """

    kind: Kind
    sheets: tuple[Sheet, ...]
    flags: Bits
    place: Floats
    unsure: Mask
    used: Floats | None = None

    def first(self) -> tuple[NDArray[np.intp], Mask, Mask, Mask]:
        """The column that serves each row first; whether there is one, whether one in doubt comes
        before it, and whether any is in doubt, for want of a fact of the instrument alone."""
        doubt = self.flags & (FAILS | OPEN | THEIRS) == OPEN
        if not self.sheets:
            none = np.zeros(len(self.flags), bool)
            return np.zeros(len(none), np.intp), none, none, none
        serves, rows = self.flags == 0, np.arange(len(self.flags))
        first = np.where(serves, self.place, np.inf).argmin(axis=1)
        there = serves.any(axis=1)
        best = np.where(there, self.place[rows, first], np.inf)[:, None]
        columns = np.arange(len(self.sheets))
        before = (self.place < best) | ((self.place == best) & (columns < first[:, None]))
        before |= ~there[:, None]
        return first, there, (doubt & before).any(axis=1), doubt.any(axis=1)

    @property
    def open(self) -> Mask:
        """The rows that a sheet of this kind might serve."""
        return (self.flags & FAILS == 0).any(axis=1)


class Choice:
    """The rows as they are settled, kind after kind; ``found`` are places in all sheets."""

    def __init__(self, rows: int, ways: Sequence[Needs], policy: Policy) -> None:
        self.found = np.full(rows, NONE, np.int32)
        self.settled = np.zeros(rows, bool)
        self.open = np.zeros(rows, bool)
        self.pending = np.zeros(rows, bool)
        """A pouch is taken, if nothing after it makes it give way."""
        self.loose = self.may_be_loose = np.zeros(rows, bool)
        self.ways, self.policy = ways, policy

    def take(self, kind: Judged, start: int) -> None:
        """The next kind, whose sheets begin at ``start``."""
        first, there, before, doubt = kind.first()
        waits = ~self.settled & ~self.pending
        self._settle(~self.settled & kind.unsure, ASK)
        self._settle(waits & ~there & doubt, UNDECIDED)
        place = (first + start).astype(np.int32)
        less = self._needs_less(kind, first, there)
        self._give_way(place, there & ~before, less, doubt)
        taken = waits & there & ~self.settled
        self.found[taken] = place[taken]
        self.open |= kind.open
        if kind.kind is Kind.POUCH:
            self.pending |= taken
            self._loose_in(kind, first)
        else:
            self.settled |= taken

    def _settle(self, rows: Mask, found: int | Found) -> None:
        rows = rows & ~self.settled
        self.found = np.where(rows, found, self.found).astype(np.int32)
        self.settled |= rows

    def _give_way(self, place: Found, serves: Mask, less: Mask, doubt: Mask) -> None:
        """Of the rows with a pouch: to what it gives way, or that it does no more."""
        self._settle(self.pending & serves & (less | self.loose), place)
        self._settle(self.pending & serves & self.may_be_loose, ASK)
        # A better kind in doubt ends it: the pouch stays.
        self.settled |= self.pending & doubt

    def container(self, rolls_after: bool) -> None:
        """A container might be taken, or be in doubt: the arrays do not know those."""
        self._settle(~self.pending | self.may_be_loose | rolls_after, ASK)

    def ended(self) -> Found:
        """Every row; what nothing serves for certain is undecided where something might."""
        self._settle(~self.pending & self.open, UNDECIDED)
        return self.found

    def _loose_in(self, pouches: Judged, first: NDArray[np.intp]) -> None:
        """Whether each row is loose in its pouch however it lies, and whether it is in some way;
        and what the pouch takes of material (mm2, both sheets)."""
        if not pouches.sheets:
            return
        made = [one for one in pouches.sheets if isinstance(one, Pouch)]
        self.both = floats(one.material_mm2 for one in made)[first]
        least = self.policy.number_or_none("loose_share")
        if least is None:
            return
        sizes = [(one.inner_width_mm or 0.0) * (one.inner_length_mm or 0.0) for one in made]
        limit = (least - CLOSE_RATIO) * np.array(sizes)[first]
        flat = np.array([np.where(way.may, way.flat, np.nan) for way in self.ways])
        self.loose, self.may_be_loose = (
            side(flat, axis=0) < limit for side in (np.nanmax, np.nanmin)
        )

    def _needs_less(self, kind: Judged, first: NDArray[np.intp], there: Mask) -> Mask:
        """Whether the roll needs so much less that the pouch gives way; one sheet of each (mm2)."""
        share = self.policy.number_or_none("pouch_gives_way_share")
        if share is None or kind.used is None or not kind.sheets or not self.pending.any():
            return np.zeros(len(first), bool)
        used = kind.used[np.arange(len(first)), first]
        return there & (used / (self.both / 2) < 1 / share - CLOSE_RATIO)

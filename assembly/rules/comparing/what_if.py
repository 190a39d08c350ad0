"""What other values, supplies or cycles would change of a whole catalog, before they are in force.

Both sides are evaluated by arrays (:mod:`assembly.rules.comparing.outcomes`). The rules for one
package are asked only of the rows of which the arrays cannot tell, and not a second time where
nothing that they asked for is another. A package is its kind and its supply: another fold, cut
length or cycle in the same package is no change here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from assembly.rules.comparing.choosing import ASK, Found
from assembly.rules.comparing.outcomes import Outcomes, name_of, outcomes
from assembly.rules.comparing.sheets import Terms
from assembly.rules.computing.catalogue import NONE, UNDECIDED
from assembly.rules.computing.columns import Catalog
from assembly.rules.policy.values import Dated, Policy

Tell = Callable[[int, int], None]
"""Told how many of the rows that the rules are asked about are done, and of how many."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A row of the catalog whose package is another: "pouch P01", "undecided" or "none"."""

    row: int
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Compared:
    """The rows that change, in their order; ``asked`` of all rows took the rules themselves."""

    changed: tuple[Changed, ...]
    rows: int
    asked: int


class Watched(Policy):
    """A policy that notes the names of the values that were asked for.

    Answers are kept with their policy, so that what was read for the first of them stays noted:
    a decision with other values in no name that was ever read here is the same.
    """

    def __init__(self, policy: Policy) -> None:
        every = {name: policy.entry(name) for name in policy.parameters}
        super().__init__(policy.parameters, policy.on, every)
        self.read: set[str] = set()
        self._dated = _Noted(self._dated, self.read)

    def with_flag(self, name: str, value: bool) -> Policy:
        self.read.update(self._dated)
        return super().with_flag(name, value)

    def tells_apart(self, other: Policy) -> bool:
        """Whether anything that was read has another value in the other policy."""
        return any(dict.__getitem__(self._dated, name).value != other.entry(name).value
                   for name in self.read)  # fmt: skip


class _Noted(dict[str, Dated]):
    def __init__(self, values: dict[str, Dated], read: set[str]) -> None:
        super().__init__(values)
        self._read = read

    def __getitem__(self, name: str) -> Dated:
        self._read.add(name)
        return super().__getitem__(name)


def compared(
    catalog: Catalog,
    before: Terms,
    after: Terms,
    unread: Collection[int] = (),
    tell: Tell = lambda done, of: None,
) -> Compared:
    """What changes from ``before`` to ``after``; ``unread`` are rows lent without their IFU."""
    sides = _Sides(catalog, before, after, frozenset(unread), tell)
    first, then = sides.numbered()
    rows = np.arange(len(catalog))
    ask = (first == ASK) | (then == ASK) | np.isin(rows, list(unread))
    found = {
        int(row): Changed(int(row), sides.first.said(row), sides.then.said(row))
        for row in rows[~ask & (first != then)]
    }
    found |= {one.row: one for one in sides.asked([int(row) for row in rows[ask]])}
    return Compared(tuple(found[row] for row in sorted(found)), len(catalog), int(ask.sum()))


class _Sides:
    """Both sides of a comparison, with what the rules were asked for on the first."""

    def __init__(
        self, catalog: Catalog, before: Terms, after: Terms, unread: frozenset[int], tell: Tell
    ) -> None:
        self.catalog, self.unread, self.tell = catalog, unread, tell
        self.watched = Watched(before.policy)
        self.first = outcomes(catalog, replace(before, policy=self.watched))
        self.watched.read.clear()
        self.watched.answers.clear()
        self.then = outcomes(catalog, after)
        same: Any = (before.programmes, before.protectors)
        self.same = same == (after.programmes, after.protectors)

    def numbered(self) -> tuple[Found, Found]:
        """The outcomes of both sides by the same numbers."""
        numbers: dict[str, int] = {}
        return self._by(numbers, self.first), self._by(numbers, self.then)

    def _by(self, numbers: dict[str, int], side: Outcomes) -> Found:
        own = [numbers.setdefault(name_of(one), len(numbers)) for one in side.sheets]
        # NONE, UNDECIDED and ASK are counted from the end.
        return np.array([*own, ASK, UNDECIDED, NONE], dtype=np.int32)[side.found]

    def asked(self, rows: list[int]) -> Iterator[Changed]:
        """Those of the rows that change, by the rules where the arrays cannot tell."""
        before = {}
        for done, row in enumerate(rows):
            self.tell(done, 2 * len(rows))
            before[row] = self._said(self.first, row)
        apart = self.watched.tells_apart(self.then.terms.policy)
        for done, row in enumerate(rows):
            self.tell(len(rows) + done, 2 * len(rows))
            if not apart and self._alike(row):
                continue
            after = self._said(self.then, row)
            if after != before[row]:
                yield Changed(row, before[row], after)

    def _alike(self, row: int) -> bool:
        """Whether the rules are asked the same of both sides."""
        both = self.first.said(row) == self.then.said(row) == "" or row in self.unread
        return both and self.same and self.first.left(row) == self.then.left(row)

    def _said(self, side: Outcomes, row: int) -> str:
        if row in self.unread:
            return side.asked(self.catalog, row, ifu_received=False)
        return side.said(row) or side.asked(self.catalog, row)

"""Item numbers for instruments that a file gives none: those on record, else proposed ones."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache

from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.numbering import counting_from, following
from catalog.spreadsheets.cells.report import Note, Question
from catalog.spreadsheets.checking.asking import numbers_question
from catalog.spreadsheets.checking.matching import Catalog
from catalog.spreadsheets.checking.tables import Table
from catalog.spreadsheets.columns.column import fold_heading

FIRST_NUMBER = "INS-0001"
"""Where item numbers begin in a department that has none yet."""


class Numbers:
    """The department's item numbers, and those given to instruments of a file on the way.

    ``known``: item number to name. ``taken``: those of retired ones, which nobody gets again.
    ``is_new``: whether a name is that of an instrument that gets a number; None: where it is not
    the name of just one that is known.
    """

    def __init__(
        self,
        known: Mapping[str, str],
        taken: Iterable[str] = (),
        is_new: Callable[[str], bool] | None = None,
    ) -> None:
        self._is_new = cache(is_new or (lambda name: self._on_record(name) is None))
        self._known = {**dict.fromkeys(taken, ""), **known}
        self._taken = set(map(folded_number, self._known))
        self._counting: dict[str, Iterator[str]] = {}
        self.given: list[str] = []
        """Those that are proposed for instruments of the file, in its order."""
        self._by_name: dict[str, list[str]] = {}
        for number, name in known.items():
            self._by_name.setdefault(fold_heading(name), []).append(number)

    @classmethod
    def of_lines(cls, catalog: Catalog, retired: Iterable[str]) -> Numbers:
        """For the lines of count sheets, which mean what the catalog calls so."""
        names = {number: name for number, name, _ in catalog.by_number.values()}
        return cls(names, retired, catalog.is_new)

    def of(self, name: str, first: str) -> str:
        """The number on record where just one instrument has this name, else the next from
        ``first`` on that is not taken."""
        return self._on_record(name) or self._next(first)

    def _on_record(self, name: str) -> str | None:
        found = self._by_name.get(fold_heading(name), [])
        return found[0] if len(found) == 1 else None

    def _next(self, first: str) -> str:
        counting = self._counting.setdefault(first, counting_from(first))
        number = next(each for each in counting if folded_number(each) not in self._taken)
        self._taken.add(folded_number(number))
        self.given.append(number)
        return number

    def notes(self, tables: Iterable[Table]) -> Iterator[Note]:
        """Which numbers are proposed for the instruments of these tables, where any are."""
        if self.given:
            are = f"{self.given[0]} is proposed for 1 new instrument"
            if self.given[1:]:
                last, many = self.given[-1], len(self.given)
                are = f"{self.given[0]} to {last} are proposed for {many} new instruments"
            words = f"The file has no item numbers: {are}."
            yield next(iter(tables)).note("how_read", words)

    def are_wanted(self, table: Table) -> bool:
        """Whether a table names instruments that are not on record, without numbers."""
        return next(self._new_names(table), None) is not None

    def questions(self, tables: Iterable[Table], several: bool) -> Iterator[Question]:
        """From which number on the instruments of these tables shall be numbered, for each that
        has names and no numbers."""
        first = next(following(self._known, FIRST_NUMBER))
        for table in tables:
            names = list(self._new_names(table))
            if names:
                yield numbers_question(table.sheet.title, names, first, several)

    def _new_names(self, table: Table) -> Iterator[str]:
        if "item_number" in table.mapping or "name" not in table.mapping:
            return
        for each in table.walk():
            name = "" if each.reason else table.text(each.row, "name", [])
            if name and self._is_new(name):
                yield name

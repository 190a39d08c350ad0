"""Cells of waiting rows as fields on the page of a spreadsheet, and what is sent back in them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.http import QueryDict

from catalog.models import SpreadsheetBatch, SpreadsheetCorrection, SpreadsheetRow
from catalog.spreadsheets.batches.correcting import (
    NO_CELL,
    Said,
    headings_of,
    last_said,
    typed_in,
)
from catalog.spreadsheets.cells.report import ONCE_A_COLUMN, RIGHT
from catalog.spreadsheets.cells.typed import MAX_NOTES
from catalog.spreadsheets.workbook.correcting import At

NAMED = re.compile(r"now-([0-9]{1,3})-([0-9]{1,7})-([A-Z]{1,3})")
"""What the field of a cell is called: the number of its sheet, its row, its column."""
LONG = 40
"""Characters in a cell from which it has several lines to be corrected in."""
MOST_FIELDS = 8
"""Cells of one row that have fields in a list; its own page has all."""
NUMBER_TOO = ("offered_names", "unknown_instrument", "name_mismatch")
"""Problems of a name that the item number beside it may answer."""


@dataclass
class CellField:
    """One cell as a field: what is in it, what is wrong with it, and what was said of it."""

    sheet_number: int
    at: At
    heading: str
    was: str
    now: str
    problems: list[Mapping[str, Any]] = field(default_factory=list)
    said: SpreadsheetCorrection | None = None

    @property
    def name(self) -> str:
        return f"{self.sheet_number}-{self.at[1]}-{self.at[2]}"

    @property
    def cell(self) -> str:
        return f"{self.at[2]}{self.at[1]}"

    @property
    def is_long(self) -> bool:
        return len(self.was) > LONG or "\n" in self.was

    @property
    def effect(self) -> str:
        """What the worst of its problems does to its row; "" where nothing is wrong with it."""
        effects = {each["effect"] for each in self.problems}
        return next((each for each in ("refuses", "waits", "question") if each in effects), "")

    @property
    def right(self) -> str:
        """The words to say that it is right as it is; "" where that is no answer."""
        return next((RIGHT[each["code"]] for each in self.problems if each["code"] in RIGHT), "")


class Cells:
    """The cells of a batch as fields."""

    def __init__(self, batch: SpreadsheetBatch) -> None:
        self._batch = batch
        self.corrections = list(batch.corrections.all())
        self._said = last_said(self.corrections)
        self._titles = [sheet["title"] for sheet in batch.proposals]
        self._headings = headings_of(batch)
        self._columns = batch.report.get("mapping", {})

    def of_row(self, row: SpreadsheetRow) -> tuple[list[CellField], list[CellField]]:
        """The cells of a row that something is wrong with, and the others that are read."""
        fields = {letter: self._field(row, letter) for letter in self._letters(row)}
        asked = set()
        for each in row.problems:
            if each["code"] in ONCE_A_COLUMN or each["column"] not in fields:
                continue
            fields[each["column"]].problems.append(each)
            asked.add(each["column"])
            if each["code"] in NUMBER_TOO:
                asked.add(self._columns.get(row.sheet, {}).get("item_number", each["column"]))
        return (
            [one for letter, one in fields.items() if letter in asked],
            [one for letter, one in fields.items() if letter not in asked],
        )

    def of_no_row(self) -> list[CellField]:
        """The cells of headings and totals that something is wrong with."""
        return [
            replace(self._cell(at, each["value"]), heading=each["heading"], problems=[each])
            for each in self._batch.report.get("problems", [])
            if each["effect"] != "note" and each["code"] != NO_CELL
            for at in [(each["sheet"], each["row"], each["column"])]
        ]

    def again(self, said: Sequence[Said]) -> Iterator[CellField]:
        """The cells that a person wrote into, with what they hold by now and what was written."""
        typed = typed_in(self._batch, [each.at for each in said])
        for each in said:
            yield replace(self._cell(each.at, typed.get(each.at, each.was)), now=each.now)

    def read(self, sent: QueryDict) -> list[Said]:
        """What is said of each cell that was sent, where it is anything new; ValueError where a
        text is far too long."""
        found = []
        for name in sent:
            named = NAMED.fullmatch(name)
            if named is None or int(named[1]) >= len(self._titles):
                continue
            at = (self._titles[int(named[1])], int(named[2]), named[3])
            cell = name.removeprefix("now-")
            said = Said(at, sent.get(f"was-{cell}", ""), str(sent[name]).strip())
            if len(said.now) > MAX_NOTES:
                long = f"{len(said.now):,} characters were typed into {at[2]}{at[1]}"
                raise ValueError(f"{long}; the limit is {MAX_NOTES:,}.")
            if not said.is_new:
                said = replace(said, right=f"right-{cell}" in sent)
            found += [said] if said.is_new else []
        return found

    def _letters(self, row: SpreadsheetRow) -> list[str]:
        read = self._columns.get(row.sheet, {}).values()
        letters = {*read, *(each["column"] for each in row.problems)} - {""}
        return sorted(letters, key=lambda letter: (len(letter), letter))

    def _field(self, row: SpreadsheetRow, letter: str) -> CellField:
        return self._cell((row.sheet, row.row, letter), row.cells.get(letter, ""))

    def _cell(self, at: At, text: str) -> CellField:
        number = self._titles.index(at[0]) if at[0] in self._titles else len(self._titles)
        heading = self._headings.get((at[0], at[2]), "")
        return CellField(number, at, heading, text, text, [], self._said.get(at))

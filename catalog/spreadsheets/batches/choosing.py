"""What a person says of single rows and cells of a report before it is applied."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from catalog.models import CountSheet, Instrument, SpreadsheetBatch, SpreadsheetRow
from catalog.spreadsheets.cells.report import Verdict


def leave_row_out(row: SpreadsheetRow) -> None:
    """The row stays out; said again, it goes in after all."""
    row.left_out = not row.left_out
    row.save(update_fields=["left_out"])


def leave_cell_out(row: SpreadsheetRow, field: str) -> None:
    """One of the row's changes is not done, and what the catalog has stays; of a new instrument,
    one cell is not read. Said again, it is."""
    changes = [each for each in row.changes if each["field"] == field]
    if is_new(row):
        if changes:
            row.changes = [each for each in row.changes if each["field"] != field]
        elif field in cells_of_new(row):
            left = {"field": field, "old": None, "new": row.values[field], "left_out": True}
            row.changes = [*row.changes, left]
    elif field not in NOT_BY_THE_CELL:
        for each in changes:
            each["left_out"] = not each.get("left_out")
    row.save(update_fields=["changes"])


NOT_BY_THE_CELL = ("item_number", "spares_on_hand")
"""A number is taken by the row; spares are set by name, for the whole list."""
NEEDED = ("item_number", "name")
"""What a new instrument cannot be without."""


def with_known(rows: QuerySet[SpreadsheetRow]) -> QuerySet[SpreadsheetRow]:
    """The rows, each with ``known``: whether the catalog has its number."""
    known = Instrument.objects.filter(item_number=OuterRef("key"))
    return rows.annotate(known=Exists(known))


def is_new(row: SpreadsheetRow) -> bool:
    """Whether the row adds an instrument, as it stands now."""
    is_known = getattr(row, "known", None)
    if is_known is None:
        is_known = Instrument.objects.filter(item_number=row.key).exists()
    of_instruments = row.batch.kind == SpreadsheetBatch.Kind.INSTRUMENTS
    return of_instruments and row.goes_in and not is_known and not row.renumbers


def cells_of_new(row: SpreadsheetRow) -> dict[str, Any]:
    """What the list says of a new instrument and may be left out, by field."""
    nothing: tuple[Any, ...] = (None, "", [], ())
    return {
        name: value
        for name, value in row.taken.items()
        if name not in NEEDED and value not in nothing
    }


@transaction.atomic
def take_number(row: SpreadsheetRow) -> None:
    """The row is the instrument that it reads like, with another number; said again, it is a new
    one. The counts of the report follow."""
    batch = SpreadsheetBatch.objects.select_for_update().get(pk=row.batch_id)
    row = batch.rows.get(pk=row.pk)
    if not row.may_renumber or row.same_as is None:
        return
    was = row.verdict
    back = bool(row.renumbers)
    row.changes = [] if back else row.same_as["changes"]
    if was in (Verdict.NEW, Verdict.CHANGED):
        row.verdict = str(Verdict.NEW if back else Verdict.CHANGED)
        counts = batch.report["counts"]
        counts[was], counts[row.verdict] = counts[was] - 1, counts[row.verdict] + 1
        batch.save(update_fields=["report"])
    row.save(update_fields=["changes", "verdict"])


@dataclass(frozen=True, slots=True)
class SaidOfRow:
    """What a person said of one row of a report."""

    left_out: bool
    cells: frozenset[str]
    renumbers: str


def said_of_rows(batch: SpreadsheetBatch) -> dict[tuple[str, int], SaidOfRow]:
    """What was said of the rows, by sheet and row: a new check asks for none of it again."""
    told = with_known(batch.rows.filter(Q(left_out=True) | ~Q(changes=[])))
    found = {(row.sheet, row.row): _said_of(row) for row in told}
    return {at: said for at, said in found.items() if said != NOTHING_SAID}


NOTHING_SAID = SaidOfRow(False, frozenset(), "")


def _said_of(row: SpreadsheetRow) -> SaidOfRow:
    cells = frozenset(each["field"] for each in row.changes if each.get("left_out"))
    by_itself = () if is_new(row) else NOT_BY_THE_CELL
    return SaidOfRow(row.left_out, cells.difference(by_itself), row.renumbers)


def say_again(batch: SpreadsheetBatch, said: Mapping[tuple[str, int], SaidOfRow]) -> None:
    """The same of the rows of a new check, where it still makes sense."""
    for row in batch.rows.filter(row__in={number for _, number in said}):
        was = said.get((row.sheet, row.row), NOTHING_SAID)
        if was.renumbers and row.same_as and row.same_as["key"] == was.renumbers:
            take_number(row)
            row.refresh_from_db()
        if was.left_out:
            leave_row_out(row)
        for field in was.cells:
            leave_cell_out(row, field)


MOST_SHOWN = 200
"""Instruments that are gone from a list and can be chosen one by one."""


@dataclass(frozen=True, slots=True)
class Gone:
    """What is gone from an updated list: all item numbers, and the first ones as rows, each with
    ``sets``, the count sheets in force that have it."""

    numbers: Sequence[str]
    first: Sequence[Instrument]

    @property
    def more(self) -> int:
        """How many cannot be chosen one by one."""
        return len(self.numbers) - len(self.first)


def gone_from(batch: SpreadsheetBatch) -> Gone:
    """What may be retired with the batch: nothing where the list holds a part of the catalog."""
    numbers = _gone(batch)
    in_force = Q(lines__count_sheet__state=CountSheet.State.CURRENT)
    first = Instrument.objects.filter(item_number__in=numbers[:MOST_SHOWN], retired=False)
    sets = Count("lines__count_sheet", filter=in_force, distinct=True)
    return Gone(numbers, list(first.annotate(sets=sets)) if numbers else [])


def retired_by(batch: SpreadsheetBatch, chosen: Collection[str], *, all_: bool) -> list[str]:
    """The item numbers to retire: those chosen, or all, and none that is not gone."""
    return [number for number in _gone(batch) if all_ or number in chosen]


def _gone(batch: SpreadsheetBatch) -> list[str]:
    """Those that get another number are not gone."""
    updated = batch.report.get("updated", {})
    if not updated.get("is_updated"):
        return []
    renumbered = {row.renumbers for row in batch.rows.exclude(same_as=None).exclude(changes=[])}
    return [number for number in updated["gone"] if number not in renumbered]

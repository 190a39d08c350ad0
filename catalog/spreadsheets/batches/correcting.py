"""Cells of a checked spreadsheet that a person corrects on its page, or says to be right.

The file stays as it was sent. What was said is on record, and is laid over the file whenever it
is read again: for a check, for applying, for the workbooks to fetch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction

from catalog.actions import Actor, record
from catalog.models import Change, SpreadsheetBatch, SpreadsheetCorrection
from catalog.spreadsheets.workbook.correcting import At, corrected
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook

NO_CELL = "unnumbered_set"
"""A problem whose answer has no cell: nothing says where the number would stand."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a person says of one cell: what they saw in it, and the text that belongs in it, or
    that what they saw is ``right``."""

    at: At
    was: str
    now: str
    right: bool = False

    @property
    def is_new(self) -> bool:
        """Whether it says anything: gaps between words make no difference."""
        return self.right or not same(self.was, self.now)


class MeanwhileError(Exception):
    """Nothing was corrected, because something happened meanwhile; the message says what."""


def last_said(corrections: Iterable[SpreadsheetCorrection]) -> dict[At, SpreadsheetCorrection]:
    """The last correction of each cell that has any."""
    return {(each.sheet, each.row, each.column): each for each in corrections}


def read_batch(batch: SpreadsheetBatch) -> Workbook:
    """The file of a batch with what people said of its letters and its cells."""
    typed: dict[At, str] = {}
    right: set[At] = set()
    for each in batch.corrections.all():
        at = (each.sheet, each.row, each.column)
        if not each.right:
            typed[at] = each.now
            right.discard(at)
        elif each.choice == batch.mapping.get(each.sheet):
            right.add(at)  # By other columns or units it would be something else that is right.
    workbook = read_workbook(bytes(batch.content), batch.file_name, batch.encoding)
    return corrected(workbook, typed, frozenset(right))


def typed_in(batch: SpreadsheetBatch, cells: Iterable[At]) -> dict[At, str]:
    """What each of these cells holds now. Cells of no row in question are left out."""
    wanted = set(cells)
    found: dict[At, str] = {}
    rows = batch.rows.filter(row__in={row for _, row, _ in wanted}).exclude(problems=[])
    for row in rows:
        for at in wanted:
            if at[:2] == (row.sheet, row.row):
                found[at] = row.cells.get(at[2], "") or found.get(at, "")
    for each in batch.report.get("problems", []):
        at = (each["sheet"], each["row"], each["column"])
        if at in wanted and each["code"] != NO_CELL:
            found.setdefault(at, each["value"])
    return found


def same(one: str, other: str) -> bool:
    """Whether two texts of a cell are read alike: no reader minds the gaps.

    >>> same("HF-1 ", "HF-1"), same("HF-1", "HF-2")
    (True, False)
    """
    return one.split() == other.split()


@transaction.atomic
def correct(batch: SpreadsheetBatch, actor: Actor, said: Sequence[Said]) -> int:
    """Put on record what a person said of some cells; how many they are.

    MeanwhileError, and nothing is put on record, where one of them holds something else by now,
    where nobody asks about it any more, or while the rows are checked or applied.
    """
    batch = SpreadsheetBatch.objects.defer("content").select_for_update().get(pk=batch.pk)
    if batch.job or batch.state != SpreadsheetBatch.State.CHECKED:
        raise MeanwhileError("Every row is being checked or applied just now. Send it after that.")
    news = [each for each in said if each.is_new]
    _refuse_overwriting(batch, news)
    headings = headings_of(batch)
    rows = [
        SpreadsheetCorrection(
            batch=batch, sheet=each.at[0], row=each.at[1], column=each.at[2],
            heading=headings.get((each.at[0], each.at[2]), "")[:250],
            was=each.was, now=each.was if each.right else each.now, right=each.right,
            choice=batch.mapping.get(each.at[0]) if each.right else None, by=actor.name,
        )
        for each in news
    ]  # fmt: skip
    for row in rows:
        row.save()
    if rows:
        before = {row.cell: row.was for row in rows}
        after = {row.cell: f"{row.now}, which is right" if row.right else row.now for row in rows}
        record(actor, Change.Verb.CHANGED, batch, batch.label, before, after)
    return len(rows)


def _refuse_overwriting(batch: SpreadsheetBatch, said: Sequence[Said]) -> None:
    """What was said last is in the cell, though the rows may not have been checked since."""
    typed, last = typed_in(batch, [each.at for each in said]), last_said(batch.corrections.all())
    told = []
    for each in said:
        by = last.get(each.at)
        if each.at in typed and same(by.now if by else typed[each.at], each.was):
            continue
        where = f"{each.at[2]}{each.at[1]} of “{each.at[0]}”"
        if by is not None and not same(by.now, each.was):
            told.append(f"{by.by} wrote “{by.now}” into {where}.")
        else:
            told.append(f"Nothing is asked about {where} any more.")
    if told:
        raise MeanwhileError(" ".join(told))


def headings_of(batch: SpreadsheetBatch) -> Mapping[tuple[str, str], str]:
    """Sheet and column letter to the heading there."""
    return {
        (sheet["title"], column["letter"]): column["heading"]
        for sheet in batch.proposals
        for column in sheet["columns"]
    }

"""The two workbooks a person can fetch after a check."""

from __future__ import annotations

import subprocess
import sys
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from django.conf import settings
from django.db.models import prefetch_related_objects

from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.correcting import last_said, read_batch
from catalog.spreadsheets.cells.report import ONCE_A_COLUMN
from catalog.spreadsheets.checking.proposing import CHOICES_OF
from catalog.spreadsheets.checking.sheets import tables_below, tables_in
from catalog.spreadsheets.checking.tables import Table
from catalog.spreadsheets.columns.choices import choices_from_json
from catalog.spreadsheets.workbook.marking import Mark, marked_workbook, refused_workbook

MOST_ROWS_MARKED = 10_000
"""Colouring holds the whole workbook in memory, about 1 kB a cell (measured)."""


class TooLargeToMarkError(Exception):
    """The workbook is too large to be written while a person waits."""

    CODE = 3
    """With it the process ends that was started for the workbook."""


def marked_file(batch: SpreadsheetBatch) -> bytes:
    """The person's own workbook, coloured. TooLargeToMarkError beyond the limit."""
    data = bytes(batch.content)
    prefetch_related_objects([batch], "corrections")
    workbook = read_batch(batch)
    rows = sum(len(sheet.rows) for sheet in workbook.sheets)
    if rows > MOST_ROWS_MARKED:
        raise TooLargeToMarkError(
            f"The file has {rows:,} rows; up to {MOST_ROWS_MARKED:,} can be coloured. Take the "
            "workbook with the refused rows."
        )
    typed = {
        at: each.now for at, each in last_said(batch.corrections.all()).items() if not each.right
    }
    return marked_workbook(data, workbook, _marks(batch), typed)


def _marks(batch: SpreadsheetBatch) -> Iterator[Mark]:
    for row in batch.rows.exclude(problems=[]):
        for each in row.problems:
            yield Mark(row.sheet, each["row"], each["column"], each["effect"], each["message"])
    for row in batch.rows.exclude(same_as=None):
        column = batch.report.get("mapping", {}).get(row.sheet, {}).get("name", "")
        like = row.same_as or {}
        message = f"This may be the same as {like.get('key')}, {like.get('name')}."
        yield Mark(row.sheet, row.row, column, "note", message)
    for each in batch.report.get("problems", []):
        yield Mark(each["sheet"], each["row"], each["column"], each["effect"], each["message"])
    for at, said in last_said(batch.corrections.all()).items():
        words = f"{said.by} on {said.at:%Y-%m-%d %H:%M}"
        message = f"Corrected by {words}. It was “{said.was}”."
        if said.right:
            message = f"It is right, said {words}."
        yield Mark(at[0], at[1], at[2], "corrected", message)
    for note in batch.report.get("notes", []):
        if note["column"] and note["code"] not in ONCE_A_COLUMN:
            yield Mark(note["sheet"], note["row"], note["column"], "note", note["message"])


def refused_file(batch: SpreadsheetBatch) -> bytes:
    """The rows that do not go in, with their reasons, below the headings of their sheets."""
    workbook = read_batch(batch)
    choices = choices_from_json(batch.mapping)
    columns = CHOICES_OF[batch.kind or "instruments"]
    tables, _ = tables_in(workbook, columns, choices)
    if batch.kind != "sets":
        tables = [part for table in tables for part in _parts(replace(table, columns=columns))]
    refused = batch.rows.filter(goes_in=False)
    reasons = {
        (row.sheet, row.row): [f"{each['heading']}: {each['message']}" for each in row.problems
                               if each["effect"] in ("refuses", "waits")]
        for row in refused.iterator()
    }  # fmt: skip
    groups = {
        (table.sheet.title, each.row.number): each.group
        for table in tables
        for each in table.walk()
        if each.group and (table.sheet.title, each.row.number) in reasons
    }
    headers: dict[str, list[int]] = {}
    for table in tables:
        headers.setdefault(table.sheet.title, []).append(table.header.number)
    return refused_workbook(workbook, headers, reasons, groups)


def _parts(table: Table) -> Iterator[Table]:
    """A table and those with headings of their own below it."""
    part: Table | None = table
    while part is not None:
        yield part
        deque(part.walk(), maxlen=0)
        part, _ = tables_below(part)


FILES: Mapping[str, Callable[[SpreadsheetBatch], bytes]] = {
    "marked": marked_file,
    "refused": refused_file,
}
"""The workbooks by name."""
SECONDS = 25
"""A person waits no longer for one, nor does the web server's worker."""


def written(batch: SpreadsheetBatch, name: str) -> bytes:
    """One of :data:`FILES`, from a process of its own. TooLargeToMarkError where it cannot."""
    if settings.BACKGROUND_IN_PROCESS:
        return FILES[name](batch)
    command = [sys.executable, "-m", "django", "write_spreadsheet_download", str(batch.pk), name]
    try:
        done = subprocess.run(
            command, cwd=settings.BASE_DIR, capture_output=True, check=False, timeout=SECONDS
        )
    except subprocess.TimeoutExpired as error:
        raise TooLargeToMarkError(TOO_MUCH) from error
    if done.returncode == TooLargeToMarkError.CODE:
        raise TooLargeToMarkError(done.stderr.decode().strip().removeprefix("CommandError: "))
    if done.returncode:
        sys.stderr.write(done.stderr.decode(errors="replace"))  # its lines, in our log
        raise TooLargeToMarkError(TOO_MUCH)
    return done.stdout


TOO_MUCH = "The workbook needs more time or memory than one person's may take. Split the list."

"""Running the long work of a batch beside the web server, and telling whether it still runs."""

from __future__ import annotations

import hashlib
import os
import socket
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import connection

from catalog import background
from catalog.actions import Actor
from catalog.actions.staging import finish_records
from catalog.background import ENDING_S, Progress
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.applying import Applied, HowFar, apply_report, nobody_watches
from catalog.spreadsheets.batches.verbs import ended, keep, run, stopped_state
from catalog.spreadsheets.batches.writing import is_applied, last_change, refuse_changed
from catalog.spreadsheets.cells.report import ColumnNotes, Report, Verdict

HOST = socket.gethostname()
TOO_MUCH = (
    "If that comes again, the file needs more memory or time than a check may use. Split the list, "
    "or save it as .xlsx."
)
"""What ends a job that parses a file is most often its limits."""
WRITTEN = (SpreadsheetBatch.State.APPLIED, SpreadsheetBatch.State.REVERTED)


def progress_file(batch: SpreadsheetBatch) -> Path:
    """The file of a batch, in a folder that only this account can enter; two databases on one
    machine have different ones."""
    folder = Path(tempfile.gettempdir()) / f"packbench-jobs-{os.getuid()}"
    folder.mkdir(mode=0o700, exist_ok=True)
    database = hashlib.sha256(str(connection.settings_dict["NAME"]).encode()).hexdigest()[:12]
    return folder / f"{database}-{batch.pk}"


def start(batch: SpreadsheetBatch, job: str) -> None:
    """Mark the batch as busy and start the job. BlockingIOError when one is running for it, or
    when it is no more in the state in which it was read: the same button was pressed twice."""
    if settings.BACKGROUND_IN_PROCESS:
        _claim(batch, job)
        run(batch.pk, job)
        batch.refresh_from_db()
        return
    busy = SpreadsheetBatch.objects.filter(pk=batch.pk).exclude(job="").exists()
    with background.held(progress_file(batch), 0 if busy else ENDING_S) as lock:
        _claim(batch, job)
        background.start(lock, "run_spreadsheet_job", str(batch.pk), job)


def _claim(batch: SpreadsheetBatch, job: str) -> None:
    """Of two who press the same button, one changes this row; the other finds nothing to change."""
    as_read = SpreadsheetBatch.objects.filter(pk=batch.pk, job="", state=batch.state)
    if not as_read.update(job=job, host=HOST):
        raise BlockingIOError
    batch.job, batch.host, batch.said = job, HOST, ""
    if job == SpreadsheetBatch.Job.APPLY:
        batch.state = SpreadsheetBatch.State.APPLYING
    batch.save()


def apply_at_once(
    report: Report, data: bytes, by: str, how_far: HowFar = nobody_watches, encoding: str = ""
) -> tuple[SpreadsheetBatch, Applied]:
    """A report made just now, applied as a batch of its own in this process: for the command
    line. Killed, it shows as stopped like any other."""
    batch = SpreadsheetBatch.objects.create(
        file_name=report.file_name[-200:],
        sha256=report.sha256,
        content=data,
        encoding=encoding,
        kind=report.kind,
        by=by,
        applied_by=by,
        report=report.as_json(),
        selection={"groups": [str(verdict) for verdict in Verdict]},
        state=SpreadsheetBatch.State.APPLYING,
        job=SpreadsheetBatch.Job.APPLY,
        host=HOST,
    )
    seen = last_change()

    def within(applied: Applied) -> None:
        refuse_changed(batch, seen)
        is_applied(batch, applied)

    with background.held(progress_file(batch)):
        try:
            keep(batch, ((row, None) for row in report.rows), ColumnNotes())
            of = len(report.rows)
            return batch, apply_report(
                report,
                Actor(by, batch.label),
                lambda done: how_far(done, of),
                within,
            )
        except BaseException:
            ended(batch.pk, stopped_state(batch.job), "It was ended. Nothing was changed.")
            raise


def is_running(batch: SpreadsheetBatch) -> bool:
    """Whether the batch's job is alive. One on another machine is believed to be."""
    if not batch.job:
        return False
    return batch.host != HOST or background.is_running(progress_file(batch))


def progress_of(batch: SpreadsheetBatch) -> Progress:
    """What the job last said about how far it is."""
    return background.progress_in(progress_file(batch))


def settle(batch: SpreadsheetBatch) -> SpreadsheetBatch:
    """The batch as it really is: one whose job is gone is marked as stopped; the records that a
    killed job left due are written."""
    if batch.state in WRITTEN and not background.is_running(progress_file(batch)):
        finish_records(batch.label)
    if not batch.job or is_running(batch):
        return batch
    said = f"The program was stopped while {batch.get_job_display().lower()}. Nothing was changed."
    if batch.job in (SpreadsheetBatch.Job.LOOK, SpreadsheetBatch.Job.CHECK):
        said += f" {TOO_MUCH}"
    # A job that ended by itself in this moment has written its own end: then nothing matches.
    SpreadsheetBatch.objects.filter(pk=batch.pk, job=batch.job, state=batch.state).update(
        job="", state=stopped_state(batch.job), said=said
    )
    batch.refresh_from_db()
    return batch

"""Running the long work of a batch beside the web server, and telling whether it still runs.

A job is a child process with a database connection of its own. It outlives the page, and the
web server too. Whether it lives is told by a lock on a small file that it inherits: the
kernel lets go of the lock when the process ends, for whatever reason, so that no dead job
can look alive. The same file holds how far it is, because a transaction hides that from
every other connection.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import os
import socket
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection

from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.verbs import run, stopped_state

HOST = socket.gethostname()
ENDING_S = 10.0
"""How long the process of an ended job may take to go."""
FD_OPTION = "--progress-fd"
_started: list[subprocess.Popen[bytes]] = []


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a job is; ``of`` is 0 while nobody knows."""

    done: int = 0
    of: int = 0

    @property
    def percent(self) -> int:
        return min(100, 100 * self.done // self.of) if self.of else 0


def folder() -> Path:
    """Where the files of running jobs lie; only this account can enter."""
    path = Path(tempfile.gettempdir()) / f"packbench-jobs-{os.getuid()}"
    path.mkdir(mode=0o700, exist_ok=True)
    return path


def progress_file(batch: SpreadsheetBatch) -> Path:
    """The file of a batch; two databases on one machine have different ones."""
    database = hashlib.sha256(str(connection.settings_dict["NAME"]).encode()).hexdigest()[:12]
    return folder() / f"{database}-{batch.pk}"


def start(batch: SpreadsheetBatch, job: str) -> None:
    """Mark the batch as busy and start the job. BlockingIOError when one is running for it."""
    busy = SpreadsheetBatch.objects.filter(pk=batch.pk).exclude(job="").exists()
    batch.job, batch.host, batch.said = job, HOST, ""
    if job == SpreadsheetBatch.Job.APPLY:
        batch.state = SpreadsheetBatch.State.APPLYING
    if settings.SPREADSHEET_JOBS_IN_PROCESS:
        batch.save()
        run(batch.pk, job)
        batch.refresh_from_db()
        return
    lock = os.open(progress_file(batch), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _take(lock, 0 if busy else ENDING_S)
        batch.save()
        _spawn(batch, job, lock)
    finally:
        os.close(lock)  # The child holds the same lock from now on.


def _take(lock: int, patience_s: float) -> None:
    """Lock the file. The process of a job that has just ended may hold it a moment longer."""
    end = time.monotonic() + patience_s
    while True:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if time.monotonic() > end:
                raise
            time.sleep(0.02)
        else:
            os.truncate(lock, 0)
            return


def _spawn(batch: SpreadsheetBatch, job: str, lock: int) -> None:
    _started[:] = [process for process in _started if process.poll() is None]
    command = [sys.executable, "-m", "django", "run_spreadsheet_job", str(batch.pk), job]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": settings.SETTINGS_MODULE}
    _started.append(
        subprocess.Popen(
            [*command, FD_OPTION, str(lock)],
            cwd=settings.BASE_DIR,
            env=environment,
            pass_fds=(lock,),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    )


def is_running(batch: SpreadsheetBatch) -> bool:
    """Whether the batch's job is alive. One on another machine is believed to be."""
    if not batch.job:
        return False
    if batch.host != HOST:
        return True
    try:
        file = os.open(progress_file(batch), os.O_RDWR)
    except FileNotFoundError:
        return False
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(file)
    return False


def progress_of(batch: SpreadsheetBatch) -> Progress:
    """What the job last said about how far it is."""
    with contextlib.suppress(OSError, ValueError):
        done, of = progress_file(batch).read_text(encoding="ascii").split()
        return Progress(int(done), int(of))
    return Progress()


def write_progress(file: int, done: int, of: int) -> None:
    """Say how far the job is; ``file`` is the inherited descriptor."""
    os.pwrite(file, f"{done:>12} {of:>12}".encode("ascii"), 0)


def settle(batch: SpreadsheetBatch) -> SpreadsheetBatch:
    """The batch as it really is: one whose job is gone is marked as stopped."""
    if not batch.job or is_running(batch):
        return batch
    said = f"The program was stopped while {batch.get_job_display().lower()}. Nothing was changed."
    # A job that ended by itself in this moment has written its own end: then nothing matches.
    SpreadsheetBatch.objects.filter(pk=batch.pk, job=batch.job, state=batch.state).update(
        job="", state=stopped_state(batch.job), said=said
    )
    batch.refresh_from_db()
    return batch

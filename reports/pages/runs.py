"""Long print runs in the background: progress that can be asked for, a stop, a file.

A run lives in files of its own folder, so that any process of the program can answer for
it. A run whose process is gone is told by its silence. Files are swept after a day.
"""

from __future__ import annotations

import json
import shutil
import threading
import time
import uuid
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from django.db import connections

from reports.documents.papers import PrintError
from reports.drawing.files import Cancelled, Progress
from reports.gathering.from_catalog import NothingToPrint

KEPT_S = 24 * 60 * 60
SILENT_S = 120
TELL_EVERY_S = 0.3
STOP, STATE, FILE = "stop", "state.json", "run.pdf"

Draw = Callable[[Progress, BinaryIO], str | None]
"""Draws a whole run into a file and tells how far it is; returns what is said at its end."""


@dataclass(frozen=True, slots=True)
class Run:
    """A run as it stands; ``state`` is "running", "done", "stopped" or "failed"."""

    title: str
    total: int
    done: int = 0
    state: str = "running"
    problem: str = ""
    said: str = ""


def folder(run: uuid.UUID) -> Path:
    """Where a run's files lie."""
    return Path(settings.PRINT_FOLDER) / str(run)


def start(title: str, total: int, draw: Draw) -> uuid.UUID:
    """Begin ``draw`` in a thread of its own; returns the run's name at once."""
    run = open_run(title, total)
    threading.Thread(target=work, args=(run, draw), kwargs={"last": True}, daemon=True).start()
    return run


def open_run(title: str, total: int) -> uuid.UUID:
    """A new run that nobody works on yet; old ones are swept away."""
    _sweep()
    run = uuid.uuid4()
    folder(run).mkdir(parents=True)
    _tell(run, Run(title, total))
    return run


def work(run: uuid.UUID, draw: Draw, *, last: bool = False) -> None:
    """Draw the run and keep its file, or what stopped it."""
    told = state(run) or Run("", 0)
    progress, at = told, 0.0
    unfinished = folder(run) / f"{FILE}.new"

    def tell(done: int) -> None:
        nonlocal progress, at
        if (folder(run) / STOP).exists():
            raise Cancelled(done)
        progress = replace(told, done=done)
        if time.monotonic() - at > TELL_EVERY_S:
            at = time.monotonic()
            _tell(run, progress)

    try:
        with unfinished.open("wb") as out:
            said = draw(tell, out) or ""
        unfinished.replace(folder(run) / FILE)
        _tell(run, replace(progress, state="done", said=said))
    except Cancelled as stop:
        _tell(run, replace(progress, state="stopped", problem=str(stop)))
    except (PrintError, NothingToPrint) as problem:
        _tell(run, replace(progress, state="failed", problem=str(problem)))
    except Exception:
        _tell(run, replace(progress, state="failed", problem="The program failed. See its log."))
        raise
    finally:
        unfinished.unlink(missing_ok=True)
        if last:
            connections.close_all()


def state(run: uuid.UUID) -> Run | None:
    """How a run stands; None when there is none of that name."""
    path = folder(run) / STATE
    if not path.exists():
        return None
    found = Run(**json.loads(path.read_text(encoding="utf-8")))
    if found.state == "running" and time.time() - path.stat().st_mtime > SILENT_S:
        return replace(found, state="failed", problem="The run was lost. Start it again.")
    return found


def stop(run: uuid.UUID) -> None:
    """Ask a run to stop; it does so before its next document."""
    if folder(run).exists():
        (folder(run) / STOP).touch()


def file(run: uuid.UUID) -> Path | None:
    """The finished PDF; None before it is done."""
    path = folder(run) / FILE
    return path if path.exists() else None


def _tell(run: uuid.UUID, told: Run) -> None:
    """Written beside and moved over, so that nobody reads half of it."""
    new = folder(run) / f"{STATE}.new"
    new.write_text(json.dumps(asdict(told)), encoding="utf-8")
    new.replace(folder(run) / STATE)


def _sweep() -> None:
    root = Path(settings.PRINT_FOLDER)
    root.mkdir(parents=True, exist_ok=True)
    for old in root.iterdir():
        if old.is_dir() and time.time() - old.stat().st_mtime > KEPT_S:
            shutil.rmtree(old, ignore_errors=True)

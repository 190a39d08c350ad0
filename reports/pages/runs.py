"""Long print runs in the background: progress that can be asked for, a stop, a file.

A run lives in files of its own folder, so that any process of the program can answer for
it; it is drawn by ``catalog.background``. Files are swept after a day.
"""

from __future__ import annotations

import json
import shutil
import time
import uuid
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO

from django.conf import settings
from django.core.management import call_command

from catalog import background
from reports.documents.papers import NothingToPrint, PrintError
from reports.drawing.files import Cancelled, Progress

KEPT_S = 24 * 60 * 60
STOP, STATE, FILE = "stop", "state.json", "run.pdf"
ASKED, PROGRESS = "asked.json", "progress"
COMMAND = "print_run"

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


def start(title: str, total: int, asked: Mapping[str, Any]) -> uuid.UUID:
    """Begin a run of what was asked for, beside the web server; returns its name at once."""
    run = open_run(title, total)
    (folder(run) / ASKED).write_text(json.dumps(asked), encoding="utf-8")
    with background.held(folder(run) / PROGRESS) as lock:
        if settings.BACKGROUND_IN_PROCESS:
            call_command(COMMAND, str(run), progress_fd=lock)
        else:
            background.start(lock, COMMAND, str(run))
    return run


def asked_of(run: uuid.UUID) -> dict[str, Any]:
    """What was asked for when the run was started."""
    return dict(json.loads((folder(run) / ASKED).read_text(encoding="utf-8")))


def open_run(title: str, total: int) -> uuid.UUID:
    """A new run that nobody works on yet; old ones are swept away."""
    _sweep()
    run = uuid.uuid4()
    folder(run).mkdir(parents=True)
    _tell(run, Run(title, total))
    return run


def work(
    run: uuid.UUID, draw: Draw, how_far: Callable[[int, int], None] = lambda done, of: None
) -> None:
    """Draw the run and keep its file, or what stopped it."""
    told = _told(run)
    unfinished = folder(run) / f"{FILE}.new"

    def tell(done: int) -> None:
        if (folder(run) / STOP).exists():
            raise Cancelled(done)
        how_far(done, told.total)

    try:
        with unfinished.open("wb") as out:
            said = draw(tell, out) or ""
        unfinished.replace(folder(run) / FILE)
        _tell(run, replace(told, state="done", said=said))
    except Cancelled as stop:
        _tell(run, replace(told, state="stopped", problem=str(stop)))
    except (PrintError, NothingToPrint) as problem:
        _tell(run, replace(told, state="failed", problem=str(problem)))
    except Exception:
        _tell(run, replace(told, state="failed", problem="The program failed. See its log."))
        raise
    finally:
        unfinished.unlink(missing_ok=True)


def state(run: uuid.UUID) -> Run | None:
    """How a run stands; None when there is none of that name."""
    if not (folder(run) / STATE).exists():
        return None
    # Asked before its words are read: a run that is gone by now has written its end before.
    lives = background.is_running(folder(run) / PROGRESS)
    found = _told(run)
    if found.state == "running" and not lives:
        return replace(found, state="failed", problem="The run was lost. Start it again.")
    return replace(found, done=background.progress_in(folder(run) / PROGRESS).done)


def stop(run: uuid.UUID) -> None:
    """Ask a run to stop; it does so before its next document."""
    if folder(run).exists():
        (folder(run) / STOP).touch()


def file(run: uuid.UUID) -> Path | None:
    """The finished PDF; None before it is done."""
    path = folder(run) / FILE
    return path if path.exists() else None


def _told(run: uuid.UUID) -> Run:
    return Run(**json.loads((folder(run) / STATE).read_text(encoding="utf-8")))


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

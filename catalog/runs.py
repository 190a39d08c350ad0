"""Files that take long, made beside the web server: how far one is, a stop, the file.

A run lives in files of its own folder, so that any process of the program can answer for
it; it is made by ``catalog.background``. Files are swept after a day.
"""

from __future__ import annotations

import json
import os
import shutil
import time
import uuid
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.test import RequestFactory
from django.urls import resolve

from catalog import background

KEPT_S = 24 * 60 * 60
STOP, STATE, FILE = "stop", "state.json", "file"
ASKED, PROGRESS = "asked.json", "progress"
ASK_AGAIN = "ask_again"
GIVES_WAY = 10
"""How much sooner than a run everybody's pages get the processor (``nice``)."""

Progress = Callable[[int], None]
"""Told how much is done. To stop the run it raises :class:`StoppedError`."""
Make = Callable[[Progress, BinaryIO], str | None]
"""Makes the whole file and tells how far it is; returns what is said at its end."""


class StoppedError(Exception):
    """Somebody stopped the run. Nothing of it is kept."""

    def __init__(self, done: int) -> None:
        super().__init__(f"It was stopped after {done:,}. Nothing was kept.")


@dataclass(frozen=True, slots=True)
class Run:
    """A run as it stands; ``state`` is "running", "done", "stopped" or "failed".

    Who has the ``permission`` may see it, and have the file under its ``name``; or its page leads
    on to the address ``then``, which needs what the run has found.
    """

    title: str
    total: int
    permission: str
    name: str = ""
    kind: str = ""
    then: str = ""
    done: int = 0
    state: str = "running"
    problem: str = ""
    said: str = ""


def folder(run: uuid.UUID) -> Path:
    """Where a run's files lie."""
    return Path(settings.PRINT_FOLDER) / str(run)


def start(told: Run, asked: Mapping[str, Any], command: str, run: uuid.UUID) -> uuid.UUID:
    """Begin a run of what was asked for, by this command beside the web server; its name at once.

    One of this name that goes on already is left alone.
    """
    _sweep()
    folder(run).mkdir(parents=True, exist_ok=True)
    try:
        with background.held(folder(run) / PROGRESS, 0) as lock:
            open_run(told, run)
            (folder(run) / ASKED).write_text(json.dumps(asked), encoding="utf-8")
            if settings.BACKGROUND_IN_PROCESS:
                call_command(command, str(run), progress_fd=lock)
            else:
                background.start(lock, command, str(run))
    except BlockingIOError:
        pass
    return run


def asked_of(run: uuid.UUID) -> dict[str, Any]:
    """What was asked for when the run was started."""
    return dict(json.loads((folder(run) / ASKED).read_text(encoding="utf-8")))


def open_run(told: Run, run: uuid.UUID) -> None:
    """A run that nobody works on yet, in the place of one that has ended."""
    folder(run).mkdir(parents=True, exist_ok=True)
    for old in (STOP, FILE):
        (folder(run) / old).unlink(missing_ok=True)
    _tell(run, told)


def work(
    run: uuid.UUID,
    make: Make,
    how_far: Callable[[int, int], None] = lambda done, of: None,
    refusals: tuple[type[Exception], ...] = (),
) -> None:
    """Make the run's file and keep it, or what stopped it. ``refusals`` say it for people."""
    told = _told(run)
    unfinished = folder(run) / f"{FILE}.new"

    def tell(done: int) -> None:
        if (folder(run) / STOP).exists():
            raise StoppedError(done)
        how_far(done, told.total)

    try:
        with unfinished.open("wb") as out:
            said = make(tell, out) or ""
        unfinished.replace(folder(run) / FILE)
        _tell(run, replace(_told(run), state="done", said=said))
    except StoppedError as stop:
        _tell(run, replace(told, state="stopped", problem=str(stop)))
    except refusals as problem:
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
    """Ask a run to stop; it does so before its next document or some hundred rows."""
    if folder(run).exists():
        (folder(run) / STOP).touch()


def file(run: uuid.UUID) -> Path | None:
    """The finished file; None before it is done."""
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


# --- an address whose file takes long ------------------------------------------------------


def beside(
    request: HttpRequest, told: Run, address: str = "", **cookies: str
) -> HttpResponse | None:
    """To the page of a run that asks this address again, or another, as the same person and with
    these ``cookies``, and keeps the file that it answers. None for the run itself: it is to answer.

    Pressed twice it is one run.
    """
    if hasattr(request, "progress"):
        return None
    query = request.META.get("QUERY_STRING", "")
    asked = {"address": address or f"{request.path_info}?{query}", "user": request.user.pk,
             "cookies": cookies}  # fmt: skip
    name = uuid.uuid5(uuid.NAMESPACE_URL, json.dumps(asked, sort_keys=True))
    return redirect("run", run=start(told, asked, ASK_AGAIN, name))


def ask_again(run: uuid.UUID, tell: Progress, out: BinaryIO) -> None:
    """Ask the run's address and keep what it answers."""
    if not settings.BACKGROUND_IN_PROCESS:
        os.nice(GIVES_WAY)
    asked = asked_of(run)
    request: Any = RequestFactory().get(asked["address"])
    request.user = get_user_model().objects.get(pk=asked["user"])
    request.COOKIES |= asked["cookies"]
    request.htmx, request.progress = False, tell
    found = resolve(request.path_info)
    answer = found.func(request, *found.args, **found.kwargs)
    if answer.status_code != 200:
        raise ValueError(f"{asked['address']} answered {answer.status_code}")
    # Not closed: that ends a server's request, and the connection with it, which is the run's.
    for part in answer if answer.streaming else [answer.content]:
        out.write(part)
    named = answer.headers.get("Content-Disposition", "").partition('filename="')[2].rstrip('"')
    _tell(run, replace(_told(run), name=named, kind=answer.headers["Content-Type"]))

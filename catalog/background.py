"""Long work beside the web server: a management command in a process of its own.

The process has its own database connection and outlives the page, and the web server too.
Whether it lives is told by a lock on a small file that it inherits: the kernel lets go of the
lock when the process ends, for whatever reason, so that no dead work can look alive. The same
file holds how far it is, because a transaction hides that from every other connection.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import subprocess
import sys
import time
from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

ENDING_S = 10.0
"""How long the process of ended work may take to go."""
SAY_EVERY_S = 0.2
FD_OPTION = "--progress-fd"
_started: list[subprocess.Popen[bytes]] = []


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the work is; ``of`` is 0 while nobody knows."""

    done: int = 0
    of: int = 0

    @property
    def percent(self) -> int:
        return min(100, 100 * self.done // self.of) if self.of else 0


@contextmanager
def held(file: Path, patience_s: float = ENDING_S) -> Iterator[int]:
    """The file's lock, to be handed to ``start``; BlockingIOError while other work holds it.

    The process of work that has just ended may hold it a moment longer: so long it is waited.
    """
    lock = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        _take(lock, patience_s)
        yield lock
    finally:
        os.close(lock)  # The process that was started holds the same lock from now on.


def _take(lock: int, patience_s: float) -> None:
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


def start(lock: int, *command: str) -> None:
    """Start ``manage.py`` with this command; the process inherits the lock and holds it.

    Its errors go where the web server's go.
    """
    _started[:] = [process for process in _started if process.poll() is None]
    _started.append(
        subprocess.Popen(
            [sys.executable, "-m", "django", *command, FD_OPTION, str(lock)],
            cwd=settings.BASE_DIR,
            pass_fds=(lock,),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            start_new_session=True,
        )
    )


def is_running(file: Path) -> bool:
    """Whether a process on this machine holds the file's lock."""
    try:
        lock = os.open(file, os.O_RDWR)
    except FileNotFoundError:
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(lock)
    return False


def progress_in(file: Path) -> Progress:
    """What the work last said about how far it is."""
    with contextlib.suppress(OSError, ValueError):
        done, of = file.read_text(encoding="ascii").split()
        return Progress(int(done), int(of))
    return Progress()


# --- in the process that was started -----------------------------------------------------


def add_progress_option(parser: ArgumentParser) -> None:
    """The option by which a command is given the inherited file."""
    parser.add_argument(FD_OPTION, dest="progress_fd", type=int, required=True)


def teller(file: int) -> Callable[[int, int], None]:
    """Says how far the work is, now and then; ``file`` is the inherited descriptor."""
    said = 0.0

    def how_far(done: int, of: int) -> None:
        nonlocal said
        if time.monotonic() - said > SAY_EVERY_S:
            said = time.monotonic()
            os.pwrite(file, f"{done:>12} {of:>12}".encode("ascii"), 0)

    return how_far

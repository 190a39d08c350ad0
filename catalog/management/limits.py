"""Limits on memory and time for whatever parses a file from outside, and the sentences for them.

The pages' jobs run in processes of their own; the command makes one for itself. A hostile file ends
that process and no other, and the person reads why.
"""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from typing import NoReturn

from django.db import connections

MEMORY_BYTES = 1_500_000_000
"""Address space of a process that parses a file; a list of 50,000 rows needs a tenth of it."""
CPU_SECONDS = 600
WALL_SECONDS = 1800
STOPPED = 130
"""What a command ends with when somebody stops it, as shells have it."""

TOO_MUCH_MEMORY = "The file needs more memory than a check may use. Split the list."
_TOO_MUCH_TIME = "The file needs more time than a check may take. Split the list."
_WHY = {
    signal.SIGXCPU: _TOO_MUCH_TIME,
    signal.SIGALRM: _TOO_MUCH_TIME,
    signal.SIGABRT: TOO_MUCH_MEMORY,
    signal.SIGSEGV: TOO_MUCH_MEMORY,
}
"""The signal that ended the process to what that means here. A library that is not Python's own
ends the process where it gets no memory."""


@contextlib.contextmanager
def limited(cpu_seconds: int | None = None) -> Iterator[None]:
    """Hold this process to the limits on memory and processor time while a file is parsed;
    :data:`CPU_SECONDS` unless fewer are named."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    before = [
        (each, resource.getrlimit(each)) for each in (resource.RLIMIT_AS, resource.RLIMIT_CPU)
    ]
    try:
        limits = (MEMORY_BYTES, int(time.process_time()) + (cpu_seconds or CPU_SECONDS))
        for (which, (_, hard)), most in zip(before, limits, strict=True):
            resource.setrlimit(which, (most, hard))
        yield
    finally:
        for which, soft_and_hard in before:
            resource.setrlimit(which, soft_and_hard)


def in_child(work: Callable[[], None]) -> NoReturn:
    """Do the work in a child of this process and end as it ends; say why where a limit ended it.

    Ctrl-C is handed on to the child, and the second one kills it.
    """
    connections.close_all()
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child == 0:
        _as_child(work)
    stops = [signal.SIGKILL, signal.SIGINT]

    def stop(*_: object) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, stops.pop() if len(stops) > 1 else stops[0])

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, lambda *_: os.kill(child, signal.SIGTERM))
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if code < 0:
        sys.stderr.write(f"{_why(-code)}\n")
    sys.exit(abs(code) if code >= 0 else 1)


def _why(number: int) -> str:
    if number in _WHY:
        return f"{_WHY[signal.Signals(number)]} Nothing was changed."
    name = signal.Signals(number).name
    return f"The work was ended from outside ({name}). See on the page Spreadsheets what was read."


def _as_child(work: Callable[[], None]) -> NoReturn:
    signal.signal(signal.SIGINT, _stop_once)
    signal.alarm(WALL_SECONDS)
    code = 1
    try:
        work()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(bool(end.code))
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _stop_once(*_: object) -> None:
    """Ctrl-C reaches the child twice, from the terminal and from its parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    raise KeyboardInterrupt

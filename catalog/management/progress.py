"""A bar in the terminal for work that takes longer than a second."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TextIO

SILENT_S = 1.0
"""Work that is done sooner shows no bar."""
EVERY_S = 0.1
WIDTH = 40


class Bar:
    """Told how far the work is; draws on a terminal, and stays silent into a file.

    >>> import io
    >>> class Terminal(io.StringIO):
    ...     def isatty(self): return True
    >>> out, clock = Terminal(), iter([0.0, 2.0])
    >>> Bar("Checking", out, lambda: next(clock))(5, 10)
    >>> out.getvalue().strip()
    'Checking [####################                    ] 5 of 10'
    """

    def __init__(self, what: str, out: TextIO, clock: Callable[[], float] = time.monotonic) -> None:
        self._what, self._out, self._clock = what, out, clock
        self._next = clock() + SILENT_S
        self._drawn = False

    def __call__(self, done: int, of: int) -> None:
        """``done`` of ``of`` are done."""
        if not self._out.isatty() or self._clock() < self._next:
            return
        self._next += EVERY_S
        self._drawn = True
        full = WIDTH * done // of if of else 0
        bar = "#" * full + " " * (WIDTH - full)
        self._out.write(f"\r{self._what} [{bar}] {done} of {of}")
        self._out.flush()
        if done == of:
            self.end()

    def end(self) -> None:
        """Leave the bar's line."""
        if self._drawn:
            self._out.write("\n")
        self._drawn = False

"""What the print commands share: progress, the file to write, a clear end when it cannot be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from reports.drawing.files import Progress

TOLD_TIMES = 100


def write(data: bytes, file: str) -> None:
    """``data`` to ``file``; CommandError when that fails."""
    try:
        Path(file).write_bytes(data)
    except OSError as problem:
        raise CommandError(f"{file} cannot be written: {problem.strerror}.") from problem


def shown(stream: Any, total: int) -> Progress:
    """Progress on one line of ``stream``: "120 of 500"."""
    step = max(1, total // TOLD_TIMES)

    def tell(done: int) -> None:
        if done % step == 0 or done == total:
            end = "\n" if done == total else ""
            stream.write(f"\r{done} of {total}{end}", ending="")
            stream.flush()

    return tell

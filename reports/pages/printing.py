"""What the print commands share: progress, the file to write, a clear end when it cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from django.core.management.base import CommandError

from reports.drawing.files import Progress

TOLD_TIMES = 100


@contextmanager
def written(file: str) -> Iterator[BinaryIO]:
    """What to write ``file`` with: it is there whole in the end, or as it was before.

    CommandError when it cannot be written. A device, a pipe or a link is written to directly.
    """
    path = Path(file)
    beside = path.with_name(f"{path.name}.new")
    direct = path.is_symlink() or (path.exists() and not path.is_file())
    target = path if direct else beside
    try:
        with target.open("wb") as out:
            yield out
        if not direct:
            beside.replace(path)
    except OSError as problem:
        raise CommandError(f"{file} cannot be written: {problem.strerror}.") from problem
    finally:
        beside.unlink(missing_ok=True)


def write(data: bytes, file: str) -> None:
    """``data`` to ``file``; CommandError when that fails."""
    with written(file) as out:
        out.write(data)


def shown(stream: Any, total: int) -> Progress:
    """Progress on one line of ``stream``: "120 of 500"."""
    step = max(1, total // TOLD_TIMES)

    def tell(done: int) -> None:
        if done % step == 0 or done == total:
            end = "\n" if done == total else ""
            stream.write(f"\r{done} of {total}{end}", ending="")
            stream.flush()

    return tell

"""What the print commands share: the file to write and a clear end when it cannot be."""

from __future__ import annotations

from pathlib import Path

from django.core.management.base import CommandError


def write(data: bytes, file: str) -> None:
    """``data`` to ``file``; CommandError when that fails."""
    try:
        Path(file).write_bytes(data)
    except OSError as problem:
        raise CommandError(f"{file} cannot be written: {problem.strerror}.") from problem

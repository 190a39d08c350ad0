"""What the print commands share: progress, the file to write, a clear end when it cannot be."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from django.core.management.base import BaseCommand, CommandError
from django.db.models import Model, QuerySet

from catalog.data_files import DataError
from catalog.management.progress import Bar
from reports.documents.papers import NothingToPrint, PrintError
from reports.drawing.files import Progress

Row = TypeVar("Row", bound=Model)


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


def shown(total: int) -> Progress:
    """Progress as a bar in the terminal."""
    bar = Bar("Printing", sys.stderr)
    return lambda done: bar(done, total)


class PrintCommand(BaseCommand):
    """A command that writes a paper to the file named; it says why when it cannot be printed."""

    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF to write")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.print(**options)
        except (NothingToPrint, PrintError, DataError) as problem:
            raise CommandError(str(problem)) from problem
        except KeyboardInterrupt:
            raise CommandError("Stopped. Nothing was written.") from None

    def print(self, **options: Any) -> None:
        """Write the file and say what it is."""
        raise NotImplementedError


def found(rows: QuerySet[Row], problem: str, **by: str) -> Row:
    """The row that bears this number or code; CommandError with the ``problem`` where none does."""
    one = rows.filter(**{f"{name}__folded": value for name, value in by.items()}).first()
    if one is None:
        raise CommandError(problem)
    return one

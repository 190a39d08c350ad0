"""``manage.py export_lines FILE``: everything on record as JSON lines, while people work."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, BinaryIO

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from config.installation.lines import lines
from config.installation.lines_described import described


class Command(BaseCommand):
    help = (
        "Write everything on record as JSON lines, as it stands at this moment; people go on "
        "working. docs/json-lines.md says what each line holds."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", default="-", help="a new file; - standard output")
        parser.add_argument("--describe", action="store_true", help="what each line holds, instead")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["describe"]:
            self.stdout.write(described(), ending="")
        elif options["file"] == "-":
            self._write(sys.stdout.buffer)
        else:
            self._keep(Path(options["file"]))

    def _keep(self, file: Path) -> None:
        """Written beside and renamed: it appears whole or not at all. Its owner alone reads it."""
        if file.exists():
            raise CommandError(f"There is a file {file} already. Name a new one, with the date.")
        new = file.with_name(f"{file.name}.new")
        try:
            new.touch(0o600)
            with new.open("wb") as out:
                count = self._write(out)
            new.rename(file)
        except OSError as problem:
            raise CommandError(f"{file} cannot be written: {problem.strerror}.") from problem
        finally:
            new.unlink(missing_ok=True)
        self.stdout.write(f"{file}: {count:,} lines.")

    def _write(self, out: BinaryIO) -> int:
        count = 0
        try:
            for some in lines():
                out.write(some)
                count += some.count(b"\n")
        except DatabaseError as problem:
            raise CommandError(f"The database could not be read: {problem}") from problem
        return count

"""``manage.py backup FILE``: the database and the photographs, while people work."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from config.installation import backups
from config.installation.databases import BackupError


class Command(BaseCommand):
    help = (
        "Write the database as it stands at this moment, and the photographs, into a new file, "
        "and open it to check it. People go on working. PostgreSQL's own programs are not needed."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="such as backups/packbench-2026-11-26.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            told, missing = backups.make(options["file"])
        except (BackupError, OSError, DatabaseError) as problem:
            raise CommandError(f"No backup was made. {problem}") from problem
        self.stdout.write(f"{options['file']}: {told}. Opened and checked.")
        if missing:
            self.stdout.write(
                f"{len(missing)} photographs are on record and their files are not there: "
                f"{', '.join(missing[:3])}."
            )

"""``manage.py restore FILE``: a backup in the place of what ``DATABASE_URL`` names."""

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
        "Check a backup, bring it up to date, and put it in the place of the database that "
        "DATABASE_URL names, SQLite or PostgreSQL, wherever it was made: all of it, or nothing. "
        "Everybody has to sign in again."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--replace", action="store_true", help="even where the database holds rows: they go"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            told = backups.restore(options["file"], replace=options["replace"])
        except (BackupError, OSError, DatabaseError) as problem:
            raise CommandError(f"The database is as it was. {problem}") from problem
        self.stdout.write(f"{told}. Every table has as many rows as the backup.")

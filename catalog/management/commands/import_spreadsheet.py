"""``manage.py import_spreadsheet``: check a spreadsheet and, when told, read it in."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection

from catalog.actions import Actor
from catalog.spreadsheets.applying import KINDS, Applied, KindUnknown, apply_report, check
from catalog.spreadsheets.report import Effect, Report


class Command(BaseCommand):
    help = (
        "Check a spreadsheet of instruments or count sheets against the catalog. Without "
        "--commit it only reports; nothing is changed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help=".xlsx or .csv")
        parser.add_argument("--kind", choices=KINDS, help="what it holds; guessed when left out")
        parser.add_argument("--commit", action="store_true", help="read the good rows in")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")
        parser.add_argument("--as", dest="actor", default="command line", help="who imports it")

    def handle(self, *args: Any, **options: Any) -> None:
        path = Path(options["file"])
        try:
            data = path.read_bytes()
        except OSError as problem:
            raise CommandError(f"{path} cannot be opened: {problem.strerror}.") from problem
        no_catalog = not self._has_catalog()
        if no_catalog and options["commit"]:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py migrate first."
            )
        try:
            report = check(data, path.name, options["kind"], empty=no_catalog)
        except KindUnknown as problem:
            raise CommandError(str(problem)) from problem
        applied = None
        if options["commit"] and not report.file_problems:
            batch = f"{path.name} {report.sha256[:12]}"
            applied = apply_report(report, Actor(options["actor"], batch=batch))
        self._say(report, applied, options["json"])
        if report.file_problems:
            raise CommandError("The file was not read. Nothing was changed.")

    def _has_catalog(self) -> bool:
        try:
            return "catalog_instrument" in connection.introspection.table_names()
        except DatabaseError:
            return False

    def _say(self, report: Report, applied: Applied | None, as_json: bool) -> None:
        if as_json:
            said = report.as_json()
            said["committed"] = applied is not None
            if applied is not None:
                said["applied"] = {"done": dict(applied.done), "left": dict(applied.left)}
            self.stdout.write(json.dumps(said, indent=2, ensure_ascii=False, default=str))
        else:
            self._print(report, applied)

    def _print(self, report: Report, applied: Applied | None) -> None:
        write = self.stdout.write
        for problem in report.file_problems:
            write(f"{report.file_name}: {problem.message}")
        counts = ", ".join(f"{count} {verdict}" for verdict, count in report.counts.items())
        write(f"{report.file_name} ({report.kind}): {counts}")
        for note in report.column_notes:
            write(f"  note     {note.sheet}!{note.column}{note.row}  {note.message}")
        for found in report.problems:
            mark = {Effect.REFUSES: "refused", Effect.WAITS: "waits", Effect.QUESTION: "unknown"}
            effect = mark.get(found.effect, "note")
            where = f"{found.sheet}!{found.column}{found.row} {found.heading}".rstrip()
            write(f"  {effect:<8} {where}: read {found.value!r}. {found.message}")
        if applied is None:
            write("Nothing was changed. Add --commit to read the good rows in.")
        else:
            words = [f"{n} {what}" for what, n in (applied.done + applied.left).items()]
            write(f"Read in: {', '.join(words) or 'nothing'}.")

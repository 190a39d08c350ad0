"""``manage.py import_spreadsheet``: check a spreadsheet and, when told, read it in."""

from __future__ import annotations

import contextlib
import json
import signal
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection

from catalog.management.limits import STOPPED, TOO_MUCH_MEMORY, in_child, limited
from catalog.management.progress import Bar
from catalog.spreadsheets.batches.applying import (
    KINDS,
    Applied,
    KindUnknown,
    check_workbook,
    kind_of,
    with_spares,
)
from catalog.spreadsheets.batches.jobs import apply_at_once
from catalog.spreadsheets.batches.known import with_known
from catalog.spreadsheets.batches.verbs import remembered_choices
from catalog.spreadsheets.batches.writing import RefusedError
from catalog.spreadsheets.cells.report import (
    ANSWER,
    ONCE_A_COLUMN,
    Effect,
    Report,
    notes_once_a_column,
)
from catalog.spreadsheets.checking.answers import ANSWERS, AnswerError, answered
from catalog.spreadsheets.checking.asking import NOT_READ, kind_question, letters_question
from catalog.spreadsheets.checking.proposing import CHOICES_OF
from catalog.spreadsheets.columns.describing import COLUMNS_OF, help_lines
from catalog.spreadsheets.workbook.encodings import ENCODINGS
from catalog.spreadsheets.workbook.reading import read_workbook
from catalog.spreadsheets.workbook.safety import FileProblem

OPTIONS = {
    "column": ("LETTER=KEY", "what a column is, as in C=length, or C=none where it is not to be "
               "read; told by evidence when left out"),
    "unit": ("COLUMN=UNIT", "the unit of a column's bare numbers, as in length=cm; judged when "
             "left out"),
    "set-number": ("NAME=NUMBER", "the number of the set of this name, where the file has none"),
    "quantity": ("COUNT", "the pieces in every line of a set, where no column says them"),
    "numbers-from": ("NUMBER", "the first of the item numbers for instruments without one"),
}  # fmt: skip
"""The options that answer a question; each may be given several times, and for one sheet of
several, as in "My list!C=length"."""


class Command(BaseCommand):
    help = (
        "Check a spreadsheet of instruments or count sheets against the catalog. Without "
        "--commit it only reports; nothing is changed."
    )

    _while_parsing: Callable[[], AbstractContextManager[None]] = contextlib.nullcontext

    def run_from_argv(self, argv: list[str]) -> None:
        """At the command line the file is parsed as the pages do it: in a limited process."""
        self._while_parsing = limited
        in_child(lambda: super(Command, self).run_from_argv(argv))

    def execute(self, *args: Any, **options: Any) -> Any:
        """What only reads needs no system checks."""
        options["skip_checks"] |= not options["commit"]
        return super().execute(*args, **options)

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", nargs="?", help=".xlsx, .xls, .ods or .csv")
        parser.add_argument("--kind", choices=KINDS, help="what it holds; guessed when left out")
        parser.add_argument("--commit", action="store_true", help="read the good rows in")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")
        parser.add_argument("--as", dest="actor", default="command line", help="who imports it")
        for name, (metavar, told) in OPTIONS.items():
            parser.add_argument(
                f"--{name}", action="append", default=[], metavar=metavar, dest=name, help=told
            )
        parser.add_argument(
            "--spares", action="store_true",
            help="set the spares on hand as the list says them; left as counted when not asked for",
        )  # fmt: skip
        parser.add_argument(
            "--encoding", default="", metavar="NAME",
            help=f"how the letters of a text table are written: {', '.join(ENCODINGS)}; told by "
            "its words when left out, and asked where they do not tell",
        )  # fmt: skip
        parser.add_argument(
            "--columns", action="store_true", help="list the columns that are read, and stop"
        )
        titles = {kind: ", ".join(c.title for c in COLUMNS_OF[kind]) for kind in KINDS}
        parser.epilog = " ".join(f"Columns of {kind}: {told}." for kind, told in titles.items())

    def handle(self, *args: Any, **options: Any) -> None:
        if options["columns"]:
            self._list_columns(options["kind"])
            return
        if options["file"] is None:
            raise CommandError("Name a file, or ask for --columns.")
        path = Path(options["file"])
        try:
            data = path.read_bytes()
        except OSError as problem:
            raise CommandError(f"{path} cannot be opened: {problem.strerror}.") from problem
        try:
            with self._while_parsing():
                report = self._checked(data, path.name, options)
            report = with_spares(report) if options["spares"] else report
            applied = self._applied(report, data, options) if options["commit"] else None
        except MemoryError as problem:
            raise CommandError(f"{TOO_MUCH_MEMORY} Nothing was changed.") from problem
        except KeyboardInterrupt as stop:
            raise CommandError("Stopped. Nothing was changed.", returncode=STOPPED) from stop
        signal.alarm(0)
        self._say(report, applied, options["json"])
        if report.file_problems:
            why = "" if report.kind else f"{report.file_problems[0].message} "
            raise CommandError(f"{why}The file was not read. Nothing was changed.")
        if options["commit"] and applied is None:
            raise CommandError(
                "A column may be one of several. Nothing was changed: answer the question first, "
                f"with {NOT_READ} where the column is not to be read."
            )

    def _applied(self, report: Report, data: bytes, options: dict[str, Any]) -> Applied | None:
        unread = any(each.option.startswith("--column") for each in report.questions)
        if report.file_problems or unread:
            return None
        bar = Bar("Writing", sys.stderr)
        try:
            by, encoding = options["actor"], options["encoding"]
            return apply_at_once(report, data, by, bar, encoding)[1]
        except RefusedError as refusal:
            raise CommandError(f"{refusal} Nothing was changed.") from refusal
        finally:
            bar.end()

    def _checked(self, data: bytes, name: str, options: dict[str, Any]) -> Report:
        no_catalog = not self._has_catalog()
        if no_catalog and options["commit"]:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py migrate first."
            )
        workbook = read_workbook(data, name, options["encoding"])
        workbook = workbook if no_catalog else with_known(workbook)
        kind = options["kind"]
        bar = Bar("Checking", sys.stderr)
        try:
            if not kind and not workbook.problems:
                kind = kind_of(workbook)
            earlier = remembered_choices(workbook, kind) if kind and not no_catalog else {}
            sheets = [sheet.title for sheet in workbook.sheets]
            answers = [(name, text) for name in ANSWERS for text in options[name]]
            choices = answered(answers, sheets, kind, earlier) if kind else None
            report = check_workbook(workbook, kind, empty=no_catalog, choices=choices, how_far=bar)
            if workbook.problems and workbook.readings:
                return replace(report, questions=(letters_question(workbook.readings),))
            return report
        except KindUnknown as unknown:
            problem = FileProblem("kind_unknown", str(unknown))
            return Report(
                "", name, workbook.sha256, (problem,), questions=(kind_question(workbook),)
            )
        except AnswerError as error:
            raise CommandError(str(error)) from error
        finally:
            bar.end()

    def _list_columns(self, kind: str | None) -> None:
        for each in [kind] if kind else KINDS:
            self.stdout.write(f"{each}:")
            for line in help_lines(COLUMNS_OF[each]):
                self.stdout.write(f"  {line}")

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
        self._print_taken(report)
        if words := report.updated.get("words"):
            write(f"  {words} What is not in the list stays in the catalog.")
        for note in (*report.column_notes, *notes_once_a_column(report.rows)):
            write(f"  note     {note.sheet}!{note.column}{note.row}  {note.message}")
        for found in report.problems:
            if found.code in ONCE_A_COLUMN:
                continue
            mark = {Effect.REFUSES: "refused", Effect.WAITS: "waits", Effect.QUESTION: "unknown"}
            effect = mark.get(found.effect, "note")
            where = f"{found.sheet}!{found.column}{found.row} {found.heading}".rstrip()
            write(f"  {effect:<8} {where}: read {found.value!r}. {found.message}")
        if applied is None:
            write("Nothing was changed. Add --commit to read the good rows in.")
        else:
            write(str(applied))

    def _print_taken(self, report: Report) -> None:
        """What each column was taken for and why, and what has to be asked."""
        titles = {column.key: column.title for column in CHOICES_OF[report.kind or "instruments"]}
        for sheet, mapping in report.mapping.items():
            for key, letter in mapping.items():
                why = report.why.get(sheet, {}).get(letter, "")
                self.stdout.write(f"  taken    {sheet}!{letter}  {titles[key]}: {why}")
        for question in report.questions:
            self.stdout.write(f"  question {question.about}")
            for choice in question.choices:
                shows = f"  ({', '.join(choice.shows)})" if choice.shows else ""
                said = choice.answer.join(question.option.rsplit(ANSWER, 1))
                self.stdout.write(f"           {said}{shows}")

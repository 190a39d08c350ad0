"""``manage.py print_run``: one print run, in a process of its own. Started by the program."""

from __future__ import annotations

import uuid
from argparse import ArgumentParser
from functools import partial
from typing import Any

from catalog import runs
from catalog.background import add_progress_option, teller
from catalog.management.beside import Beside
from reports.documents.papers import NothingToPrint, PrintError
from reports.pages import sheet_runs


class Command(Beside):
    help = "Draw one print run. Started by the program itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("run", type=uuid.UUID)
        add_progress_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        run = options["run"]
        draw = partial(sheet_runs.draw, runs.asked_of(run))
        runs.work(run, draw, teller(options["progress_fd"]), (PrintError, NothingToPrint))

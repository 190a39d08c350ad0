"""``manage.py run_spreadsheet_job``: one job of a spreadsheet batch, in a process of its own.

Started by the program, not by people. Files from the web are parsed here, under limits on
memory and time: what a hostile file does to this process, it does to nobody else.
"""

from __future__ import annotations

import contextlib
import signal
from argparse import ArgumentParser
from typing import Any

from catalog.background import add_progress_option, teller
from catalog.management import limits
from catalog.management.beside import Beside
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.verbs import run

PARSING = (SpreadsheetBatch.Job.LOOK, SpreadsheetBatch.Job.CHECK)


class Command(Beside):
    help = "Run one job of a spreadsheet batch. Started by the program itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("batch", type=int)
        parser.add_argument("job", choices=[job for job in SpreadsheetBatch.Job.values if job])
        add_progress_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        signal.alarm(limits.WALL_SECONDS)
        parses = options["job"] in PARSING
        with limits.limited() if parses else contextlib.nullcontext():
            run(options["batch"], options["job"], teller(options["progress_fd"]))

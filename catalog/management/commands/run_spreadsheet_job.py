"""``manage.py run_spreadsheet_job``: one job of a spreadsheet batch, in a process of its own.

Started by the program, not by people. Files from the web are parsed here, under limits on
memory and time: what a hostile file does to this process, it does to nobody else.
"""

from __future__ import annotations

import resource
import signal
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from catalog.background import add_progress_option, teller
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.verbs import run

MEMORY_BYTES = 1_500_000_000
"""Address space of a job that parses a file; a list of 50,000 rows needs a tenth of it."""
CPU_SECONDS = 600
WALL_SECONDS = 1800

PARSING = (SpreadsheetBatch.Job.LOOK, SpreadsheetBatch.Job.CHECK)


class Command(BaseCommand):
    help = "Run one job of a spreadsheet batch. Started by the program itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("batch", type=int)
        parser.add_argument("job", choices=[job for job in SpreadsheetBatch.Job.values if job])
        add_progress_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        if options["job"] in PARSING:
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
            resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
        signal.alarm(WALL_SECONDS)
        run(options["batch"], options["job"], teller(options["progress_fd"]))

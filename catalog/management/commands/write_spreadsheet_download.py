"""``manage.py write_spreadsheet_download``: one workbook to fetch, in a process of its own.

Started by the program, not by people. The uploaded file is parsed again for it, under the limits
of a check: what a hostile file does to this process, it does to no web server.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from catalog.management.beside import Beside
from catalog.management.limits import limited
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.downloads import FILES, SECONDS, TooLargeToMarkError


class Command(Beside):
    help = "Write a workbook of a spreadsheet batch. Started by the program itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("batch", type=int)
        parser.add_argument("name", choices=FILES)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with limited(SECONDS):
                data = FILES[options["name"]](SpreadsheetBatch.objects.get(pk=options["batch"]))
        except TooLargeToMarkError as problem:
            raise CommandError(str(problem), returncode=TooLargeToMarkError.CODE) from problem
        sys.stdout.buffer.write(data)

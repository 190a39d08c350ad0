"""``manage.py ask_again``: a file that takes long, in a process of its own. Started by itself."""

from __future__ import annotations

import uuid
from argparse import ArgumentParser
from functools import partial
from typing import Any

from catalog import runs
from catalog.background import add_progress_option, teller
from catalog.management.beside import Beside


class Command(Beside):
    help = "Make one file that takes long. Started by the program itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("run", type=uuid.UUID)
        add_progress_option(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        run = options["run"]
        runs.work(run, partial(runs.ask_again, run), teller(options["progress_fd"]))

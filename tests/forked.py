"""A script in a process of its own, forked from one that has loaded the program: to start Python
and load it anew takes longer than most scripts.

That one is started by the first who asks and ends with the process that asked.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from multiprocessing import get_context
from pathlib import Path

import django
from django.apps import apps

if not apps.ready:
    django.setup()

from tests.config.installation.drill import at

FORKS = get_context("forkserver")
FORKS.set_forkserver_preload(
    [
        __name__,
        "catalog.management.commands.import_spreadsheet",
        "catalog.management.commands.run_spreadsheet_job",
        "catalog.spreadsheets.batches.jobs",
    ]
)


class Forked:
    """A script that was started, with what it says in two files of a folder."""

    def __init__(self, script: str, folder: Path, url: str, arguments: Sequence[str] = ()) -> None:
        """On the database of this address, which processes that the script starts take too."""
        self._out, self._errors = folder / "said", folder / "errors"
        self._process = FORKS.Process(
            target=_work, args=(script, url, list(arguments), str(self._out), str(self._errors))
        )
        self._process.start()
        assert self._process.pid
        self.pid = self._process.pid
        """Of the process, and of its group."""

    def ended(self, within_s: float = 90) -> int:
        """How it ended: its exit code, or less than nothing for a signal. TimeoutError."""
        self._process.join(within_s)
        if self._process.exitcode is None:
            self._process.kill()
            raise TimeoutError(self.said + self.errors)
        return self._process.exitcode

    @property
    def said(self) -> str:
        return self._out.read_text() if self._out.exists() else ""

    @property
    def errors(self) -> str:
        return self._errors.read_text() if self._errors.exists() else ""


def _work(script: str, url: str, arguments: list[str], out: str, errors: str) -> None:
    os.setsid()
    for stream, path in ((1, out), (2, errors)):
        os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), stream)
    os.environ["DATABASE_URL"] = url
    sys.argv = ["manage.py", *arguments]
    with at(url):
        exec(compile(script, "<script>", "exec"), {"__name__": "__main__"})

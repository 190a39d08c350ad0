"""The server that README tells a department to run, on a port of its own."""

from __future__ import annotations

import http.client
import os
import re
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

from tests.machine import free_port
from tests.migrated import ROOT

HOST = "packbench.test"
SETTINGS = "tests.served.settings"
STARTED_WITHIN_S = 300


def environment(url: str, folder: Path, **more: str) -> dict[str, str]:
    """What a department's server is told, on this database, with photographs in the folder."""
    return {
        "DJANGO_SETTINGS_MODULE": SETTINGS, "DATABASE_URL": url, "SECRET_KEY": "for-the-tests-only",
        "ALLOWED_HOSTS": HOST, "MEDIA_ROOT": str(folder / "media"),
        "PRINT_FOLDER": str(folder / "print-runs"), "LAST_BACKUP": str(folder / "last-backup"),
        "TIME_ZONE": "Europe/London", **more,
    }  # fmt: skip


def line_of_readme() -> list[str]:
    """The arguments of gunicorn in README, without the address it binds."""
    found = re.search(r"^\.venv/bin/gunicorn (.+)$", (ROOT / "README.md").read_text(), re.MULTILINE)
    assert found, "README names no server"
    words = shlex.split(found[1], comments=True)
    at = words.index("--bind")
    return words[:at] + words[at + 2 :]


class Server:
    """Started, killed with all its workers, started again: what it says goes into ``log``."""

    def __init__(self, url: str, folder: Path, **more: str) -> None:
        self.port, self.folder, self.log = free_port(), folder, folder / "server.log"
        self.more = more
        self.url = url

    def __enter__(self) -> Server:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.end(signal.SIGTERM)

    def start(self) -> None:
        """Until it answers. RuntimeError with what it said where it does not."""
        command = [sys.executable, "-m", "gunicorn", *line_of_readme()]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [*command, "--bind", f"127.0.0.1:{self.port}"], cwd=ROOT, stderr=log, stdout=log,
                env={**os.environ, **environment(self.url, self.folder, **self.more)},
                start_new_session=True,
            )  # fmt: skip
        until = time.monotonic() + STARTED_WITHIN_S
        while not self._answers():
            if time.monotonic() > until or self.process.poll() is not None:
                self.end()
                raise RuntimeError(f"It does not start: {self.log.read_text()[-2000:]}")
            time.sleep(0.05)

    def _answers(self) -> bool:
        try:
            there = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
            there.request("GET", "/healthy/", headers={"Host": HOST})
            return there.getresponse().status == 200
        except OSError:
            return False

    def end(self, how: signal.Signals = signal.SIGKILL) -> None:
        """It and its workers, at once or in peace; nothing where it has ended."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, how)
        self.process.wait(timeout=60)

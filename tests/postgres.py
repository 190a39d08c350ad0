"""A PostgreSQL server for the tests that ask for one."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

from tests.machine import POSTGRES_URL, free_port, postgres_programs


@contextmanager
def server() -> Iterator[str]:
    """The address of the server that is named, or of one of our own, gone afterwards."""
    if named := os.environ.get(POSTGRES_URL):
        yield named
    else:
        with tempfile.TemporaryDirectory() as folder, Cluster(folder, "-c fsync=off") as own:
            yield own.url


class Cluster:
    """A server of our own with its data in a folder; RuntimeError where there are no programs.

    It refuses to run as root: then it runs as the account that its package made.
    """

    def __init__(self, folder: str, options: str = "") -> None:
        programs = postgres_programs()
        if programs is None:
            raise RuntimeError("No PostgreSQL on this machine: apt-get install postgresql")
        self.programs, self.folder, port = programs, folder, free_port()
        self.account = "postgres" if os.geteuid() == 0 else None
        self.url = f"postgres://postgres@127.0.0.1:{port}/postgres"
        self._options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 {options}"

    def __enter__(self) -> Cluster:
        if self.account:
            shutil.chown(self.folder, self.account)
        self._run("initdb", "-A", "trust", "-U", "postgres")
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self.runs():
            self._run("pg_ctl", "-m", "immediate", "stop")

    def start(self) -> None:
        """Until it takes connections, with what is to be recovered."""
        patient = ("-w", "-t", "300")  # a busy machine recovers slowly
        self._run("pg_ctl", "-l", f"{self.folder}/log", *patient, "-o", self._options, "start")

    def runs(self) -> bool:
        """Whether it is there: it may have ended by itself."""
        command = [self.programs / "pg_ctl", "-D", f"{self.folder}/data", "status"]
        done = subprocess.run(command, user=self.account, cwd="/", stdout=subprocess.DEVNULL)
        return done.returncode == 0

    def _run(self, program: str, *arguments: str) -> None:
        subprocess.run(
            [self.programs / program, "-D", f"{self.folder}/data", *arguments],
            user=self.account, cwd="/", check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip

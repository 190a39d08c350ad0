"""A PostgreSQL server for the tests that ask for one."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.machine import POSTGRES_URL, free_port, postgres_programs


@contextmanager
def server() -> Iterator[str]:
    """The address of the server that is named, or of one of our own, gone afterwards."""
    programs = postgres_programs()
    if named := os.environ.get(POSTGRES_URL):
        yield named
    elif programs:
        with tempfile.TemporaryDirectory() as folder, _started(programs, folder) as url:
            yield url
    else:
        raise RuntimeError("No PostgreSQL on this machine: apt-get install postgresql")


@contextmanager
def _started(programs: Path, folder: str) -> Iterator[str]:
    """A server refuses to run as root: then it runs as the account its package made."""
    account = "postgres" if os.geteuid() == 0 else None
    if account:
        shutil.chown(folder, account)

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [programs / program, "-D", f"{folder}/data", *arguments],
            user=account, cwd="/", check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip

    port = free_port()
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    run("initdb", "-A", "trust", "-U", "postgres")
    run("pg_ctl", "-l", f"{folder}/log", "-w", "-o", options, "start")
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        run("pg_ctl", "-m", "immediate", "stop")

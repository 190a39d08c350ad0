"""A database of each kind for a command beside the tests, which runs on one after the other.

Django knows one database for the life of a process: so a command that is asked for both starts
itself once for each (:func:`each`), and works on a new one of its own (:func:`new`).
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper

from tests import migrated, postgres

KINDS = ("sqlite", "postgresql")


def asked(parser: ArgumentParser) -> Namespace:
    """What was asked for at the command line, on which databases among it: on both, if not said."""
    parser.add_argument("--on", choices=KINDS, help="this database alone")
    return parser.parse_args()


def each(module: str) -> int:
    """The command once more for each kind; 1 where one of them ended with a breach."""
    command = [sys.executable, "-m", module, *sys.argv[1:], "--on"]
    return max(int(subprocess.run([*command, kind]).returncode != 0) for kind in KINDS)


@contextmanager
def new(kind: str) -> Iterator[str]:
    """The address of a new database of this kind, with every migration; gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="packbench-") as folder:
        if kind == "sqlite":
            yield sqlite_in(Path(folder))
            return
        with postgres.server() as server:
            url = in_server(server)
            yield url
            _copied(url, None)


def sqlite_in(folder: Path) -> str:
    """The address of a new SQLite file in the folder, with every migration."""
    return f"sqlite:///{shutil.copy(migrated.file(), folder / 'packbench.sqlite3')}"


def in_server(server: str) -> str:
    """The address of a new database, with every migration, in a PostgreSQL server."""
    url = f"{server.rpartition('/')[0]}/packbench_of_tests"
    _copied(url, "template1")
    env = {**os.environ, "DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "config.settings.test"}
    command = [sys.executable, "-m", "django", "migrate", "--verbosity", "0"]
    # In a process of its own: what migrates asks for *the* database.
    subprocess.run(command, cwd=migrated.ROOT, env=env, check=True)
    return url


@contextmanager
def empty_beside(used: BaseDatabaseWrapper, folder: Path) -> Iterator[str]:
    """The address of an empty database in the server that is used, gone afterwards; a file in the
    folder where that is SQLite."""
    if used.vendor == "sqlite":
        yield f"sqlite:///{folder / 'empty.sqlite3'}"
        return
    url = f"{os.environ['DATABASE_URL'].rpartition('/')[0]}/packbench_empty"
    _copied(url, "template0")
    yield url
    _copied(url, None)


def keep(url: str) -> None:
    """Keep what is in it now, to be put back; nobody may be connected."""
    if url.startswith("sqlite"):
        shutil.copy(_file(url), f"{_file(url)}.kept")
    else:
        _copied(f"{url}_kept", url.rpartition("/")[2])


def put_back(url: str) -> None:
    """What was kept, again; nobody may be connected."""
    if url.startswith("sqlite"):
        for end in ("-wal", "-shm"):
            Path(f"{_file(url)}{end}").unlink(missing_ok=True)
        shutil.copy(f"{_file(url)}.kept", _file(url))
    else:
        _copied(url, f"{url.rpartition('/')[2]}_kept")


def _file(url: str) -> str:
    return url.removeprefix("sqlite:///")


def _copied(url: str, template: str | None) -> None:
    """A database of PostgreSQL made anew as another one is, or away for good for None."""
    import psycopg

    server, _, name = url.rpartition("/")
    with psycopg.connect(f"{server}/postgres", autocommit=True) as there:
        there.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        if template:
            there.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        else:
            there.execute(f"DROP DATABASE IF EXISTS {name}_kept WITH (FORCE)")

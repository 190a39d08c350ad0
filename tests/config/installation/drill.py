"""What a drill does: an installation is named, backed up, restored, counted."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import environ
from django.core.management import call_command
from django.db import connections

from config.installation.databases import counted, rows_of_models
from config.settings.base import SQLITE_OPTIONS

PHOTO = "instruments/one.jpg"


@contextmanager
def at(url: str) -> Iterator[None]:
    """The installation whose ``DATABASE_URL`` this is."""
    before, kept = connections["default"], connections.settings["default"]
    named = environ.Env.db_url_config(url)
    options = SQLITE_OPTIONS if "sqlite3" in named["ENGINE"] else {}
    connections.settings["default"] = {**kept, **named, "OPTIONS": options}
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"] = kept
        connections["default"] = before


def backup(file: Path) -> str:
    said = io.StringIO()
    call_command("backup", str(file), stdout=said)
    return said.getvalue()


def restore(file: Path, **options: bool) -> None:
    call_command("restore", str(file), stdout=io.StringIO(), **options)


def rows() -> dict[str, int]:
    return rows_of_models(counted(connections["default"]))

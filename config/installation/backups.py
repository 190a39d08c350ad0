"""A backup: one zip with the database as a SQLite file, the photographs, and what is in it.

The database is a SQLite file whatever the installation's is: so a backup is opened and checked
anywhere, without PostgreSQL's programs, and moves from the one kind to the other.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS as HERE
from django.db import connection, connections, transaction
from django.utils import timezone

from catalog.chain.sealing import seal_all
from catalog.models import Instrument
from config.installation import copying
from config.installation.databases import (
    BESIDE,
    MADE_BY_MIGRATE,
    SESSIONS,
    BackupError,
    behind,
    beside,
    check_equal,
    check_sound,
    counted,
    migrate,
    rows_of_models,
    unknown_migrations,
)
from config.watched import watch

DATABASE, CONTENTS, MEDIA = "database.sqlite3", "contents.json", "media/"


@dataclass(frozen=True, slots=True)
class Backup:
    """One that was opened and found whole; ``database`` is its file, unpacked."""

    archive: zipfile.ZipFile
    database: Path
    rows: dict[str, int]
    made: str

    @property
    def media(self) -> list[zipfile.ZipInfo]:
        return [one for one in self.archive.infolist() if one.filename.startswith(MEDIA)]

    @property
    def told(self) -> str:
        """What is in it, in words."""
        full = sum(1 for count in self.rows.values() if count)
        return (
            f"{sum(self.rows.values()):,} rows in {full} tables, {len(self.media):,} files of media"
        )


def make(file: Path) -> tuple[str, list[str]]:
    """Back up into a new file, while people work. What is in it; photographs that are missing.

    It appears whole, or not at all; only its owner may read it. BackupError where there is a file
    of this name, or what was written does not open as it should.
    """
    if file.exists():
        raise BackupError(f"There is a file {file} already. Name a new one, with the date.")
    if file.resolve().is_relative_to(Path(settings.MEDIA_ROOT).resolve()):
        raise BackupError(f"{file} lies among the photographs. Name a file outside.")
    if not file.parent.is_dir():
        raise BackupError(f"There is no folder {file.parent}. Make it, or name another.")
    with tempfile.TemporaryDirectory(dir=file.parent, prefix=".packbench-backup-") as name:
        folder = Path(name)
        database, part = folder / DATABASE, folder / "part"
        seal_all()
        _snapshot(database)
        with beside(database) as copy:
            rows = counted(copy)
            photos = set(
                Instrument.objects.using(BESIDE).exclude(photo="").values_list("photo", flat=True)
            )
        _pack(part, database, rows)
        with opened(part, folder) as backup:
            told = backup.told
            there = {one.filename.removeprefix(MEDIA) for one in backup.media}
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        part.chmod(0o600)
        part.rename(file)
    note = {"file": str(file.resolve()), "made": timezone.now().isoformat()}
    with suppress(OSError):  # The backup is there all the same.
        settings.LAST_BACKUP.parent.mkdir(parents=True, exist_ok=True)
        settings.LAST_BACKUP.write_text(json.dumps(note))
    return told, sorted(photos - there)


def _snapshot(database: Path) -> None:
    """The installation's database as it stands at one moment; nobody waits for it."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(database)])
        with beside(database) as copy, copy.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete=ON")
            cursor.execute(f"DELETE FROM {SESSIONS}")  # A key of a session opens the program.
        return
    if behind(connection):
        raise BackupError("The database is of an older version than the program: migrate it first.")
    migrate(database)
    with beside(database), transaction.atomic(), transaction.atomic(using=BESIDE):
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        copying.copy_all(HERE, BESIDE)
        check_equal(*(rows_of_models(counted(connections[one])) for one in (BESIDE, HERE)))


def _pack(part: Path, database: Path, rows: dict[str, int]) -> None:
    """The database first, then the photographs: so none is younger than what names it."""
    contents = {"made": timezone.now().isoformat(timespec="seconds"), "rows": rows}
    root = Path(settings.MEDIA_ROOT)
    with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.write(database, DATABASE)
        for path in sorted(root.rglob("*")):
            name = MEDIA + path.relative_to(root).as_posix()
            with suppress(FileNotFoundError):  # Taken away meanwhile.
                if path.is_file():
                    archive.write(path, name, zipfile.ZIP_STORED)
        archive.writestr(CONTENTS, json.dumps(contents, indent=1))


@contextmanager
def opened(file: Path, folder: Path | None = None) -> Iterator[Backup]:
    """The backup in this file, all of it read and checked; BackupError with what is wrong with it.

    Its database is unpacked in the folder meanwhile, else where temporary files go.
    """
    try:
        archive = zipfile.ZipFile(file)
        contents = json.loads(archive.read(CONTENTS))
        damaged = archive.testzip()
    except FileNotFoundError as problem:
        raise BackupError(f"There is no file {file}.") from problem
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as problem:
        raise BackupError(f"{file} is no whole backup ({problem}). Take another.") from problem
    with archive, tempfile.TemporaryDirectory(dir=folder) as unpacked:
        if ".." in {part for name in archive.namelist() for part in Path(name).parts}:
            raise BackupError(f"{file} has files that would lie elsewhere: it is none of ours.")
        if damaged:
            raise BackupError(f"In {file}, {damaged} is damaged. Take another backup.")
        database = Path(archive.extract(DATABASE, unpacked))
        with beside(database) as copy:
            check_sound(copy)
            check_equal(rows := counted(copy), contents["rows"])
        yield Backup(archive, database, rows, contents["made"])


def restore(file: Path, *, replace: bool) -> str:
    """Put the backup in the place of the installation's database; what is there now, in words.

    All is checked first. A database with rows is replaced only where ``replace`` says so. The
    photographs are put beside those that are there; then the database changes in one step.
    """
    with opened(file) as backup:
        if not replace:
            _refuse_rows()
        with beside(backup.database) as copy:
            if unknown := unknown_migrations(copy):
                raise BackupError(
                    f"{file} was made by a newer version of this program (it knows {unknown[-1]}). "
                    "Update the program first."
                )
            older = behind(copy)
        if older:
            migrate(backup.database)
        _put_media(backup)
        if connection.vendor == "sqlite":
            _replace_file(backup.database)
        else:
            _replace_rows(backup.database)
        watch(connection)
        return f"{backup.told}, as of {backup.made}"


def _refuse_rows() -> None:
    rows = counted(connection)
    held = [f"{table} {rows[table]:,}" for table in rows.keys() - MADE_BY_MIGRATE if rows[table]]
    if held:
        raise BackupError(
            f"The database holds rows already ({', '.join(sorted(held)[:3])} ...) and was left "
            "alone. Back it up, then restore with --replace; or name another in DATABASE_URL."
        )


def _put_media(backup: Backup) -> None:
    root = Path(settings.MEDIA_ROOT)
    for one in backup.media:
        path = root.joinpath(*Path(one.filename).parts[1:])
        path.parent.mkdir(parents=True, exist_ok=True)
        new = path.with_name(f"{path.name}.new")
        with backup.archive.open(one) as packed, new.open("wb") as out:
            shutil.copyfileobj(packed, out)
        new.replace(path)


def _replace_file(database: Path) -> None:
    """By SQLite's own backup: one transaction, also under a server that has the file open."""
    connection.ensure_connection()
    source = sqlite3.connect(database)
    try:
        source.backup(connection.connection)
    finally:
        source.close()


def _replace_rows(database: Path) -> None:
    call_command("migrate", verbosity=0)
    with beside(database) as copy, transaction.atomic():
        copying.copy_all(BESIDE, HERE)
        check_equal(rows_of_models(counted(connection)), rows_of_models(counted(copy)))

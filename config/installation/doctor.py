"""What is wrong with an installation, each in a sentence, with what to do about it."""

from __future__ import annotations

import importlib.util
import json
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage
from django.core import checks
from django.db import DatabaseError, connection
from django.db.models import Max
from django.utils import timezone

from catalog.chain.guards import without_guards
from catalog.chain.sealing import waits_since
from catalog.chain.verifying import verify
from catalog.models import Change
from config.installation.databases import behind, unknown_migrations
from config.roles import roles_that_differ
from reports.drawing import fonts, scripts


@dataclass(frozen=True, slots=True)
class Trouble:
    """``wrong``: it has to be mended; else it is to be thought about."""

    what: str
    do: str
    wrong: bool = True


MIGRATE = "Run manage.py migrate."
LEAST_FREE = 1_000_000_000
"""Bytes: some days of a department's records and photographs. Our own choice, as are the next."""
BACKUP_AGE = timedelta(hours=36)
CLOCK_OFF = timedelta(seconds=30)
SEAL_AGE = timedelta(hours=1)
NEWEST = 20_000
"""Entries that are looked at, some days of a department; verify_records reads all."""
UNSAFE = {
    "security.W009": Trouble(
        "SECRET_KEY is short or can be guessed: whoever has it signs in as anybody.",
        "Set a long, random one.",
    ),
    "security.W018": Trouble("DEBUG is on: errors show settings.", "Take settings.production."),
    "security.W020": Trouble("ALLOWED_HOSTS is empty.", "Name the addresses of this server."),
}
"""Of Django's advice on deployment, what may not stay."""
JOURNAL = "Put the database on a disk of this machine, not of the network, or use PostgreSQL."


def examined() -> Iterator[Trouble]:
    """All that is found. Nothing is changed."""
    try:
        connection.ensure_connection()
    except (DatabaseError, OSError) as problem:
        yield Trouble(
            f"The database does not answer ({str(problem).strip()}).",
            "Start it, or correct DATABASE_URL.",
        )
    else:
        migrated = list(_migrations())
        yield from migrated
        if not migrated:
            yield from _people()
            yield from _clock()
            yield from _records()
        yield from _sqlite()
    yield from _folders()
    yield from _fonts()
    yield from _settings()
    yield from _backup()


def _migrations() -> Iterator[Trouble]:
    if missing := behind(connection):
        yield Trouble(f"{len(missing)} migrations are not applied, {missing[0]} first.", MIGRATE)
    if unknown := unknown_migrations(connection):
        yield Trouble(
            f"The database is of a newer version ({unknown[-1]}).", "Update the program, not back."
        )


def _people() -> Iterator[Trouble]:
    if roles := roles_that_differ():
        yield Trouble(f"Roles are not as this version has them: {', '.join(roles)}.", MIGRATE)
    elif not User.objects.filter(is_active=True, groups__name="coordinator").exists():
        yield Trouble("Nobody is a coordinator.", "manage.py add_user NAME --role coordinator.")


def _clock() -> Iterator[Trouble]:
    now = timezone.now()
    last = Change.objects.aggregate(last=Max("at"))["last"]
    if last and last > now + CLOCK_OFF:
        yield Trouble(
            f"The clock says {now:%Y-%m-%d %H:%M}, and something is on record at "
            f"{last:%Y-%m-%d %H:%M} (UTC both).",
            "Set the clock, and let it follow a time server.",
        )
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT clock_timestamp()")
            (theirs,) = cursor.fetchone()
        if abs(theirs - now) > CLOCK_OFF:
            yield Trouble(
                f"The clocks of the program and the database are {abs(theirs - now)} apart.",
                "Let both machines follow a time server.",
            )


def _records() -> Iterator[Trouble]:
    """Whether the records are guarded and sealed; of the newest, whether they are as sealed."""
    if bare := without_guards(connection):
        yield Trouble(f"{len(bare)} tables of records have no guards, {bare[0]} first.", MIGRATE)
    since = waits_since()
    if since and timezone.now() - since > SEAL_AGE:
        yield Trouble(
            f"What is on record since {since:%Y-%m-%d %H:%M} UTC waits for its seal.",
            "Run manage.py verify_records; leave SEAL_EVERY_S at its default.",
        )
    if wrong := verify(NEWEST).wrong:
        yield Trouble(
            f"{len(wrong)} on record not as they were sealed; {wrong[0]}.",
            "Run manage.py verify_records, and compare with a backup.",
        )


def _sqlite() -> Iterator[Trouble]:
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA journal_mode")
        (mode,) = cursor.fetchone()
        cursor.execute("PRAGMA synchronous")
        (synchronous,) = cursor.fetchone()
    if mode != "wal":
        yield Trouble(f"SQLite's journal is {mode}, not wal: readers wait for writers.", JOURNAL)
    if synchronous < 2:
        yield Trouble(
            "SQLite does not wait for the disk: a power cut loses signed records.",
            "Take settings.production as it is: synchronous=FULL.",
        )


def _folders() -> Iterator[Trouble]:
    places = {"MEDIA_ROOT": Path(settings.MEDIA_ROOT), "PRINT_FOLDER": Path(settings.PRINT_FOLDER)}
    places["ATTEMPTS_FILE"] = Path(settings.ATTEMPTS_FILE).parent  # else passwords are not counted
    if connection.vendor == "sqlite":
        places["DATABASE_URL"] = Path(connection.settings_dict["NAME"]).parent
    for name, folder in places.items():
        whole = folder.absolute()
        there = next(path for path in (whole, *whole.parents) if path.exists())
        try:
            with tempfile.TemporaryFile(dir=there):
                free = shutil.disk_usage(there).free
        except OSError as problem:
            yield Trouble(
                f"{folder} ({name}) cannot be written ({problem.strerror}).",
                "Give it to the account that runs the program, or name another.",
            )
            continue
        if free < LEAST_FREE:
            yield Trouble(
                f"The disk of {folder} ({name}) has {free / 1e9:.1f} GB left.",
                "Make room: records are refused when it is full.",
            )


def _fonts() -> Iterator[Trouble]:
    for package in (fonts.SOURCE_SANS, scripts.NOTO, scripts.MICRO_HEI):
        if importlib.util.find_spec(package) is None:
            yield Trouble(
                f"The typefaces of {package} are missing: papers cannot show every name.",
                "Run pip install -c constraints.txt -e . again.",
            )


def _settings() -> Iterator[Trouble]:
    storage = staticfiles_storage
    if isinstance(storage, ManifestFilesMixin) and not storage.hashed_files:
        yield Trouble("Stylesheet and scripts are not collected.", "Run manage.py collectstatic.")
    for found in checks.run_checks(include_deployment_checks=True):
        yield UNSAFE.get(str(found.id)) or Trouble(
            f"{found.msg.split('. ')[0].rstrip('.')}.",
            found.hint or f"See {found.id} in Django's documentation.",
            wrong=found.is_serious(),
        )


def _backup() -> Iterator[Trouble]:
    do = "Run manage.py backup every night, onto another disk."
    try:
        note = json.loads(settings.LAST_BACKUP.read_text())
        age = timezone.now() - datetime.fromisoformat(note["made"])
    except (OSError, ValueError, KeyError):
        yield Trouble("No backup was made from here that is known of.", do, wrong=False)
        return
    if age > BACKUP_AGE:
        yield Trouble(f"The last backup is {age.days} days and {age.seconds // 3600} h old.", do)
    if not Path(note["file"]).exists():
        yield Trouble(
            f"The last backup, {note['file']}, is not there now.",
            "If it was moved to a safe place, all is well.",
            wrong=False,
        )

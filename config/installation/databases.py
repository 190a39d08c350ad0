"""A SQLite file beside the installation's database: opened, counted, checked, brought up to date.

Data migrations ask for "the" database: so a file is migrated by a process whose database it is.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

BESIDE = "beside"
SESSIONS = "django_session"
MADE_BY_MIGRATE = frozenset({
    "django_migrations", "django_content_type", "auth_permission", "auth_group",
    "auth_group_permissions", "assembly_basis", SESSIONS,
})  # fmt: skip
"""Tables with rows, though nobody has worked yet; and who is signed in."""


class BackupError(Exception):
    """Nothing was changed. Says what is wrong and what to do, for people."""


@contextmanager
def beside(file: Path) -> Iterator[BaseDatabaseWrapper]:
    """The SQLite file as a second database, ``using(BESIDE)``."""
    connections.settings[BESIDE] = {
        "ENGINE": "django.db.backends.sqlite3", "NAME": str(file), "OPTIONS": {"timeout": 10},
    }  # fmt: skip
    connections.configure_settings(connections.settings)
    try:
        yield connections[BESIDE]
    finally:
        connections[BESIDE].close()
        del connections[BESIDE], connections.settings[BESIDE]


def counted(connection: BaseDatabaseWrapper) -> dict[str, int]:
    """The rows of every table, by its name."""
    with connection.cursor() as cursor:
        rows = {}
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(table)}")
            rows[table] = cursor.fetchone()[0]
    return rows


def rows_of_models(rows: dict[str, int]) -> dict[str, int]:
    """Of ``counted`` what models keep, but for who is signed in: equal wherever it was copied."""
    tables = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    tables.discard(SESSIONS)
    return {table: rows[table] for table in sorted(tables & rows.keys())}


def check_equal(rows: dict[str, int], wanted: dict[str, int]) -> None:
    """BackupError where a table has other than the wanted number of rows, both by ``counted``."""
    for table in sorted(rows.keys() | wanted.keys()):
        if (there := rows.get(table)) != (want := wanted.get(table)):
            raise BackupError(f"The table {table} holds {there} rows and not {want}: not used.")


def check_sound(connection: BaseDatabaseWrapper) -> None:
    """BackupError where SQLite finds a page damaged, or a row that points at none."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        if (said := cursor.fetchone()[0]) != "ok":
            raise BackupError(f"The database in it is damaged ({said}). Take an older backup.")
        cursor.execute("PRAGMA foreign_key_check")
        if lost := cursor.fetchone():
            raise BackupError(
                f"In it a row of {lost[0]} points at one of {lost[2]} that is missing."
            )


def unknown_migrations(connection: BaseDatabaseWrapper) -> list[str]:
    """Those that were applied there, of which this program knows nothing."""
    known = MigrationExecutor(connection).loader.disk_migrations
    before = {old for migration in known.values() for old in migration.replaces}
    applied = MigrationRecorder(connection).applied_migrations()
    return sorted(".".join(one) for one in applied if one not in known and one not in before)


def behind(connection: BaseDatabaseWrapper) -> list[str]:
    """The migrations that are still to be applied there."""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan]


def migrate(file: Path) -> None:
    """Bring a SQLite file, or a new one, up to date. BackupError with what the process said."""
    run = subprocess.run(
        [sys.executable, "-m", "django", "migrate", "--verbosity", "0"],
        cwd=settings.BASE_DIR, env={**os.environ, "DATABASE_URL": f"sqlite:///{file}"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if run.returncode:
        raise BackupError(f"It could not be brought up to date: {run.stderr.strip()[-400:]}")

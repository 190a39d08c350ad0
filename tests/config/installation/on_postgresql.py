"""The drill of a move, run on a server by ``test_on_postgresql`` of the catalog's actions.

Beside tests that ask the database: else there is none to copy.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.contrib.auth.models import User
from django.core.management.base import CommandError
from django.db import connection
from django.db.models import Model

from catalog.actions import Actor, record
from catalog.chain.verifying import verify
from catalog.models import Change, Instrument, SpreadsheetBatch
from config.installation import copying
from tests import migrated
from tests.config.installation.drill import at, backup, restore, rows
from tests.factories import catalog


@pytest.fixture(autouse=True)
def migrated_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """A new SQLite file is a copy of the tests' own: migrating takes longer than all else."""
    monkeypatch.setattr(
        "config.installation.backups.migrate", lambda file: shutil.copy(migrated.file(), file)
    )


@pytest.fixture
def server(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """The address of a migrated database: a copy of the tests' own, which takes no seconds."""
    with django_db_blocker.unblock():
        connection.close()
        with connection._nodb_cursor() as cursor:
            cursor.execute("DROP DATABASE IF EXISTS packbench_drill")
            name = connection.ops.quote_name(connection.settings_dict["NAME"])
            cursor.execute(f"CREATE DATABASE packbench_drill TEMPLATE {name}")
            yield f"{os.environ['DATABASE_URL'].rpartition('/')[0]}/packbench_drill"
            cursor.execute("DROP DATABASE packbench_drill")


def changed(where: str) -> None:
    """A change on record, with what each database keeps in its own way."""
    after = {"weight_g": "12.5", "a": [1, 2.0, 1e-5, None, "Ü\u2028"]}
    record(Actor(where), Change.Verb.CHANGED, Instrument.objects.get(item_number="HF-1"), "HF-1",
           {"b": True, "a": {}}, after)  # fmt: skip


def test_it_moves_to_postgresql_and_back(server: str, hospital: Path, place: Path) -> None:
    """Every row and its values; who comes next gets a key that is free."""
    at_import = datetime(2026, 3, 1, tzinfo=UTC)
    catalog.SpreadsheetBatch(content=b"\x00\xff")
    SpreadsheetBatch.objects.update(at=at_import)
    changed("SQLite")
    backup(place / "kept.zip")
    before = rows()
    with at(server):
        restore(place / "kept.zip")
        assert rows() == before
        batch = SpreadsheetBatch.objects.get()
        assert (batch.at, bytes(batch.content)) == (at_import, b"\x00\xff")
        assert (verify().entries, verify().wrong) == (1, [])
        catalog.Instrument(item_number="HF-2")
        changed("PostgreSQL")
        with pytest.raises(CommandError, match="holds rows already"):
            restore(place / "kept.zip")
        backup(place / "back.zip")
        restore(place / "kept.zip", replace=True)
        assert rows() == before
    restore(place / "back.zip", replace=True)
    assert (verify().entries, verify().wrong) == (2, []), "sealed on one, the other, and back"
    assert sorted(Instrument.objects.values_list("item_number", flat=True)) == ["HF-1", "HF-2"]


def test_a_backup_holds_one_moment(
    server: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever is added while tables are read is in none of them."""
    real = copying._copy

    def copy_and_add(model: type[Model], source: str, target: str) -> None:
        real(model, source, target)
        with psycopg.connect(server) as other:
            name = f"added-{model._meta.db_table}"
            columns = "password, is_superuser, first_name, last_name, email, is_staff, is_active"
            other.execute(
                f"INSERT INTO auth_user (username, date_joined, {columns}) "
                "VALUES (%s, now(), '', false, '', '', '', false, true)",
                [name],
            )

    monkeypatch.setattr("config.installation.copying._copy", copy_and_add)
    with at(server):
        backup(place / "kept.zip")
        assert User.objects.filter(username__startswith="added-").exists()
    with at(f"sqlite:///{place / 'new.sqlite3'}"):
        restore(place / "kept.zip")
        assert not User.objects.exists()

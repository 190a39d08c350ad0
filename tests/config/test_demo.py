"""``manage.py demo``: loads once, changes nothing twice, leaves other databases alone."""

from __future__ import annotations

import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError

from catalog.models import Change, Instrument, InstrumentSet
from config import demo
from tests.factories import catalog as make


def run(*options: str) -> str:
    out = StringIO()
    call_command("demo", "--no-serve", *options, stdout=out)
    return out.getvalue()


@pytest.mark.django_db
class TestLoaded:
    def test_it_prints_a_password_for_each_account(self) -> None:
        said = run()
        assert all(demo.password(account) in said for account in demo.ACCOUNTS)

    def test_the_accounts_can_sign_in(self) -> None:
        run()
        users = User.objects.in_bulk(demo.ACCOUNTS, field_name="username")
        assert all(user.check_password(demo.password(name)) for name, user in users.items())

    def test_it_holds_the_hospital(self) -> None:
        run()
        assert (Instrument.objects.count(), InstrumentSet.objects.count()) == (65, 5)

    def test_sets_know_what_they_are_packed_in(self) -> None:
        run()
        assert str(InstrumentSet.objects.get(code="HF-S01").container).startswith("RC-FULL")

    def test_run_twice_it_changes_nothing(self) -> None:
        run()
        before = Change.objects.count()
        run()
        assert Change.objects.count() == before

    def test_somebody_elses_database_is_left_alone(self) -> None:
        make.Instrument()
        with pytest.raises(CommandError, match="left alone"):
            run()

    def test_even_when_it_is_to_start_over(self) -> None:
        make.Instrument(item_number="T-1")
        with pytest.raises(CommandError):
            run("--fresh")
        assert Instrument.objects.filter(item_number="T-1").exists()


@pytest.mark.django_db(transaction=True)
def test_fresh_starts_the_demo_over() -> None:
    run()
    Instrument.objects.filter(item_number="HF-1000").update(name="scribbled on")
    run("--fresh")
    assert Instrument.objects.get(item_number="HF-1000").name == "Scalpel handle no. 3"


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file made by the command as a person runs it."""
    file = tmp_path_factory.mktemp("demo") / "demo.sqlite3"
    env = {**os.environ, "DATABASE_URL": f"sqlite:///{file}"}
    env["DJANGO_SETTINGS_MODULE"] = "config.settings.development"
    subprocess.run(
        [sys.executable, "manage.py", "demo", "--no-serve"],
        cwd=settings.BASE_DIR, env=env, check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    return file


def test_the_database_is_a_wal_file(database: Path) -> None:
    import sqlite3

    connection = sqlite3.connect(database)
    mode = connection.execute("PRAGMA journal_mode").fetchone()[0]
    connection.close()
    assert mode == "wal"


def test_writes_wait_for_their_turn_and_foreign_keys_hold() -> None:
    options = settings.SQLITE_OPTIONS
    assert options["transaction_mode"] == "IMMEDIATE"
    assert "foreign_keys=ON" in options["init_command"]

"""Each thing that can be wrong with an installation is said; a sound one has nothing to mend."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import Group
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.utils import timezone

from catalog.actions import Actor, record
from catalog.chain import guards, sealing
from catalog.models import ChainTail, Change, Instrument
from config.installation import doctor
from config.roles import roles_that_differ
from tests.config.installation.drill import at, backup
from tests.conftest import user_in

pytestmark = pytest.mark.own_database


def said() -> tuple[str, int]:
    """What the doctor writes, and the code with which it ends."""
    out = io.StringIO()
    try:
        call_command("doctor", stdout=out)
    except SystemExit as end:
        return out.getvalue(), int(str(end.code))
    return out.getvalue(), 0


@pytest.fixture
def sound(hospital: Path, place: Path, settings: Any) -> Path:
    settings.SECRET_KEY = "long-and-random-0123456789-abcdefghijklmnopqrstuvwxyz-ABCDEFG"
    user_in("coordinator")
    backup(place / "kept.zip")
    return place


def query(line: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(line)


def later(place: Path, settings: Any) -> None:
    there = Change(at=timezone.now() + timedelta(hours=2))
    there.save_base(raw=True)


def a_file_in_the_way(place: Path, settings: Any) -> None:
    (place / "file").write_text("")
    settings.MEDIA_ROOT = str(place / "file" / "media")


def no_place_for_tries(place: Path, settings: Any) -> None:
    (place / "tries").write_text("")
    settings.ATTEMPTS_FILE = str(place / "tries" / "attempts.json")


def an_old_backup(place: Path, settings: Any) -> None:
    made = timezone.now() - timedelta(days=3)
    note = {"made": made.isoformat(), "file": str(place / "kept.zip")}
    settings.LAST_BACKUP.write_text(json.dumps(note))


def a_short_key(place: Path, settings: Any) -> None:
    settings.SECRET_KEY = "short"


def a_change() -> Change:
    record(Actor("Bea"), Change.Verb.ADDED, Instrument.objects.get(), "HF-1", None, {})
    return Change.objects.get()


def not_sealed_for_hours(place: Path, settings: Any) -> None:
    a_change()
    ChainTail.objects.update(at=timezone.now() - timedelta(hours=2))


def altered(place: Path, settings: Any) -> None:
    one = a_change()
    sealing.seal_all()
    with guards.let_through():
        Change.objects.filter(pk=one.pk).update(actor="Fay")


BROKEN: dict[str, Callable[[Path, Any], object]] = {
    "migrations are not applied": lambda *_: query(
        "DELETE FROM django_migrations WHERE app = 'reports'"
    ),
    "of a newer version (reports.9999_later)": lambda *_: query(
        "INSERT INTO django_migrations (app, name, applied) VALUES ('reports', '9999_later', 0)"
    ),
    "Roles are not as this version has them: technician": lambda *_: Group.objects.get(
        name="technician"
    ).permissions.clear(),
    "Nobody is a coordinator": lambda *_: query("UPDATE auth_user SET is_active = 0"),
    "is on record at": later,
    "journal is delete": lambda *_: query("PRAGMA journal_mode=DELETE"),
    "power cut": lambda *_: query("PRAGMA synchronous=OFF"),
    "(MEDIA_ROOT) cannot be written": a_file_in_the_way,
    "(ATTEMPTS_FILE) cannot be written": no_place_for_tries,
    "The last backup is 3 days": an_old_backup,
    "SECRET_KEY is short": a_short_key,
    "tables of records have no guards, assembly_baselinevoid": lambda *_: guards.lift_guards(
        connection
    ),
    "waits for its seal": not_sealed_for_hours,
    "not as they were sealed; changed: change": altered,
}


def test_a_sound_installation_has_nothing_to_mend(sound: Path) -> None:
    words, code = said()
    assert (code, "WRONG" in words) == (0, False), words


@pytest.mark.parametrize("words", BROKEN)
def test_what_is_wrong_is_said(sound: Path, settings: Any, words: str) -> None:
    BROKEN[words](sound, settings)
    out, code = said()
    assert code == 1 and any(words in line and "WRONG" in line for line in out.splitlines()), out


def test_a_disk_nearly_full_is_wrong(sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "LEAST_FREE", 1 << 62)
    assert "GB left" in said()[0]


def test_a_missing_typeface_is_wrong(sound: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reports.drawing.scripts.NOTO", "no_such_package")
    assert "typefaces of no_such_package are missing" in said()[0]


def test_a_database_that_does_not_answer_is_wrong(sound: Path) -> None:
    with at(f"sqlite:///{sound / 'nowhere' / 'x.sqlite3'}"):
        assert "does not answer" in said()[0]


def test_without_any_backup_it_says_so(sound: Path, settings: Any) -> None:
    settings.LAST_BACKUP.unlink()
    assert "No backup was made" in said()[0]


@pytest.mark.django_db
def test_migrating_leaves_the_roles_as_they_are_meant() -> None:
    assert roles_that_differ() == []


class TestReady:
    def test_it_is_where_all_is_applied(self, hospital: Path) -> None:
        page = Client().get("/ready/")
        assert (page.status_code, page.content) == (200, b"ready")

    def test_it_is_not_where_a_migration_waits(self, hospital: Path) -> None:
        query("DELETE FROM django_migrations WHERE app = 'reports'")
        page = Client().get("/ready/")
        assert (page.status_code, b"not applied" in page.content) == (503, True)

    def test_it_is_not_where_the_database_is_silent(self, place: Path) -> None:
        with at(f"sqlite:///{place / 'nowhere' / 'x.sqlite3'}"):
            page = Client().get("/ready/")
        assert (page.status_code, b"does not answer" in page.content) == (503, True)

"""The drill: backed up while somebody writes, then restored; what is wrong is refused whole."""

from __future__ import annotations

import json
import sqlite3
import threading
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from catalog.actions import Actor, record
from catalog.chain.guards import without_guards
from catalog.chain.verifying import verify
from catalog.models import Change, Instrument
from config.installation.databases import behind
from config.roles import roles_that_differ
from tests.config.installation.drill import PHOTO, at, backup, restore, rows

pytestmark = pytest.mark.own_database


def changed(file: Path, name: str, data: bytes) -> Path:
    """A copy of the backup in which one part is another."""
    new = file.with_name("changed.zip")
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(new, "w") as out:
        for one in old.namelist():
            out.writestr(one, data if one == name else old.read(one))
    return new


def test_what_is_backed_up_comes_back_with_its_photographs(hospital: Path, place: Path) -> None:
    backup(place / "kept.zip")
    before = rows()
    Instrument.objects.all().delete()
    (place / "media" / PHOTO).unlink()
    with closing(sqlite3.connect(hospital)) as server:
        server.execute("SELECT count(*) FROM catalog_instrument").fetchone()
        restore(place / "kept.zip", replace=True)
        assert server.execute("SELECT item_number FROM catalog_instrument").fetchall() == [
            ("HF-1",)
        ]
    assert rows() == before
    assert (place / "media" / PHOTO).read_bytes() == b"a picture"


def test_what_comes_back_is_as_it_was_sealed(hospital: Path, place: Path) -> None:
    """A backup seals what is open first; the records of the place restored can be verified."""
    record(Actor("Bea"), Change.Verb.ADDED, Instrument.objects.get(), "HF-1", None, {})
    backup(place / "kept.zip")
    with at(f"sqlite:///{place / 'new.sqlite3'}"):
        restore(place / "kept.zip")
        assert (verify().entries, verify().wrong, without_guards(connection)) == (1, [], [])


def test_a_backup_goes_into_an_empty_place(hospital: Path, place: Path) -> None:
    backup(place / "kept.zip")
    before = rows()
    with at(f"sqlite:///{place / 'new.sqlite3'}"):
        restore(place / "kept.zip")
        assert rows() == before


def test_a_backup_of_an_older_version_is_brought_up_to_date(hospital: Path, place: Path) -> None:
    call_command("migrate", "reports", "0002", verbosity=0)
    assert behind(connection)
    backup(place / "kept.zip")
    with at(f"sqlite:///{place / 'new.sqlite3'}"):
        restore(place / "kept.zip")
        assert (behind(connection), roles_that_differ()) == ([], [])


def test_it_is_consistent_while_somebody_writes(hospital: Path, place: Path) -> None:
    """Each write adds two accounts or none: a backup never holds one of them."""
    done = threading.Event()
    columns = "password, is_superuser, first_name, last_name, email, is_staff, is_active"
    line = (
        f"INSERT INTO auth_user (username, date_joined, {columns}) "
        "VALUES (?, '2026-01-01', '', 0, '', '', '', 0, 1)"
    )

    def write() -> None:
        with closing(sqlite3.connect(hospital, timeout=10)) as busy:
            for number in range(100_000):
                if done.is_set():
                    return
                with busy:
                    busy.execute(line, [f"a{number}"])
                    busy.execute(line, [f"b{number}"])
                written.set()

    written = threading.Event()
    writer = threading.Thread(target=write)
    writer.start()
    try:
        written.wait(10)
        backup(place / "kept.zip")
    finally:
        done.set()
        writer.join()
    with at(f"sqlite:///{place / 'new.sqlite3'}"):
        restore(place / "kept.zip")
        names = set(User.objects.values_list("username", flat=True))
    assert names and {name[1:] for name in names if name[0] == "a"} == {
        name[1:] for name in names if name[0] == "b"
    }


def test_nobody_reads_a_session_in_it_and_only_its_owner_reads_it(
    hospital: Path, place: Path
) -> None:
    backup(place / "kept.zip")
    with zipfile.ZipFile(place / "kept.zip") as archive:
        assert b"k" * 32 not in archive.read("database.sqlite3")
    assert (place / "kept.zip").stat().st_mode & 0o077 == 0


def test_a_file_that_is_there_is_left_alone(hospital: Path, place: Path) -> None:
    (place / "kept.zip").write_text("older")
    with pytest.raises(CommandError, match="already"):
        backup(place / "kept.zip")
    assert (place / "kept.zip").read_text() == "older"


def test_a_photograph_whose_file_is_gone_is_named(hospital: Path, place: Path) -> None:
    (place / "media" / PHOTO).unlink()
    assert PHOTO in backup(place / "kept.zip")


def test_a_backup_that_fails_leaves_no_file(
    hospital: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("config.installation.backups._pack", full)
    with pytest.raises(CommandError, match="No space left"):
        backup(place / "kept.zip")
    assert not [*place.glob("*.zip"), *place.glob(".packbench*")]


def test_a_database_with_rows_is_not_overwritten_unasked(hospital: Path, place: Path) -> None:
    backup(place / "kept.zip")
    Instrument.objects.update(item_number="HF-2")
    with pytest.raises(CommandError, match="catalog_instrument 1"):
        restore(place / "kept.zip")
    assert Instrument.objects.get().item_number == "HF-2"


@pytest.mark.parametrize("trouble", ["cut", "damaged", "fewer rows", "elsewhere", "newer"])
def test_a_backup_that_is_not_right_changes_nothing(
    hospital: Path, place: Path, trouble: str
) -> None:
    kept = place / "kept.zip"
    backup(kept)
    Instrument.objects.update(item_number="HF-2")
    with zipfile.ZipFile(kept) as archive:
        contents = json.loads(archive.read("contents.json"))
        archive.extract("database.sqlite3", place)
    inside = place / "database.sqlite3"
    if trouble == "cut":
        kept.write_bytes(kept.read_bytes()[:-200])
    elif trouble == "damaged":
        data = bytearray(inside.read_bytes())
        data[4096:] = b"\x55" * (len(data) - 4096)
        kept = changed(kept, "database.sqlite3", bytes(data))
    elif trouble == "fewer rows":
        contents["rows"]["catalog_instrument"] = 2
        kept = changed(kept, "contents.json", json.dumps(contents).encode())
    elif trouble == "elsewhere":
        with zipfile.ZipFile(kept, "a") as archive:
            archive.writestr("media/../../outside.jpg", b"x")
    else:
        with closing(sqlite3.connect(inside)) as newer, newer:
            newer.execute(
                "UPDATE django_migrations SET name='9999_later' WHERE name='0001_initial'"
            )
        kept = changed(kept, "database.sqlite3", inside.read_bytes())
    with pytest.raises(CommandError, match="as it was"):
        restore(kept, replace=True)
    assert Instrument.objects.get().item_number == "HF-2"
    assert not (place.parent / "outside.jpg").exists()

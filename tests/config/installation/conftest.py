"""Installations to be backed up, and a folder in which nothing else lies."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from tests import migrated
from tests.config.installation.drill import PHOTO, at
from tests.factories import catalog


@pytest.fixture
def place(tmp_path: Path, settings: Any, django_db_blocker: Any) -> Iterator[Path]:
    settings.MEDIA_ROOT = str(tmp_path / "media")
    settings.LAST_BACKUP = tmp_path / "last-backup.json"
    with django_db_blocker.unblock():
        yield tmp_path


@pytest.fixture
def hospital(place: Path) -> Iterator[Path]:
    """A SQLite installation with an instrument, its photograph, and somebody signed in."""
    file = place / "hospital.sqlite3"
    shutil.copy(migrated.file(), file)
    with at(f"sqlite:///{file}"):
        catalog.Instrument(item_number="HF-1", photo=PHOTO)
        Session.objects.create(session_key="k" * 32, expire_date=timezone.now())
        (place / "media/instruments").mkdir(parents=True)
        (place / "media" / PHOTO).write_bytes(b"a picture")
        yield file

"""One hospital for the tests of a module: its rows are dear, and each test leaves them whole."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client, override_settings

from catalog.lookup.finding import find
from config.roles import ROLES
from tests.conftest import user_in
from tests.factories.hospital import a_hospital


@pytest.fixture(scope="module")
def size() -> int:
    """How many of everything: a module that asks for several says so."""
    return 3


@pytest.fixture(scope="module")
def rows(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any, size: int
) -> Iterator[dict[str, str]]:
    """What each part of an address stands for; the rows are there until the module ends."""
    folder = override_settings(PRINT_FOLDER=str(tmp_path_factory.mktemp("runs")))
    with django_db_blocker.unblock(), folder, transaction.atomic():
        hospital = a_hospital(size)
        find("names are read before anything is counted")
        yield hospital
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def people(rows: dict[str, str]) -> dict[str, Client]:
    """A browser for each role, for somebody without one, and for nobody who signed in."""
    users = {role: user_in(role) for role in ROLES}
    users["nobody in particular"] = User.objects.create_user("nobody")
    found = {"a stranger": Client()}
    for name, user in users.items():
        found[name] = Client()
        found[name].force_login(user)
    return found

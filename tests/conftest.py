"""Fixtures that several folders of tests share; what a run leaves out, and how hard it looks."""

from __future__ import annotations

import gc
import os
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from threading import Thread
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group, User
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection, transaction
from django.http import HttpRequest
from django.test import Client
from django.utils.crypto import get_random_string
from hypothesis import settings as tries

from config.sessions import begun
from tests import machine, migrated

# What is compiled is kept, whatever a machine's image says: rewriting what the tests assert takes
# a worker eight seconds, compiling the program each of their processes half a second.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Quick while working, with new examples at every run. Full in CI: many, the same each time,
# so that a change fails for what it changed.
tries.register_profile("quick", max_examples=20, deadline=None)
tries.register_profile("full", max_examples=60, derandomize=True, deadline=None)
tries.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "full" if machine.IN_CI else "quick"))

FEWER = tries(max_examples=tries().max_examples // 2)
"""For a property that takes seconds: whole workbooks, whole pages."""


def pytest_make_parametrize_id(val: object, argname: str) -> str | None:
    """A file's bytes name no test: a zip holds the minute it was made in, others elsewhere."""
    return argname if isinstance(val, bytes) else None


@pytest.hookimpl(wrapper=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> Iterator[None]:
    """Coverage doubles a test's time, so it passes over what runs lines that other tests run: who
    asks every page and verb, tries many examples or drives a browser, and the second case of a test
    of the database or a later one. Who has a database of their own come before any browser, as
    those do whose database is the tests'."""
    yield
    cases: Counter[str] = Counter()
    for item in items:
        name, _, case = item.nodeid.partition("[")
        cases[name] += 1
        fixtures = getattr(item, "fixturenames", ())
        asks = case and ("db" in fixtures or item.get_closest_marker("django_db"))
        many = any(map(item.get_closest_marker, ("browser", "hypothesis")))
        if many or (asks and cases[name] > 1) or name.startswith("tests/project/"):
            item.add_marker(pytest.mark.unmeasured)
    items.sort(key=lambda item: item.get_closest_marker("own_database") is None)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Nothing is traced of what is unmeasured, nor of what is made for it.

    The plugin's own pause ends one of the two measurings that it begins in a worker: the other
    goes on, as slowly.
    """
    tracer = sys.gettrace()
    if not tracer or not item.get_closest_marker("unmeasured"):
        return (yield)
    sys.settrace(None)
    try:
        return (yield)
    finally:
        sys.settrace(tracer)


def pytest_sessionstart(session: pytest.Session) -> None:
    """What every database here is a copy of is made while the workers collect the tests."""
    if not hasattr(session.config, "workerinput"):
        Thread(target=migrated.file, daemon=True).start()


def pytest_collection_finish() -> None:
    """What is imported and collected stays: not searched for waste a thousand times (10 %)."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Leaves out, by name, what needs a program that this machine lacks."""
    needs = [mark.args[0] for mark in item.iter_markers("needs")]
    if item.get_closest_marker("browser"):
        needs.append("chromium")
    for need in needs:
        if not machine.has(need):
            pytest.skip(f"{machine.WANT}{need}")


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport() -> Iterator[None]:
    """In CI what is left out has failed."""
    report = (yield).get_result()
    if machine.IN_CI and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome, report.longrepr = "failed", f"Skipped in CI: {report.longrepr[2]}"


def pytest_terminal_summary(terminalreporter: Any) -> None:
    reasons = [report.longrepr[2] for report in terminalreporter.getreports("skipped")]
    if line := machine.told(reasons):
        terminalreporter.write_line(line, yellow=True)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """What migrations leave, copied: the settings of the tests apply none on SQLite."""
    with django_db_blocker.unblock():
        if connection.vendor != "sqlite":
            return
        connection.ensure_connection()
        with closing(sqlite3.connect(migrated.file())) as done:
            done.backup(connection.connection)
        ContentType.objects.clear_cache()


@contextmanager
def kept_meanwhile(django_db_blocker: Any) -> Iterator[None]:
    """What a fixture of a whole class or file writes is there for each of its tests, then gone.

    The tests belong in one group of xdist, or each worker makes it anew.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def roles(db: None) -> None:
    """The three, as migrating leaves them."""


PASSWORD = make_password("for-the-tests")


def user_in(role: str) -> User:
    """A user with exactly this role."""
    user = User.objects.create(username=f"a-{role.replace(' ', '-')}", password=PASSWORD)
    group = Group.objects.get(name=role)
    User.groups.through.objects.create(user=user, group=group)
    return user


def sign_in(client: Client, user: User) -> Client:
    """What ``force_login`` leaves, written once: it writes, renames and renews a session first."""
    request = HttpRequest()
    request.session = session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    begun(request, user)
    session._session_key = get_random_string(32)
    session.save(must_create=True)
    client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    return client


@pytest.fixture
def technician(roles: None, client: Client) -> Client:
    """A browser signed in as a technician."""
    return sign_in(client, user_in("technician"))


@pytest.fixture
def liaison_client(roles: None, client: Client) -> Client:
    """A browser signed in as an OR liaison."""
    return sign_in(client, user_in("OR liaison"))


@pytest.fixture
def coordinator(roles: None, client: Client) -> Client:
    """A browser signed in as a coordinator."""
    return sign_in(client, user_in("coordinator"))

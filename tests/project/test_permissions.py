"""Every address in one table: who may open it. A new address fails until it stands here."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from assembly.models import Build, Package
from config.roles import ROLES
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make

ANYBODY = "anybody"
POSTED = "only by POST, with a test of its own"
SIGNED_IN = frozenset(ROLES)
PRINTERS = frozenset({"technician", "coordinator"})
PACKERS = frozenset({"technician", "coordinator"})

ALLOWED: dict[str, object] = {
    "": SIGNED_IN,
    "sign-in/": ANYBODY,
    "sign-out/": ANYBODY,
    "healthy/": ANYBODY,
    "instruments/": SIGNED_IN,
    "instruments/<str:item_number>/": SIGNED_IN,
    "instruments/<str:item_number>/label.pdf": PRINTERS,
    "instruments/<str:item_number>/pack/": PACKERS,
    "sets/": SIGNED_IN,
    "sets/<str:code>/": SIGNED_IN,
    "sets/<str:code>/build/": POSTED,
    "sets/<str:code>/count-sheet.pdf": PRINTERS,
    "builds/<int:pk>/": SIGNED_IN,
    "builds/<int:pk>/now/": SIGNED_IN,
    "builds/<int:pk>/scan/": POSTED,
    "builds/<int:pk>/act/": POSTED,
    "builds/<int:pk>/pack/": PACKERS,
    "builds/<int:pk>/reopen/": POSTED,
    "builds/<int:pk>/give-up/": POSTED,
    "packages/<str:code>/": SIGNED_IN,
    "packages/<str:code>/void/": POSTED,
    "packages/<str:code>/label.pdf": PRINTERS,
    "packages/<str:code>/count-sheet.pdf": PRINTERS,
    "requests/<str:kind>/<int:pk>/close/": POSTED,
    "bench/settings/": POSTED,
    "supplies/": SIGNED_IN,
    "units/": POSTED,
    "policy/": SIGNED_IN,
    "policy/set/": POSTED,
    "policy/preset/": POSTED,
}
READ = [path for path, who in ALLOWED.items() if who not in (ANYBODY, POSTED)]
PARTS = {
    "<str:item_number>": "T-1",
    "<str:code>": "TS-1",
    "<int:pk>": "1",
    "<str:kind>": "shortage",
}
POSTED_BY_PACKERS = [
    "sets/<str:code>/build/",
    "builds/<int:pk>/scan/",
    "builds/<int:pk>/act/",
    "builds/<int:pk>/reopen/",
    "builds/<int:pk>/give-up/",
    "packages/<str:code>/void/",
    "requests/<str:kind>/<int:pk>/close/",
]


def every_address(patterns: list[URLPattern | URLResolver], before: str = "") -> list[str]:
    found = []
    for pattern in patterns:
        path = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            found += every_address(pattern.url_patterns, path)
        else:
            found.append(path)
    return found


@pytest.fixture
def rows(db: None) -> None:
    instrument = make.Instrument(item_number="T-1")
    make.Pouch()
    sheet = make.CountSheet(instrument_set__code="TS-1")
    make.Line(count_sheet=sheet, instrument=instrument)
    at.signed(at.a_build(at.a_set("TS-2")))
    at.complete(at.a_build(sheet.instrument_set))


def concrete(path: str) -> str:
    package, build = Package.objects.first(), Build.objects.first()
    if package and path.startswith("packages/"):
        path = path.replace("<str:code>", package.code)
    if build:
        path = path.replace("<int:pk>", str(build.pk))
    for part, value in PARTS.items():
        path = path.replace(part, value)
    return f"/{path}"


def test_every_address_is_in_the_table() -> None:
    assert sorted(every_address(get_resolver().url_patterns)) == sorted(ALLOWED)


@pytest.mark.parametrize("path", READ)
def test_a_stranger_is_sent_to_sign_in(rows: None, client: Client, path: str) -> None:
    answer = client.get(concrete(path))
    assert answer.status_code == 302 and answer["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("role", list(ROLES))
@pytest.mark.parametrize("path", READ)
def test_a_role_opens_what_the_table_says(
    rows: None, roles: None, client: Client, path: str, role: str
) -> None:
    client.force_login(user_in(role))
    status = client.get(concrete(path)).status_code
    allowed = ALLOWED[path]
    assert (status == 200) == (isinstance(allowed, frozenset) and role in allowed), status


@pytest.mark.parametrize("path", READ)
def test_somebody_without_a_role_opens_nothing(
    rows: None, roles: None, client: Client, path: str
) -> None:
    from django.contrib.auth.models import User

    client.force_login(User.objects.create_user("nobody", password="for-the-tests"))
    assert client.get(concrete(path)).status_code == 403


@pytest.mark.parametrize("path", [path for path, who in ALLOWED.items() if who == POSTED])
def test_what_is_posted_is_not_opened(roles: None, client: Client, path: str) -> None:
    client.force_login(user_in("coordinator"))
    assert client.get(concrete(path)).status_code == 405


@pytest.mark.parametrize("path", ["policy/set/", "policy/preset/"])
def test_only_a_coordinator_sets_policy(roles: None, client: Client, path: str) -> None:
    client.force_login(user_in("technician"))
    assert client.post(concrete(path)).status_code == 403


@pytest.mark.parametrize("path", POSTED_BY_PACKERS)
def test_a_liaison_changes_nothing_at_the_bench(
    rows: None, roles: None, client: Client, path: str
) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.post(concrete(path)).status_code == 403

"""Every address in one table: who may open it. A new address fails until it stands here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from config.roles import ROLES
from tests.conftest import user_in
from tests.factories import catalog as make

ANYBODY = "anybody"
POSTED = "only by POST, with a test of its own"
SIGNED_IN = frozenset(ROLES)
PRINTERS = frozenset({"technician", "coordinator"})

ALLOWED: dict[str, object] = {
    "": SIGNED_IN,
    "sign-in/": ANYBODY,
    "sign-out/": ANYBODY,
    "healthy/": ANYBODY,
    "instruments/": SIGNED_IN,
    "instruments/<str:item_number>/": SIGNED_IN,
    "instruments/<str:item_number>/label.pdf": PRINTERS,
    "sets/": SIGNED_IN,
    "sets/<str:code>/": SIGNED_IN,
    "sets/<str:code>/count-sheet.pdf": PRINTERS,
    "supplies/": SIGNED_IN,
    "units/": POSTED,
    "instruments/<str:item_number>/label/": PRINTERS,
    "instruments/<str:item_number>/work-card.pdf": PRINTERS,
    "instruments/<str:item_number>/work-card/": PRINTERS,
    "sets/<str:code>/count-sheet/": PRINTERS,
    "sets/<str:code>/work-card.pdf": PRINTERS,
    "sets/<str:code>/work-card/": PRINTERS,
    "papers/": SIGNED_IN,
    "papers/wall/<slug:key>.pdf": SIGNED_IN,
    "papers/stocks/<slug:key>/ruler.pdf": PRINTERS,
    "papers/count-sheets/": POSTED,
    "papers/runs/<uuid:run>/": PRINTERS,
    "papers/runs/<uuid:run>/stop/": POSTED,
    "papers/runs/<uuid:run>/file.pdf": PRINTERS,
    "papers/lists/<slug:key>/": SIGNED_IN,
    "papers/lists/<slug:key>.<str:form>": SIGNED_IN,
    "papers/skills/": PRINTERS,
    "papers/skills/record/": POSTED,
    "policy/": SIGNED_IN,
    "policy/set/": POSTED,
    "policy/preset/": POSTED,
}
READ = [path for path, who in ALLOWED.items() if who not in (ANYBODY, POSTED)]
RUN = "0b0e7a52-5d0c-4c7e-9d0a-0123456789ab"
PARTS = {
    "<str:item_number>": "T-1",
    "<str:code>": "TS-1",
    "wall/<slug:key>": "wall/loading",
    "stocks/<slug:key>": "stocks/a4-3x8",
    "lists/<slug:key>": "lists/heavy-sets",
    "<str:form>": "csv",
    "<uuid:run>": RUN,
}


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
def rows(db: None, settings: Any, tmp_path: Path) -> None:
    settings.PRINT_FOLDER = str(tmp_path)
    (tmp_path / RUN).mkdir()
    (tmp_path / RUN / "state.json").write_text('{"title": "A run", "total": 1, "state": "done"}')
    (tmp_path / RUN / "run.pdf").write_bytes(b"%PDF")
    instrument = make.Instrument(item_number="T-1")
    make.Pouch()
    sheet = make.CountSheet(instrument_set__code="TS-1")
    make.Line(count_sheet=sheet, instrument=instrument)


def concrete(path: str) -> str:
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


@pytest.mark.parametrize("path", ["papers/count-sheets/", "papers/runs/<uuid:run>/stop/"])
def test_a_liaison_prints_nothing(roles: None, client: Client, path: str) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.post(concrete(path)).status_code == 403


@pytest.mark.parametrize("path", ["policy/set/", "policy/preset/", "papers/skills/record/"])
def test_only_a_coordinator_sets_policy_and_records_skills(
    roles: None, client: Client, path: str
) -> None:
    client.force_login(user_in("technician"))
    assert client.post(concrete(path)).status_code == 403

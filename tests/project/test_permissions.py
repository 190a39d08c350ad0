"""Every address in one table: who may open it. A new address fails until it stands here."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from config.roles import ROLES
from tests.conftest import user_in
from tests.factories import catalog as make

ANYBODY = "anybody"
SIGNED_IN = frozenset(ROLES)
PRINTERS = frozenset({"technician", "coordinator"})
COORDINATORS = frozenset({"coordinator"})

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
    "spreadsheets/": COORDINATORS,
    "spreadsheets/columns/": COORDINATORS,
    "spreadsheets/blank/<str:kind>.xlsx": COORDINATORS,
    "spreadsheets/<int:pk>/": COORDINATORS,
    "spreadsheets/<int:pk>/columns/": COORDINATORS,
    "spreadsheets/<int:pk>/progress/": COORDINATORS,
    "spreadsheets/<int:pk>/apply/": COORDINATORS,
    "spreadsheets/<int:pk>/take-back/": COORDINATORS,
    "spreadsheets/<int:pk>/changes/": COORDINATORS,
    "spreadsheets/<int:pk>/marked.xlsx": COORDINATORS,
    "spreadsheets/<int:pk>/refused.xlsx": COORDINATORS,
}
CHECKED, APPLIED = "901", "902"
PARTS = {
    "<str:item_number>": "T-1",
    "<str:code>": "TS-1",
    "<str:kind>": "instruments",
    "<int:pk>/take-back": f"{APPLIED}/take-back",
    "<int:pk>": CHECKED,
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
def rows(db: None) -> None:
    instrument = make.Instrument(item_number="T-1")
    make.Pouch()
    sheet = make.CountSheet(instrument_set__code="TS-1")
    make.Line(count_sheet=sheet, instrument=instrument)
    make.SpreadsheetBatch(pk=int(CHECKED), state="checked")
    make.SpreadsheetBatch(pk=int(APPLIED), state="applied")


def concrete(path: str) -> str:
    for part, value in PARTS.items():
        path = path.replace(part, value)
    return f"/{path}"


def test_every_address_is_in_the_table() -> None:
    assert sorted(every_address(get_resolver().url_patterns)) == sorted(ALLOWED)


@pytest.mark.parametrize("path", [path for path, who in ALLOWED.items() if who != ANYBODY])
def test_a_stranger_is_sent_to_sign_in(rows: None, client: Client, path: str) -> None:
    answer = client.get(concrete(path))
    assert answer.status_code == 302 and answer["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("role", list(ROLES))
@pytest.mark.parametrize("path", [path for path, who in ALLOWED.items() if who != ANYBODY])
def test_a_role_opens_what_the_table_says(
    rows: None, roles: None, client: Client, path: str, role: str
) -> None:
    client.force_login(user_in(role))
    status = client.get(concrete(path)).status_code
    allowed = ALLOWED[path]
    assert (status == 200) == (isinstance(allowed, frozenset) and role in allowed), status


@pytest.mark.parametrize("path", [path for path, who in ALLOWED.items() if who != ANYBODY])
def test_somebody_without_a_role_opens_nothing(
    rows: None, roles: None, client: Client, path: str
) -> None:
    from django.contrib.auth.models import User

    client.force_login(User.objects.create_user("nobody", password="for-the-tests"))
    assert client.get(concrete(path)).status_code == 403

"""Every address in one table: who may open it. A new address fails until it stands here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from assembly.models import Build, Load, Package, Request
from assembly.sterilizing import views as load_views
from catalog import photos
from config.roles import ROLES
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories.loads import a_load
from tests.factories.pictures import picture
from tests.factories.requests import a_request

ANYBODY = "anybody"
POSTED = "only by POST, with a test of its own"
SIGNED_IN = frozenset(ROLES)
PRINTERS = frozenset({"technician", "coordinator"})
COORDINATORS = frozenset({"coordinator"})
REVISION = "sets/<str:code>/count-sheets/<int:revision>/"
PACKERS = frozenset({"technician", "coordinator"})

ALLOWED: dict[str, object] = {
    "": SIGNED_IN,
    "sign-in/": ANYBODY,
    "sign-out/": ANYBODY,
    "healthy/": ANYBODY,
    "instruments/": SIGNED_IN,
    "instruments/<str:item_number>/": SIGNED_IN,
    "instruments/<str:item_number>/label.pdf": PRINTERS,
    "instruments/<str:item_number>/edit/": COORDINATORS,
    "instruments/<str:item_number>/photo.jpg": SIGNED_IN,
    "instruments/<str:item_number>/photo/": COORDINATORS,
    "instruments/<str:item_number>/retire/": COORDINATORS,
    "new-instrument/": COORDINATORS,
    "new-set/": COORDINATORS,
    "new-supply/<str:kind>/": COORDINATORS,
    "records/": COORDINATORS,
    "instruments/<str:item_number>/pack/": PACKERS,
    "sets/": SIGNED_IN,
    "sets/<str:code>/edit/": COORDINATORS,
    "sets/<str:code>/new-draft/": COORDINATORS,
    "sets/<str:code>/retire/": COORDINATORS,
    REVISION: SIGNED_IN,
    f"{REVISION}compare/": SIGNED_IN,
    f"{REVISION}edit/": COORDINATORS,
    f"{REVISION}find/": COORDINATORS,
    f"{REVISION}weight/": SIGNED_IN,
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
    "packages/<str:code>/label/": PRINTERS,
    "loads/": SIGNED_IN,
    "loads/begin/": POSTED,
    "loads/<int:pk>/": SIGNED_IN,
    "loads/<int:pk>/act/": POSTED,
    "loads/<int:pk>/labels.pdf": PRINTERS,
    "loads/<int:pk>/labels/": PRINTERS,
    "packages/<str:code>/count-sheet.pdf": PRINTERS,
    "requests/<str:kind>/<int:pk>/close/": POSTED,
    "bench/settings/": POSTED,
    "supplies/": SIGNED_IN,
    "requests/": SIGNED_IN,
    "requests/now/": SIGNED_IN,
    "requests/queue/": PACKERS,
    "requests/department/": POSTED,
    "requests/ask/": SIGNED_IN,
    "requests/find/": SIGNED_IN,
    "requests/sources/": SIGNED_IN,
    "requests/<int:pk>/": SIGNED_IN,
    "requests/<int:pk>/now/": SIGNED_IN,
    "requests/<int:pk>/act/": POSTED,
    "requests/<int:pk>/pack/": PACKERS,
    "requests/shelf/": PACKERS,
    "requests/shelf/level/": POSTED,
    "requests/shelf/spares/": POSTED,
    "requests/shelf/place/": POSTED,
    "requests/shelf/need/": POSTED,
    "requests/shelf/<str:code>/off/": POSTED,
    "requests/causes/": PACKERS,
    "requests/causes.csv": PACKERS,
    "requests/back/<str:item_number>/": PACKERS,
    "instruments/<str:item_number>/codes/": POSTED,
    "instruments/<str:item_number>/codes/<int:pk>/remove/": POSTED,
    "scanner/": SIGNED_IN,
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
    "supplies/<str:kind>/<str:code>/": SIGNED_IN,
    "supplies/<str:kind>/<str:code>/edit/": COORDINATORS,
    "what-is-missing/": SIGNED_IN,
    "whole-catalog.xlsx": SIGNED_IN,
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
READ = [path for path, who in ALLOWED.items() if who not in (ANYBODY, POSTED)]
RUN = "0b0e7a52-5d0c-4c7e-9d0a-0123456789ab"
CHECKED, APPLIED = "901", "902"
PARTS = {
    "<int:pk>/take-back": f"{APPLIED}/take-back",
    "<int:pk>": CHECKED,
    "<str:item_number>": "T-1",
    "blank/<str:kind>": "blank/instruments",
    "<str:kind>/<str:code>": "pouch/TP-1",
    "<str:code>": "TS-1",
    "requests/<str:kind>": "requests/shortage",
    "<str:kind>": "pouch",
    "<int:revision>": "2",
    "wall/<slug:key>": "wall/loading",
    "stocks/<slug:key>": "stocks/a4-3x8",
    "lists/<slug:key>": "lists/heavy-sets",
    "<str:form>": "csv",
    "<uuid:run>": RUN,
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
def rows(db: None, settings: Any, tmp_path: Path) -> None:
    settings.PRINT_FOLDER = str(tmp_path)
    (tmp_path / RUN).mkdir()
    (tmp_path / RUN / "state.json").write_text('{"title": "A run", "total": 1, "state": "done"}')
    (tmp_path / RUN / "run.pdf").write_bytes(b"%PDF")
    photo = photos.keep(photos.made_anew(picture()))
    instrument = make.Instrument(item_number="T-1", photo=photo)
    make.Pouch(code="TP-1")
    sheet = make.CountSheet(instrument_set__code="TS-1")
    make.Line(count_sheet=sheet, instrument=instrument)
    make.CountSheet(instrument_set=sheet.instrument_set, revision=2, state="draft")
    make.SpreadsheetBatch(pk=int(CHECKED), state="checked")
    make.SpreadsheetBatch(pk=int(APPLIED), state="applied")
    at.signed(at.a_build(at.a_set("TS-2")))
    at.complete(at.a_build(sheet.instrument_set))
    a_load(Package.objects.get())
    a_request(instrument)


def concrete(path: str) -> str:
    package, build = Package.objects.first(), Build.objects.first()
    if package and path.startswith("packages/"):
        path = path.replace("<str:code>", package.code)
    asked = Request.objects.first()
    if asked and path.startswith("requests/<int:pk>"):
        path = path.replace("<int:pk>", str(asked.pk))
    load = Load.objects.first()
    if load and path.startswith("loads/"):
        path = path.replace("<int:pk>", str(load.pk))
    if build and path.startswith("builds/"):
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


WRITES = [path for path, who in ALLOWED.items() if who == COORDINATORS and path != "records/"]


@pytest.mark.parametrize("path", WRITES)
def test_a_technician_cannot_send_what_he_may_not_change(
    rows: None, technician: Client, path: str
) -> None:
    assert technician.post(concrete(path), {}).status_code == 403


@pytest.mark.parametrize("verb", ["approve", "discard"])
def test_a_technician_neither_approves_nor_discards(
    rows: None, technician: Client, verb: str
) -> None:
    answer = technician.post(concrete(f"{REVISION}compare/"), {verb: "1", "reason": "because"})
    assert answer.status_code == 403


@pytest.mark.parametrize("role", list(ROLES))
@pytest.mark.parametrize("path", READ)
def test_a_role_opens_what_the_table_says(
    rows: None, roles: None, client: Client, path: str, role: str
) -> None:
    client.force_login(user_in(role))
    answer = client.get(concrete(path))
    answer.close()  # a print run's file is open until then
    status, allowed = answer.status_code, ALLOWED[path]
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


@pytest.mark.parametrize("role", ["technician", "OR liaison"])
@pytest.mark.parametrize("path", ["instruments/T-1/codes/", "instruments/T-1/codes/1/remove/"])
def test_only_a_coordinator_puts_codes_on_record(
    rows: None, roles: None, client: Client, path: str, role: str
) -> None:
    client.force_login(user_in(role))
    assert client.post(f"/{path}").status_code == 403


@pytest.mark.parametrize("path", POSTED_BY_PACKERS)
def test_a_liaison_changes_nothing_at_the_bench(
    rows: None, roles: None, client: Client, path: str
) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.post(concrete(path)).status_code == 403


WORKED = ["take", "take and pack", "pack", "add", "send", "hand over", "give back", "not met"]
"""Everything that is done with a request, but withdrawing it."""
POSTED_BY_SHELF_KEEPERS = ["requests/shelf/need/", "requests/shelf/PK-0000017/off/"]
POSTED_BY_COORDINATORS = [
    "requests/shelf/level/",
    "requests/shelf/spares/",
    "requests/shelf/place/",
]


@pytest.mark.parametrize("act", WORKED)
def test_a_liaison_does_not_work_requests(
    rows: None, roles: None, client: Client, act: str
) -> None:
    client.force_login(user_in("OR liaison"))
    answer = client.post(concrete("requests/<int:pk>/act/"), {"act": act, "key": "a-key-of-mine"})
    assert answer.status_code == 403


@pytest.mark.parametrize("act", list(load_views.ACTS))
def test_a_liaison_does_nothing_with_a_load(
    rows: None, roles: None, client: Client, act: str
) -> None:
    client.force_login(user_in("OR liaison"))
    answer = client.post(concrete("loads/<int:pk>/act/"), {"act": act, "key": "a-key-of-mine"})
    assert answer.status_code == 403


@pytest.mark.parametrize("path", ["loads/begin/", "loads/<int:pk>/"])
def test_a_liaison_begins_and_fills_no_load(
    rows: None, roles: None, client: Client, path: str
) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.post(concrete(path), {"words": "x"}).status_code == 403


@pytest.mark.parametrize("role", list(ROLES))
def test_every_role_may_withdraw(rows: None, roles: None, client: Client, role: str) -> None:
    client.force_login(user_in(role))
    sent = {"act": "withdraw", "reason": "case is off", "key": "a-key-of-mine"}
    client.post(concrete("requests/<int:pk>/act/"), sent)
    assert Request.objects.get().state == "withdrawn"


@pytest.mark.parametrize("path", POSTED_BY_SHELF_KEEPERS)
def test_a_liaison_does_not_touch_the_shelf(
    rows: None, roles: None, client: Client, path: str
) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.post(f"/{path}").status_code == 403


@pytest.mark.parametrize("path", POSTED_BY_COORDINATORS)
@pytest.mark.parametrize("role", ["technician", "OR liaison"])
def test_only_a_coordinator_sets_levels(roles: None, client: Client, path: str, role: str) -> None:
    client.force_login(user_in(role))
    assert client.post(f"/{path}").status_code == 403


def test_a_liaison_may_nothing_but_see_ask_and_print_nothing(roles: None) -> None:
    may = user_in("OR liaison").get_all_permissions()
    beyond = {name for name in may if ".view_" not in name}
    assert beyond == {"assembly.ask_request"}

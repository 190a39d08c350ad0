"""Where the policy asks for it, who signs types name and password again; by default nobody does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.bench import signing
from assembly.consequences.policy_actions import override_value
from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import settled
from assembly.ledger import Refused
from assembly.models import EquipmentTest, Load, Package
from assembly.persons import person_of
from catalog.actions import Actor
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
MINE = {"again_name": "a-coordinator", "again_password": "for-the-tests"}
SOMEBODY_ELSES = {"again_name": "a-technician", "again_password": "for-the-tests"}


@pytest.fixture(autouse=True)
def asked_again(coordinator: Client) -> None:
    user_in("technician")
    override_value(Actor("bea", reason="trial"), "asked_again", True, since=date(2026, 1, 1),
                   source="SOP 4")  # fmt: skip


def said(client: Client, path: str, **sent: Any) -> str:
    """What the page says that answers a press."""
    page = client.post(path, {"key": at.key(), **sent}, follow=True)
    return page.content.decode()


def test_the_policy_asks_for_nobody_by_itself(client: Client) -> None:
    assert policy_in_force(date(2025, 12, 31)).flag("asked_again") is False


def test_a_set_is_signed_by_who_typed_their_own(coordinator: Client) -> None:
    me = replace(person_of(User.objects.get(username="a-coordinator")), asked=True)
    build = at.a_build(by=me)
    at.complete(build, me)
    with pytest.raises(Refused, match="Type your name and password again"):
        signing.pack(replace(me, asked=False), build.pk, at.all_yes(build), at.key())
    signing.pack(me, build.pk, at.all_yes(build), at.key())
    page = f"/builds/{build.pk}/pack/"
    assert 'name="again_password"' in coordinator.get(page).content.decode()
    assert "Type your name and password again" in said(coordinator, page, act="sign")
    assert "is signed in here" in said(coordinator, page, act="sign", **SOMEBODY_ELSES)
    assert "do not belong together" in said(coordinator, page, act="sign",
                                            **MINE | {"again_password": "x"})  # fmt: skip
    assert not Package.objects.exists()
    said(coordinator, page, act="sign", **MINE)
    assert Package.objects.get().packed_by == "a-coordinator"


def test_a_load_is_released_by_who_typed_their_own(coordinator: Client) -> None:
    load = loads.running(ask.a_package(make.Instrument()))
    given = loads.all_yes()
    sent = {"act": "release", "biological": "no growth", "asked": list(given)} | {
        f"check:{key}": answer for key, answer in given.items()
    }
    assert 'name="again_password"' in coordinator.get(f"/loads/{load.pk}/").content.decode()
    assert "Type your name" in said(coordinator, f"/loads/{load.pk}/act/", **sent)
    said(coordinator, f"/loads/{load.pk}/act/", **sent, **MINE)
    assert Load.objects.get(pk=load.pk).state == "released"


def test_a_failed_test_is_signed_off_by_who_typed_their_own(coordinator: Client) -> None:
    test = loads.tested(loads.a_sterilizer(), "leak", passed=False)
    sent = {"act": "sign off", "reason": "gasket renewed", "next": "/equipment/"}
    path = f"/equipment/tests/{test.pk}/act/"
    assert 'name="again_password"' in coordinator.get("/equipment/").content.decode()
    assert "Type your name" in said(coordinator, path, **sent)
    said(coordinator, path, **sent, **MINE)
    assert EquipmentTest.objects.get(pk=test.pk).state == "signed off"


def test_an_override_is_signed_by_who_typed_their_own() -> None:
    """A coordinator who types name and password at a technician's bench has done so."""
    instrument, _ = make.Instrument(), make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
    answer = decide_for_instrument(instrument)
    plan = at.overridden(answer, at.plan_for(instrument, "pouch:P-75"), "none left")
    assert plan.override is not None
    with pytest.raises(Refused, match="Type your name and password again, Bea Hartsop"):
        settled(answer, plan)
    by = replace(plan.override.by, asked=True)
    assert settled(answer, replace(plan, override=replace(plan.override, by=by))).needs_override

"""A sign-in holds as long as it is used, by the department's policy, and never for ever."""

from __future__ import annotations

import time
from datetime import date

import pytest
from django.contrib.auth.models import User
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.db import DatabaseError
from django.test import Client
from pytest_django import Settings

from assembly.consequences.policy_actions import override_value
from assembly.models import Build
from catalog.actions import Actor
from config import sessions
from tests.factories import bench as at

pytestmark = pytest.mark.django_db
HOUR_S = 60 * 60


@pytest.fixture(autouse=True)
def at_once(settings: Settings) -> None:
    settings.SESSION_RENEWED_AFTER_S = 0


def age(client: Client, seconds: int, name: str = sessions.USED) -> None:
    """As if so much time had passed since the sign-in was used, or began."""
    session = client.session
    session[name] -= seconds
    if name == sessions.USED:
        session.set_expiry(HOUR_S - seconds)
    session.save()


def left_s(client: Client) -> float:
    row = Session.objects.get(pk=client.session.session_key)
    return row.expire_date.timestamp() - time.time()


def test_it_ends_after_the_policy_s_hour_without_use(technician: Client) -> None:
    assert left_s(technician) == pytest.approx(HOUR_S, abs=20)
    age(technician, HOUR_S + 1)
    assert technician.get("/bench/").status_code == 302


@pytest.mark.parametrize("sent", [False, True])
def test_use_renews_it(technician: Client, sent: bool) -> None:
    age(technician, HOUR_S - 60)
    answer = technician.post("/units/", {"units": "inch"}) if sent else technician.get("/bench/")
    assert left_s(technician) == pytest.approx(HOUR_S, abs=20)
    assert int(answer.cookies["sessionid"]["max-age"]) == pytest.approx(HOUR_S, abs=20)


def test_a_page_that_renews_itself_is_no_use(technician: Client) -> None:
    age(technician, HOUR_S - 60)
    technician.get("/bench/now/", headers={"HX-Request": "true", "HX-Target": "waits"})
    assert left_s(technician) == pytest.approx(60, abs=20)


def test_the_department_says_how_long(technician: Client) -> None:
    override_value(Actor("bea", reason="benches stand in the open"), "idle_min", 10,
                   since=date(2026, 1, 1), source="SOP 9")  # fmt: skip
    technician.get("/bench/")
    assert left_s(technician) == pytest.approx(600, abs=20)


def test_however_much_it_is_used_it_ends_after_a_day(technician: Client) -> None:
    age(technician, sessions.LONGEST_S - 120, sessions.SINCE)
    technician.get("/bench/")
    assert left_s(technician) == pytest.approx(120, abs=20)


def test_where_nothing_can_be_saved_the_page_shows(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise DatabaseError("attempt to write a readonly database")

    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.save", refused)
    assert technician.get("/bench/").status_code == 200


@pytest.mark.parametrize("saves", [0, 1])
def test_a_press_is_answered_though_the_database_goes_away_then(
    technician: Client, monkeypatch: pytest.MonkeyPatch, saves: int
) -> None:
    """Killed while the sign-in is renewed, after so many saves: what was pressed is done."""
    saved, whole = [], SessionStore.save

    def goes_away(session: SessionStore, must_create: bool = False) -> None:
        if len(saved) == saves:
            raise UpdateError  # as Django's own store says of a connection that is lost
        saved.append(session)
        whole(session, must_create)

    monkeypatch.setattr(SessionStore, "save", goes_away)
    answer = technician.post(f"/sets/{at.a_set().code}/build/", {"key": "a press of hers"})
    assert (answer.status_code, Build.objects.count()) == (302, 1)
    assert answer.headers["Location"].startswith("/builds/")


def test_a_sign_in_that_cannot_be_kept_is_not_said_to_be_done(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    User.objects.create_user("tess", password="a long password")
    saved, whole = [], SessionStore.save

    def goes_away(session: SessionStore, must_create: bool = False) -> None:
        if saved:
            raise UpdateError
        saved.append(session)
        whole(session, must_create)

    monkeypatch.setattr(SessionStore, "save", goes_away)
    sent = {"username": "tess", "password": "a long password"}
    answer = client.post("/sign-in/", sent)
    assert answer.status_code == 503
    assert "Try again in a minute" in answer.content.decode()


def test_it_is_not_written_at_each_page(technician: Client, settings: Settings) -> None:
    settings.SESSION_RENEWED_AFTER_S = 30
    assert "sessionid" not in technician.get("/bench/").cookies

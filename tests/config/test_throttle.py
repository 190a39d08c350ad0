"""A few wrong passwords or long questions, then a short wait: for one account at one bench."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client
from pytest_django import Settings

from assembly.persons import OVERRIDE, Unknown, second_person
from catalog import throttle
from config.logs import JsonLines
from tests.conftest import user_in

pytestmark = pytest.mark.django_db
RIGHT = "for-the-tests"
MOST = throttle.PASSWORDS.amount


@pytest.fixture(autouse=True)
def attempts(settings: Settings, tmp_path: Path) -> Path:
    settings.ATTEMPTS_FILE = tmp_path / "attempts.json"
    return tmp_path / "attempts.json"


@pytest.fixture(autouse=True)
def people(roles: None) -> None:
    user_in("technician")
    user_in("coordinator")


def sign_in(name: str, password: str, at: str = "10.0.0.1", **sent: str) -> HttpResponse:
    form = {"username": name, "password": password}
    return Client(REMOTE_ADDR=at).post("/sign-in/", form, headers=sent)


def said(answer: HttpResponse) -> str:
    return re.sub(r"\s+", " ", answer.content.decode())


def wrong(times: int, name: str = "a-technician", **at: str) -> HttpResponse:
    for _ in range(times):
        answer = sign_in(name, "wrong", **at)
    return answer


def test_five_wrong_ones_then_the_right_one_waits_and_is_told_how_long() -> None:
    assert "Name or password is not right" in said(wrong(MOST))
    answer = sign_in("a-technician", RIGHT)
    assert answer.status_code == 200
    assert "Too many wrong passwords for this name here. Wait 2 minutes" in said(answer)


def test_a_colleague_s_typing_keeps_nobody_else_out() -> None:
    wrong(MOST + 1)
    assert sign_in("a-coordinator", RIGHT).status_code == 302
    assert sign_in("a-technician", RIGHT, at="10.0.0.2").status_code == 302


def test_a_right_one_begins_anew() -> None:
    wrong(MOST - 1)
    sign_in("a-technician", RIGHT)
    wrong(MOST - 1)
    assert sign_in("a-technician", RIGHT).status_code == 302


def test_after_the_wait_it_is_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong(MOST + 1)
    later = throttle.time.time() + throttle.PASSWORDS.get_expiry() + 1
    monkeypatch.setattr(throttle.time, "time", lambda: later)
    assert sign_in("a-technician", RIGHT).status_code == 302


def test_an_unknown_name_waits_like_a_known_one() -> None:
    assert "Too many wrong passwords" in said(wrong(MOST + 1, "nobody-here"))


@pytest.mark.parametrize(("behind", "status"), [(True, 200), (False, 302)])
def test_only_a_proxy_says_where_a_request_came_from(
    settings: Settings, behind: bool, status: int
) -> None:
    """What a browser claims stands before what the proxy saw, and changes nothing."""
    settings.BEHIND_PROXY = behind
    for number in range(MOST):
        sign_in("a-technician", "wrong", at=f"10.0.0.{number}",
                **{"X-Forwarded-For": f"10.9.9.{number}, 10.1.1.1"})  # fmt: skip
    seen = {"X-Forwarded-For": "10.9.9.99, 10.1.1.1"}
    assert sign_in("a-technician", RIGHT, at="10.0.0.99", **seen).status_code == status


def test_the_second_signature_waits_too(rf: Client) -> None:
    request = rf.post("/")
    for _ in range(MOST):
        with pytest.raises(Unknown, match="do not belong together"):
            second_person(request, "a-coordinator", "wrong", OVERRIDE)
    with pytest.raises(Unknown, match=r"Wait 2 minutes, then try again\. Nothing was recorded"):
        second_person(request, "a-coordinator", RIGHT, OVERRIDE)


def test_the_file_names_nobody(attempts: Path) -> None:
    wrong(1)
    assert attempts.read_text() and "technician" not in attempts.read_text()
    assert "10.0.0.1" not in attempts.read_text()


def test_the_log_has_it_without_a_name(caplog: pytest.LogCaptureFixture) -> None:
    wrong(MOST + 1)
    (line,) = [one for one in caplog.records if one.name == "packbench.passwords"]
    written = json.loads(JsonLines().format(line))
    assert written["route"] == "sign-in/" and "technician" not in str(written)


def test_half_a_file_is_begun_anew(attempts: Path) -> None:
    attempts.write_text('{"half')
    assert sign_in("a-technician", RIGHT).status_code == 302


def test_where_nothing_can_be_counted_people_still_sign_in(
    settings: Settings, tmp_path: Path
) -> None:
    settings.ATTEMPTS_FILE = tmp_path  # a folder: nothing is written to it
    assert sign_in("a-technician", RIGHT).status_code == 302


LONG = "+".join(["forceps"] * (throttle.LONG_WORDS + 1))


@pytest.mark.parametrize("path", ["/find/?q=", "/instruments/?q=", "/requests/find/?q="])
def test_long_questions_are_answered_so_many_times_a_minute(client: Client, path: str) -> None:
    client.force_login(User.objects.get(username="a-technician"))
    for _ in range(throttle.LONG_QUESTIONS.amount):
        throttle.Tries(throttle.LONG_QUESTIONS, str(client.session["_auth_user_id"])).count()
    answer = client.get(path + LONG)
    assert answer.status_code == 429
    words = rf"Search with {throttle.LONG_WORDS} words or fewer, or wait \d+ seconds"
    assert re.search(words, said(answer))
    part = client.get(path + LONG, headers={"HX-Request": "true", "HX-Target": "found"})
    assert part.status_code == 429 and said(part).startswith("<p")
    assert client.get(f"{path}forceps").status_code == 200
    assert client.post("/shelf/", {"words": LONG.replace("+", " ")}).status_code == 429
    client.force_login(User.objects.get(username="a-coordinator"))
    assert client.get(path + LONG).status_code == 200

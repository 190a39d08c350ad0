"""What was typed without script outlives a sign-in, for whoever typed it and for nobody else."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.auth.models import Group, User
from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from config import sessions, typed
from tests.factories import bench as at
from tests.forms import Form, Read

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("roles")]
PASSWORD = "a long password"
ASKING, BACK = "/requests/ask/", "http://testserver/requests/ask/?for=today"
TYPED = "Wanted for the <second> list"


class Browser(Client):
    """One without script, which the server's guard against forgery looks at."""

    def __init__(self) -> None:
        super().__init__(enforce_csrf_checks=True)

    def form(self, path: str, number: int = -1) -> Form:
        page = self.get(path).content.decode()
        return [one for one in Read(path, page).forms if one.method == "post"][number]

    def sign_in(self, name: str, **more: str) -> Any:
        sent = {**dict(self.form("/sign-in/").values), "next": "/bench/", **more}
        return self.post("/sign-in/", {**sent, "username": name, "password": PASSWORD})

    def send(self, path: str, sent: dict[str, Any], **more: Any) -> Any:
        token = dict(self.form("/password/").values)["csrfmiddlewaretoken"]
        self.ended()
        return self.post(path, {"csrfmiddlewaretoken": token, **sent},
                         headers={"Referer": BACK, **more})  # fmt: skip

    def ended(self) -> None:
        """The hour without use is over: the browser has dropped its cookie."""
        self.cookies.pop("sessionid")


@pytest.fixture
def browser() -> Browser:
    for name in ("ida", "bea"):
        user = User.objects.create_user(name, password=PASSWORD)
        user.groups.add(Group.objects.get(name="coordinator"))
    made = Browser()
    made.sign_in("ida")
    return made


def said(browser: Browser) -> str:
    return browser.get("/not-sent/").content.decode()


def test_it_is_shown_after_the_sign_in_and_sent_by_one_press(browser: Browser) -> None:
    answer = browser.send("/units/", {"units": "inch", "note": TYPED})
    to = urlsplit(answer.headers["Location"])
    assert (to.path, parse_qs(to.query)) == ("/sign-in/", {"next": ["/requests/ask/?for=today"]})
    assert "15 minutes" in browser.get(answer.headers["Location"]).content.decode()
    assert browser.sign_in("ida").headers["Location"] == "/not-sent/"
    assert "Wanted for the &lt;second&gt; list" in said(browser)
    assert browser.session.get("units") is None  # nothing is sent by itself
    form = browser.form("/not-sent/")
    assert form.action == "/units/"
    assert browser.post(form.action, dict(form.values)).status_code == 302
    assert browser.session["units"] == "inch"
    assert "Nothing waits" in said(browser)


def test_a_press_that_was_done_already_is_done_once(browser: Browser) -> None:
    path, sent = f"/sets/{at.a_set().code}/build/", {"key": "a press of hers", "why": "a list"}
    browser.send(path, sent)
    browser.sign_in("ida")
    form = browser.form("/not-sent/")
    assert dict(form.values)["key"] == "a press of hers"
    first, again = (browser.post(form.action, dict(form.values)) for _ in range(2))
    assert first.headers["Location"] == again.headers["Location"]


def test_the_press_needs_the_new_token(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch"})
    browser.sign_in("ida")
    values = dict(browser.form("/not-sent/").values) | {"csrfmiddlewaretoken": "x" * 64}
    assert browser.post("/units/", values).status_code == 403


def test_what_another_site_sends_is_not_kept(browser: Browser) -> None:
    browser.ended()
    assert browser.post("/units/", {"units": "inch"}).status_code == 403
    browser.sign_in("ida")
    assert "Nothing waits" in said(browser)


def test_another_person_neither_sees_nor_sends_it(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch", "note": TYPED})
    assert browser.sign_in("bea").headers["Location"] == "/bench/"
    assert "second" not in said(browser) and typed.TYPED not in browser.session
    browser.sign_in("ida")  # nor is it there for whoever typed it: it is gone
    assert "Nothing waits" in said(browser)


def test_a_page_of_somebody_before_is_not_taken_for_theirs(browser: Browser) -> None:
    token = dict(browser.form("/password/").values)["csrfmiddlewaretoken"]
    browser.sign_in("bea")
    browser.ended()
    sent = {"csrfmiddlewaretoken": token, "units": "inch"}
    assert browser.post("/units/", sent).status_code == 403


@pytest.mark.parametrize("cookie", ["", "1", "1:abc:def"])
def test_who_it_was_cannot_be_made_up(browser: Browser, cookie: str) -> None:
    browser.cookies[typed.LAST] = cookie
    assert browser.send("/units/", {"units": "inch"}).status_code == 302
    assert "sessionid" not in browser.cookies and Session.objects.count() == 1


def test_after_a_sign_out_nobody_is_taken_for_the_last(browser: Browser) -> None:
    token = dict(browser.form("/password/").values)["csrfmiddlewaretoken"]
    browser.post("/sign-out/", {"csrfmiddlewaretoken": token})
    browser.post("/units/", {"csrfmiddlewaretoken": token, "units": "inch"})
    assert typed.TYPED not in browser.session


def test_passwords_and_files_are_never_kept_and_asked_for_anew(browser: Browser) -> None:
    file = SimpleUploadedFile("list.csv", b"held in the file")
    browser.send("/units/", {"again_name": "ida", "again_password": "held secret", "list": file})
    kept = str(Session.objects.order_by("expire_date").first().get_decoded())  # type: ignore[union-attr]
    assert "'ida'" in kept and "held" not in kept and "list.csv" not in kept
    browser.sign_in("ida")
    page = said(browser)
    assert re.search(r'<input[^>]*name="again_password"[^>]*type="password">', page)
    assert "Again password: not kept" in page and 'enctype="multipart/form-data"' in page
    assert browser.form("/not-sent/").files == ["list"]


def test_what_is_too_large_is_not_kept_and_that_is_said(browser: Browser) -> None:
    browser.send("/units/", {"note": "x" * typed.MOST_SIGNS})
    assert browser.sign_in("ida").headers["Location"] == "/not-sent/"
    page = said(browser)
    assert "too much to keep" in page and "xxx" not in page
    assert len(Session.objects.get(pk=browser.session.session_key).session_data) < 1000


def test_a_nul_is_refused_and_not_kept(browser: Browser) -> None:
    assert browser.send("/units/", {"note": "a\0b"}).status_code == 400
    assert "sessionid" not in browser.cookies


def test_it_is_kept_for_a_quarter_of_an_hour(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch"})
    row = Session.objects.get(pk=browser.session.session_key)
    assert row.expire_date.timestamp() - time.time() == pytest.approx(15 * 60, abs=20)
    browser.sign_in("ida")
    session = browser.session
    session[typed.TYPED]["until"] = time.time() - 1
    session.save()
    assert "Nothing waits" in said(browser)


def test_a_press_without_a_field_leads_back_to_its_page_alone(browser: Browser) -> None:
    browser.send("/units/", {"key": "k", "next": "/bench/"})
    assert browser.sign_in("ida").headers["Location"] == "/bench/"


def test_what_a_script_sends_it_keeps_itself(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch"}, **{"HX-Request": "true"})
    assert browser.sign_in("ida").headers["Location"] == "/bench/"


def test_where_the_browser_kept_it_the_page_itself_is_filled(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch"})
    assert browser.sign_in("ida", scripted="yes").headers["Location"] == "/bench/"


def test_a_new_sign_in_clears_away_what_has_run_out(browser: Browser) -> None:
    browser.send("/units/", {"units": "inch"})
    Session.objects.update(expire_date="2026-01-01T00:00Z")
    browser.sign_in("ida")
    assert Session.objects.count() == 1


def test_every_field_for_a_password_says_so_in_its_name() -> None:
    """Else it would be kept."""
    found = []
    for template in Path(sessions.__file__).parents[1].glob("*/templates/**/*.html"):
        found += re.findall(r'[^\n]*type="password"[^\n]*', template.read_text())
    assert len(found) >= 4
    assert [one for one in found if not re.search(r'(entry "|name=")\w*password', one)] == []

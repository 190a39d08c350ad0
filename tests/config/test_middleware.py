"""What is asked for a sign-in, refused before a view, or answered without an error."""

from __future__ import annotations

import gzip
import json
import logging
from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.db import OperationalError
from django.test import Client

from assembly.request_pages import views
from config.logs import JsonLines

pytestmark = pytest.mark.django_db
PARTS = ["/requests/now/", "/bench/now/", "/requests/find/"]


@pytest.mark.parametrize("path", PARTS)
def test_signed_out_a_part_leads_the_whole_page_to_sign_in(client: Client, path: str) -> None:
    on = {"HX-Current-URL": "http://testserver/bench/?a=1"}
    answer = client.get(path, headers={"HX-Request": "true", "HX-Target": "requests", **on})
    to = urlsplit(answer.headers["HX-Redirect"])
    assert (answer.content, to.path, parse_qs(to.query)) == (
        b"", "/sign-in/", {"next": ["/bench/?a=1"]},
    )  # fmt: skip


@pytest.mark.parametrize("path", PARTS)
def test_signed_out_a_page_is_redirected_as_ever(client: Client, path: str) -> None:
    assert client.get(path).status_code == 302


def test_a_script_that_keeps_its_counts_is_not_answered_with_nothing(client: Client) -> None:
    answer = client.post("/builds/1/scan/", headers={"HX-Request": "true"})
    assert answer.status_code == 302


def test_signed_in_a_part_is_a_part(technician: Client) -> None:
    answer = technician.get("/bench/now/", headers={"HX-Target": "waits"})
    assert "HX-Redirect" not in answer.headers


@pytest.mark.parametrize("path", ["/instruments/?q=a%00b", "/instruments/HF%001/", "/find/?q%00=1"])
def test_a_nul_is_no_text(technician: Client, path: str) -> None:
    page = technician.get(path)
    assert page.status_code == 400 and "is no text" in page.content.decode()


def test_a_nul_in_a_field_is_refused_before_anything_reads_it(technician: Client) -> None:
    assert technician.post("/units/", {"units": "in\0ch"}).status_code == 400


def test_a_nul_in_what_a_browser_keeps_of_its_workstation_is_refused(technician: Client) -> None:
    technician.cookies["workstation"] = "Bench%001"
    assert technician.get("/bench/").status_code == 400
    technician.cookies["workstation"] = "Bench%201"
    assert technician.get("/bench/").status_code == 200


def test_a_bare_word_to_go_back_to_is_not_followed(technician: Client) -> None:
    assert technician.post("/units/", {"units": "inch", "next": "HF-1161"}).status_code == 302


def test_no_page_with_names_is_kept_and_no_script_runs_but_ours(technician: Client) -> None:
    page = technician.get("/requests/")
    assert "no-store" in page.headers["Cache-Control"]
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy and "unsafe" not in policy


BROWSER = {"Accept-Encoding": "gzip, deflate, br"}


def test_a_page_travels_compressed_to_whoever_reads_that(technician: Client) -> None:
    plain = technician.get("/bench/")
    small = technician.get("/bench/", headers=BROWSER)
    assert (small.headers["Content-Encoding"], plain.headers.get("Content-Encoding")) == (
        "gzip", None
    )  # fmt: skip
    assert len(small.content) * 2 < len(plain.content) and small.content[3] & 8  # has a name
    head = plain.content[:200]
    assert gzip.decompress(small.content)[:200] == head
    assert all("Accept-Encoding" in page.headers["Vary"] for page in (plain, small))


@pytest.mark.parametrize("file", ["instruments/?as=csv", "supplies/?as=xlsx",
                                  "papers/wall/temperatures.pdf"])  # fmt: skip
def test_a_file_travels_as_it_is(technician: Client, file: str) -> None:
    answer = technician.get(f"/{file}", headers=BROWSER)
    assert answer.status_code == 200 and "Content-Encoding" not in answer.headers


@pytest.mark.parametrize(
    ("problem", "words"),
    [("database is locked", "Somebody is importing"), ("deadlock detected", "at once"),
     ("attempt to write a readonly database", "only read"), ("database or disk is full", "full"),
     ('could not extend file "base/5/1": No space left on device', "full"),
     ("server closed the connection unexpectedly", "does not answer"),
     ("UNIQUE constraint failed: assembly_shelfplace.code", "Somebody saved the same")],
)  # fmt: skip
def test_a_write_that_cannot_be_taken_now_is_answered_with_why(
    technician: Client, monkeypatch: pytest.MonkeyPatch, problem: str, words: str
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise OperationalError(problem)

    monkeypatch.setattr(views, "_list", refused)
    page = technician.get("/requests/")
    assert page.status_code == 503 and words in page.content.decode()


def test_a_database_that_does_not_answer_is_said_to_be_one_wherever_it_is_asked(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise OperationalError("connection failed: connection to server at 127.0.0.1 failed")

    monkeypatch.setattr(SessionStore, "load", refused)
    page = Client(raise_request_exception=False)
    page.cookies = technician.cookies
    answer = page.get("/requests/")
    assert answer.status_code == 503 and "does not answer" in answer.content.decode()


def test_any_other_error_is_no_matter_of_the_database(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ValueError("connection failed")

    monkeypatch.setattr(views, "_list", broken)
    page = Client(raise_request_exception=False)
    page.cookies = technician.cookies
    assert page.get("/requests/").status_code == 500


def test_requests_are_read_though_nothing_can_be_saved(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise OperationalError("attempt to write a readonly database")

    monkeypatch.setattr(views.lists.LastLook.objects, "update_or_create", refused)
    assert technician.get("/requests/").status_code == 200


def test_an_error_is_one_line_without_names() -> None:
    try:
        raise ValueError("Ida Crow")
    except ValueError as problem:
        caught = (ValueError, problem, problem.__traceback__)
    words, sent = "Internal Server Error: %s", ("/find/?q=Ida Crow",)
    record = logging.LogRecord("django.request", logging.ERROR, "", 1, words, sent, caught)
    line = JsonLines().format(record)
    assert "Ida" not in line and "\n" not in line
    assert json.loads(line)["error"] == "ValueError"
    assert "test_an_error_is_one_line" in json.loads(line)["at"][0]


@pytest.mark.parametrize(
    ("came_from", "back"),
    [("http://testserver/requests/1/?all=1", "/requests/1/?all=1"), ("", "/"),
     ("https://elsewhere.example/x/", "/")],
)  # fmt: skip
def test_what_was_sent_signed_out_leads_back_to_its_page(
    client: Client, came_from: str, back: str
) -> None:
    answer = client.post("/requests/1/act/", {"act": "take"}, headers={"Referer": came_from})
    assert answer.status_code == 302
    assert parse_qs(urlsplit(answer.headers["Location"]).query) == {"next": [back]}


def test_who_is_signed_in_is_led_on_from_another_tab(technician: Client) -> None:
    assert technician.get("/sign-in/?next=/shelf/").headers["Location"] == "/shelf/"
    assert technician.get("/sign-in/").status_code == 200


def test_signing_out_and_in_begins_anew(technician: Client) -> None:
    out = technician.post("/sign-out/", headers={"Referer": "http://testserver/shelf/"})
    assert out.headers["Location"] == "/sign-in/"
    page = technician.get("/sign-in/")
    assert page.status_code == 200 and 'name="password"' in page.content.decode()

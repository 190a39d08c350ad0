"""Every field of the site that takes scans sends the separator that a scanner types, and on
every page a scan that no field has the focus for is sent all the same.

The pages are those of the address table, as a coordinator gets them. They are made first, and
then opened in a browser of this test's own, from a server that has them and the scripts and no
more: while playwright runs, Django refuses the database.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from mimetypes import guess_type
from pathlib import Path
from threading import Thread
from typing import Any
from urllib.parse import quote_plus, unquote

import pytest
from django.contrib.staticfiles import finders
from django.db import transaction
from django.test import Client, override_settings
from playwright.sync_api import ElementHandle, Page, TimeoutError

from assembly.models import Build, RequestState
from assembly.models import Request as Asked
from tests.addresses import concrete, states
from tests.browser import site
from tests.conftest import user_in
from tests.factories.hospital import a_hospital

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db,
    pytest.mark.xdist_group("browser-scans"),
]

PATIENCE_MS = 5_000
FIELDS = "input[type=search], input[data-scan]"
SENT = """(() => {
  window.sent = [];
  const words = (body) => String(body instanceof FormData ? new URLSearchParams(body) : body ?? "");
  addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    event.preventDefault();
    sent.push(words(new FormData(event.target, event.submitter)));
  });
  window.fetch = (address, { body } = {}) => {
    sent.push(`${address}&${words(body)}`);
    return Promise.resolve(new Response("", { status: 404 }));
  };
  const { open } = XMLHttpRequest.prototype;
  XMLHttpRequest.prototype.open = function (verb, address, ...more) {
    this.address = address;
    open.call(this, verb, address, ...more);
  };
  XMLHttpRequest.prototype.send = function (body) {
    sent.push(`${this.address}&${words(body)}`);
    setTimeout(() => this.onabort?.(new ProgressEvent("abort")));
  };
})()"""
"""What the page would send is kept in ``sent`` as it stands in a request, and the page stays;
of what is sent one after the other, each is answered with what lets the next go."""
OPENED = "for (const one of document.querySelectorAll('details')) one.open = true"
EMPTY = """one => {
  for (const other of one.form.elements) other.required = false;
  one.value = "";
  one.focus();
}"""
"""Stood in, and sent with nothing else filled in."""
SENT_ON = "one => 'scanNext' in one.dataset && one.form.requestSubmit()"
"""Where Enter leads to the next field."""
HAS = "words => sent.some((one) => one.includes(words))"
KNOWN = {
    ("", "q"),
    ("find/", "q"),
    ("policy/", "q"),
    ("builds/<int:pk>/", "words"),
    ("instruments/", "q"),
    ("instruments/<str:item_number>/", "code"),
    ("loads/<int:pk>/", "words"),
    ("packages/<str:code>/", "q"),
    ("requests/<int:pk>/", "words"),
    ("requests/ask/", "q"),
    ("shelf/", "words"),
    ("scanner/", "scan"),
    ("sets/", "q"),
    ("sets/<str:code>/count-sheets/<int:revision>/edit/", "q"),
}
"""Some that the walk must come by, or it walks past what it is for."""


@pytest.fixture(scope="module")
def pages(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    """Every page that a coordinator opens: its path in the address table -> HTML."""
    folder = override_settings(PRINT_FOLDER=str(tmp_path_factory.mktemp("runs")))
    with django_db_blocker.unblock(), folder, transaction.atomic():
        rows = a_hospital()
        user = user_in("coordinator")
        Build.objects.update(holder=user)
        Asked.objects.update(holder=user, holder_name="A Coordinator", state=RequestState.TAKEN)
        client = Client()
        client.force_login(user)
        found = {
            path: client.get(concrete(path, rows)).content.decode()
            for path, asked in states("page")
            if not asked
        }
        transaction.set_rollback(True)
    return found


class Kept(BaseHTTPRequestHandler):
    """Answers with a page that was made, or a static file."""

    pages: Mapping[str, str]

    def do_GET(self) -> None:
        path = unquote(self.path)
        file = finders.find(path.removeprefix("/static/")) if path.startswith("/static/") else None
        if file:
            self.answer(Path(str(file)).read_bytes(), guess_type(path)[0] or "text/plain")
        elif path in self.pages:
            self.answer(self.pages[path].encode(), "text/html; charset=utf-8")
        else:
            self.send_response(204)
            self.end_headers()

    def answer(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "max-age=600" if "html" not in kind else "no-store")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *said: object) -> None:
        """Silent."""


@contextmanager
def opened(pages: Mapping[str, str]) -> Iterator[Page]:
    """A page that finds these pages and the static files, at addresses below its base."""
    handler = type("Served", (Kept,), {"pages": {f"/{path}": html for path, html in pages.items()}})
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server, site.browser() as browser:
        Thread(target=server.serve_forever, daemon=True).start()
        context = browser.new_context(base_url=f"http://127.0.0.1:{server.server_port}")
        context.set_default_timeout(20_000)
        context.add_init_script(SENT)
        yield context.new_page()
        server.shutdown()


def keeps_separator(page: Page, field: ElementHandle, number: int) -> bool:
    """Whether the page sends ``A1 GS B2`` as scanned into its field ``1``."""
    field.evaluate(EMPTY)
    page.keyboard.type(f"A{number}")
    page.keyboard.press("Control+]")
    page.keyboard.type("B2")
    name, scanned = field.evaluate("one => [one.name, one.value]")
    if scanned != f"A{number}\x1dB2":
        return False
    page.keyboard.press("Enter")
    field.evaluate(SENT_ON)
    return is_sent(page, f"{name}={quote_plus(scanned)}")


def is_sent(page: Page, words: str) -> bool:
    """Whether the page sends these words, at once or in a moment."""
    try:
        page.wait_for_function(HAS, arg=words, timeout=PATIENCE_MS, polling=5)
    except TimeoutError:
        return False
    return True


def scan(page: Page, words: str) -> None:
    """As a scanner types, wherever the focus is."""
    page.keyboard.type(words)
    page.keyboard.press("Enter")


def test_every_page_sends_a_scan_and_every_field_for_scans_the_separator(
    pages: dict[str, str],
) -> None:
    walked, lost = set(), []
    with opened(pages) as page:
        for at, path in enumerate(pages):
            page.goto(f"/{path}")
            page.evaluate("document.activeElement.blur()")
            scan(page, f"HF-9{at:03}")
            assert is_sent(page, f"HF-9{at:03}"), path
            page.evaluate(OPENED)
            for number, field in enumerate(page.query_selector_all(FIELDS)):
                walked.add(one := (path, field.get_attribute("name") or ""))
                if not keeps_separator(page, field, number):
                    lost.append(one)
    assert lost == []
    assert walked >= KNOWN


def test_a_scan_while_a_choice_has_the_focus_is_sent_and_chooses_nothing(
    pages: dict[str, str],
) -> None:
    with opened(pages) as page:
        page.goto("/instruments/")
        choice = page.locator("main select").first
        before = choice.input_value()
        choice.focus()
        scan(page, "neo-1042")
        assert is_sent(page, "neo-1042")
        assert choice.input_value() == before

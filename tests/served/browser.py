"""What a browser does at the least: it sends, with its session, and reads what comes back."""

from __future__ import annotations

import http.client
import time
from dataclasses import dataclass, field
from urllib.parse import urlencode

from tests.served.server import HOST

TOKEN = "packbench" * 3 + "tests"
"""What stands against forged forms, 32 signs: its cookie and its field have to be equal."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``status`` 0 where none came; ``took`` in seconds."""

    status: int
    text: str = ""
    location: str = ""
    took: float = 0.0

    @property
    def tone(self) -> str:
        """How the page's answer to a press is meant: right, wrong, note, ask; blank for none."""
        return self.text.partition('id="said" data-tone="')[2].partition('"')[0]


@dataclass(frozen=True)
class Browser:
    """Of somebody who is signed in."""

    port: int
    session: str
    patience_s: float = 30.0
    headers: dict[str, str] = field(default_factory=dict)

    def get(self, path: str, **headers: str) -> Answer:
        return self._ask("GET", path, b"", headers)

    def post(self, path: str, fields: list[tuple[str, str]], **headers: str) -> Answer:
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._ask("POST", path, urlencode(fields).encode(), {**kind, **headers})

    def told(self, **more: str) -> dict[str, str]:
        """The headers that go with everything."""
        return {
            "Host": HOST, "X-Forwarded-Proto": "https", "Origin": f"https://{HOST}",
            "X-CSRFToken": TOKEN,
            "Cookie": f"__Host-session={self.session}; __Host-csrf={TOKEN}", **more,
        }  # fmt: skip

    def _ask(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> Answer:
        began = time.perf_counter()
        there = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.patience_s)
        try:
            there.request(method, path, body, self.told(**headers))
            got = there.getresponse()
            text = got.read().decode(errors="replace")
            took = time.perf_counter() - began
            return Answer(got.status, text, got.headers.get("Location", ""), took)
        except (OSError, http.client.HTTPException):
            return Answer(0, took=time.perf_counter() - began)
        finally:
            there.close()

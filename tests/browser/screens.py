"""Screens that tests take in turn: a new tab each, in a browser's process that runs already.

Half of what opening a first page costs is the process that draws it, and fetching style and
scripts. So a context of the browser is used again once a test is done with it: without cookies
and without what the pages of the test before had kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page

PATIENCE_MS = 20_000
DESK = {"width": 1280, "height": 900}
KEPT = "local_storage,indexeddb,cache_storage,service_workers"
"""What a page can keep beside cookies and what its tab keeps, in the words of CDP."""


@dataclass(frozen=True, slots=True)
class Used:
    """A context with one tab that stays, so that its process does."""

    context: BrowserContext
    stays: Page
    orders: CDPSession

    def forget(self, addresses: set[str]) -> None:
        """No other tab, no cookie, and nothing that these sites kept."""
        for tab in self.context.pages:
            if tab != self.stays:
                tab.close()
        self.context.clear_cookies()
        for origin in addresses:
            asked = {"origin": origin, "storageTypes": KEPT}
            self.orders.send("Storage.clearDataForOrigin", asked)


@dataclass
class Screens:
    """All that one browser shows."""

    browser: Browser
    _free: dict[str, list[Used]] = field(default_factory=dict)

    @contextmanager
    def one(self, size: dict[str, int] | None = None, **options: Any) -> Iterator[Page]:
        """A tab of nobody, ``size`` px; ``options`` are those of a context."""
        free = self._free.setdefault(repr(sorted(options.items())), [])
        used = free.pop() if free else self._new(options)
        page = used.context.new_page()
        page.set_viewport_size(size or DESK)  # type: ignore[arg-type]
        page.set_default_timeout(PATIENCE_MS)
        seen: set[str] = set()
        page.on("framenavigated", lambda frame: seen.add(_origin(frame.url)))
        yield page
        used.forget(seen - {""})
        free.append(used)

    def _new(self, options: dict[str, Any]) -> Used:
        # No flash of the whole screen at each scan: thirty frames that nobody sees.
        still = {"viewport": DESK, "reduced_motion": "reduce", **options}
        context = self.browser.new_context(**still)
        stays = context.new_page()
        return Used(context, stays, context.new_cdp_session(stays))


def _origin(address: str) -> str:
    """Scheme, host and port; empty for what is no site."""
    found = urlsplit(address)
    return f"{found.scheme}://{found.netloc}" if found.scheme.startswith("http") else ""

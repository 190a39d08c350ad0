"""Screens of nobody: each has a context of the browser that is closed after it.

One that was kept and emptied for the next test costs a third less, and once waited for ever for a
tab to close.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Browser, Page

PATIENCE_MS = 20_000
DESK = {"width": 1280, "height": 900}
SOON = """for (const name of ["setTimeout", "setInterval"]) {
  const later = window[name];
  const sooner = (ms) => (ms >= 1000 && ms <= 5000 ? ms / 4 : ms);
  window[name] = (what, ms, ...more) => later(what, sooner(ms), ...more);
}"""
"""A page asks every one to five seconds what happened: four times as often where a test waits."""


@dataclass(frozen=True, slots=True)
class Screens:
    """All that one browser shows."""

    browser: Browser

    @contextmanager
    def one(self, size: dict[str, int] | None = None, **options: Any) -> Iterator[Page]:
        """A tab of nobody, ``size`` px; ``options`` are those of a context."""
        # No flash of the whole screen at each scan: thirty frames that nobody sees.
        still = {"viewport": size or DESK, "reduced_motion": "reduce", **options}
        context = self.browser.new_context(**still)
        context.add_init_script(SOON)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        yield page
        context.close()

"""What a page comes to show, looked for every few ms.

Playwright's own looks again after 0.1, 0.25, 0.5 and then every second: what comes a moment after
a look is waited for longer than it took. Loads and requests were tested in 43 s so, in 35 s now.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, cast, overload

from playwright.sync_api import Locator, LocatorAssertions, Page, PageAssertions
from playwright.sync_api import expect as once

from tests.browser.screens import PATIENCE_MS

LOOK_EVERY_MS = 25


@overload
def expect(shown: Locator) -> LocatorAssertions: ...
@overload
def expect(shown: Page) -> PageAssertions: ...
def expect(shown: Locator | Page) -> Any:
    """As playwright's. A busy machine is slow, not wrong: it waits long where it must."""
    return _Soon(shown)


class _Soon:
    def __init__(self, shown: Locator | Page) -> None:
        self._shown = shown

    def __getattr__(self, name: str) -> Callable[..., None]:
        look = getattr(once(self._shown), name)
        page = self._shown if isinstance(self._shown, Page) else self._shown.page

        def until(*args: Any, **options: Any) -> None:
            end = time.monotonic() + PATIENCE_MS / 1000
            while True:
                try:
                    return cast(None, look(*args, timeout=1, **options))
                except AssertionError:
                    if time.monotonic() > end:
                        raise
                page.wait_for_timeout(LOOK_EVERY_MS)

        return until

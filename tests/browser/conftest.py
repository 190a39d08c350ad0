"""One demo and one browser for all browser tests of a run."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Playwright, StorageState, expect, sync_playwright

from tests.browser import site as sites
from tests.browser.steps.printing import count_dialogs

# A busy machine is slow, not wrong: a wait that is met ends at once whatever its limit.
expect.set_options(timeout=20_000)
PATIENCE_MS = 20_000


@pytest.fixture(scope="session", autouse=True)
def demos_are_filled_once(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> None:
    base = tmp_path_factory.getbasetemp()
    sites.filled_in = base if worker_id == "master" else base.parent


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sites.Site]:
    with sites.served(tmp_path_factory.mktemp("demo")) as site:
        yield site


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    with sites.launched(playwright) as browser:
        yield browser


@pytest.fixture(scope="session")
def coordinators_cookies(site: sites.Site, chromium: Browser) -> StorageState:
    """Signed in once as a coordinator: a password is slow to check, on purpose."""
    context = chromium.new_context()
    site.sign_in(context.new_page(), "coordinator")
    state = context.storage_state()
    context.close()
    return state


@pytest.fixture
def coordinator(chromium: Browser, coordinators_cookies: StorageState) -> Iterator[Page]:
    """A page of a signed-in coordinator."""
    context = chromium.new_context(
        viewport={"width": 1280, "height": 900}, storage_state=coordinators_cookies
    )
    page = context.new_page()
    count_dialogs(page)
    page.set_default_timeout(PATIENCE_MS)
    yield page
    context.close()


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    yield page
    context.close()

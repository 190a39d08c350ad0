"""One demo and one browser for all browser tests of a run."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.steps import rows


@pytest.fixture(scope="session", autouse=True)
def demos_are_filled_once(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> None:
    base = tmp_path_factory.getbasetemp()
    sites.filled_in = base if worker_id == "master" else base.parent


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sites.Site]:
    with sites.served(tmp_path_factory.mktemp("demo")) as site:
        yield site


@pytest.fixture(scope="session")
def bench_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sites.Site]:
    """A demo with sets that can be signed as they are, and with a second technician."""
    with sites.served(tmp_path_factory.mktemp("bench"), added=rows.SCRIPT) as site:
        site.passwords["second"] = rows.SECOND
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
def screens(chromium: Browser) -> Screens:
    return Screens(chromium)


@pytest.fixture
def coordinator(screens: Screens, site: sites.Site) -> Iterator[Page]:
    """A page of a signed-in coordinator."""
    with screens.one() as page:
        site.sign_in(page, "coordinator")
        yield page


@pytest.fixture
def page(screens: Screens) -> Iterator[Page]:
    with screens.one() as page:
        yield page

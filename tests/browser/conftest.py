"""One demo and one browser for all browser tests of a run."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser import site as sites


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[sites.Site]:
    with sites.served(tmp_path_factory.mktemp("demo")) as site:
        yield site


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    with sites.browser() as browser:
        yield browser


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(10_000)
    yield page
    context.close()

"""Every page of the table of addresses: axe finds nothing, and it fits a telephone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.addresses import concrete, states
from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.steps.hospital import add_hospital
from tests.browser.steps.looking import runs_out, violations

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-pages")]
PAGES = [(path, asked) for path, asked in states("page") if not asked.startswith("?as=")]
NARROW = (390, 320)
"""A telephone, and the narrowest that WCAG 2.2 (1.4.10, reflow) asks for, in px."""
DEMO = [
    "instruments/HF-1042/", "instruments/HF-1434/", "instruments/HF-1413/", "instruments/HF-2001/",
    "instruments/HF-1007/?double=1", "sets/HF-S01/", "sets/HF-S03/",
    "sets/HF-S03/count-sheet/?photos=yes", "sets/HF-S03/count-sheets/4/compare/",
    "requests/ask/?item=HF-1042", "new-supply/roll/", "new-supply/wrap/", "new-supply/container/",
    "new-supply/basket/", "new-supply/protector/", "new-supply/programme/",
    "papers/lists/undecided-sets/", "papers/lists/missing-facts/", "papers/lists/ifus/",
]  # fmt: skip
"""What the same pages show of the demo: decided and undecided, tall and long."""


@pytest.fixture(scope="module")
def rows(own: tuple[sites.Site, dict[str, str]]) -> dict[str, str]:
    return own[1]


@pytest.fixture(scope="module")
def own(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[sites.Site, dict[str, str]]]:
    """A demo of our own with a few of everything, and its rows."""
    folder = tmp_path_factory.mktemp("pages")
    with sites.served(folder) as site:
        yield site, add_hospital(folder)


@pytest.fixture(scope="module")
def seen(own: tuple[sites.Site, dict[str, str]], screens: Screens) -> Iterator[Page]:
    """One coordinator for all pages: they are only looked at."""
    with screens.one(base_url=own[0].address) as page:
        own[0].sign_in(page, "coordinator")
        yield page


def faults(page: Page, path: str) -> list[object]:
    """What axe finds on a page 1280 px wide, and how far it runs out of narrow screens."""
    page.set_viewport_size({"width": 1280, "height": 900})
    answer = page.goto(path)
    assert answer and answer.status == 200
    found: list[object] = [*violations(page)]
    for width in NARROW:
        page.set_viewport_size({"width": width, "height": 844})
        if (beyond := runs_out(page)) > 0:
            found.append(f"{beyond} px to scroll sideways at {width} px")
    return found


@pytest.mark.parametrize(("path", "asked"), PAGES)
def test_a_page_is_accessible_and_fits(
    seen: Page, rows: dict[str, str], path: str, asked: str
) -> None:
    assert faults(seen, concrete(path, rows) + asked) == []


@pytest.mark.parametrize("path", DEMO)
def test_a_page_of_the_demo_is_accessible_and_fits(seen: Page, path: str) -> None:
    assert faults(seen, f"/{path}") == []

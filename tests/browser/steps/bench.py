"""How a person at the bench works: scans, taps, and looks at what the page says."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.unseen import sent

KEY_DELAY_MS = 2
"""Between two keys of a scanner: far faster than a person types."""
HAND_DELAY_MS = 100


def begin(site: Site, page: Page, code: str) -> str:
    """On the screen a new build of the set; its address."""
    page.goto(site.address + sent(page, site, f"/sets/{code}/build/"))
    return page.url


def scan(page: Page, words: str) -> None:
    """A scan into the page of a build, without looking where the focus is."""
    page.keyboard.type(f"{words}\n", delay=KEY_DELAY_MS)


def write(page: Page, words: str) -> None:
    """Words typed by hand, without looking where the focus is."""
    page.keyboard.type(words, delay=HAND_DELAY_MS)
    page.keyboard.press("Enter")


def accept(page: Page) -> None:
    """Enter on what the answer offers, once a person can have read it."""
    expect(page.locator("#said[data-ready] :focus")).to_be_visible()
    page.keyboard.press("Enter")


def pieces_in(page: Page, count: int) -> None:
    """Waits until the page says so many pieces are in."""
    expect(page.locator("#progress b")).to_have_text(f"{count} of 15")


def said(page: Page, words: str) -> None:
    """Waits until the page says these words."""
    expect(page.locator("#said")).to_contain_text(words)


def sign(page: Page) -> str:
    """From a set all accounted for to its package; the package's code."""
    page.click("#pack-it")
    page.get_by_role("button", name="The pieces: all yes").click()
    page.get_by_role("button", name="Sign and print").click()
    page.wait_for_url("**/packages/**")
    return page.url.split("/packages/")[1].split("/")[0]


@contextmanager
def another(
    screens: Screens,
    site: Site,
    account: str,
    size: dict[str, int] | None = None,
    **options: object,
) -> Iterator[Page]:
    """A second person at a second screen."""
    with screens.one(size or {"width": 1024, "height": 768}, **options) as page:
        site.sign_in(page, account)
        yield page

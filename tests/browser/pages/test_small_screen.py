"""Small screens and keyboards: nothing runs off the side, nothing hides under a bar."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.asking import say_where
from tests.browser.steps.looking import runs_out

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
LONG = "Pneumonoultramicroscopicsilicovolcanoconiosis" * 4


@pytest.fixture
def phone(screens: Screens, site: Site) -> Iterator[Page]:
    with screens.one({"width": 390, "height": 844}) as page:
        site.sign_in(page, "technician")
        yield page


def ask(page: Page, site: Site, words: str) -> str:
    """Asks for something the catalog does not know; the request's address."""
    page.goto(f"{site.address}/requests/ask/?words={words}")
    say_where(page)
    page.click("#ask-it")
    page.wait_for_selector(".how-it-stands")
    return page.url


def test_a_queue_and_a_long_word_fit_on_a_phone(site: Site, phone: Page) -> None:
    request = ask(phone, site, LONG)
    found = [runs_out(phone) <= 0]
    for path in ("/", "/requests/"):
        phone.goto(f"{site.address}{path}")
        phone.wait_for_selector(f"a[href='{request.removeprefix(site.address)}']")
        found.append(runs_out(phone) <= 0)
    assert found == [True, True, True]


def test_a_refusal_is_told_as_one(site: Site, phone: Page) -> None:
    phone.goto(f"{site.address}/shelf/")
    phone.fill("#need-code", "NO-SUCH")
    phone.fill("#need-time", "2026-01-01T08:00")
    phone.get_by_role("button", name="Note it").click()
    expect(phone.locator("#said .said.wrong")).to_contain_text("Write the code of a set")

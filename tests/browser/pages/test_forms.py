"""What is wrong in a form is said beside its field, and errors have pages of our own."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def test_what_is_missing_is_said_beside_its_field(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/shelf/")
    coordinator.get_by_role("button", name="Add place").click()
    expect(coordinator.locator("#place-code + .field-problem")).to_have_text("This is needed.")
    expect(coordinator.locator("#place-code")).to_be_focused()


def test_a_form_filled_in_is_sent(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/shelf/")
    coordinator.get_by_role("button", name="Add place").click()
    coordinator.fill("#place-code", "Z9")
    coordinator.get_by_role("button", name="Add place").click()
    expect(coordinator.locator("#places")).to_contain_text("Z9")


BARE = "document.querySelectorAll('form[method=post]:not([novalidate])').length"


@pytest.mark.parametrize("path", ["", "loads/", "requests/", "shelf/", "policy/", "papers/skills/"])
def test_no_form_asks_the_browser(site: Site, coordinator: Page, path: str) -> None:
    coordinator.goto(f"{site.address}/{path}")
    assert coordinator.evaluate(BARE) == 0


def test_an_address_that_is_none_has_a_page_of_our_own(site: Site, coordinator: Page) -> None:
    answer = coordinator.goto(f"{site.address}/no-such-page/")
    assert answer and answer.status == 404
    expect(coordinator.locator("h1")).to_have_text("Nothing is here")
    expect(coordinator.locator("#scan")).to_be_focused()

"""What is wrong in a form is said beside its field, and errors have pages of our own."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.asking import say_where

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


def sign_in_again(site: Site, page: Page, account: str) -> None:
    expect(page.locator("h1")).to_have_text("Sign in")
    page.fill("[name=username]", account)
    page.fill("[name=password]", site.passwords[account])
    page.get_by_role("button", name="Sign in").click()


ASK = "/requests/ask/?item=HF-1042"


def type_and_be_signed_out(site: Site, page: Page) -> None:
    page.goto(f"{site.address}{ASK}")
    say_where(page)
    with page.expect_response("**/requests/sources/*"):  # or it turns the page away by itself
        page.locator(".choice:has-text('In 30 min')").click()
    page.fill("[name=note]", "two of them")
    page.context.clear_cookies(name="sessionid")
    page.click("#ask-it")


def test_who_was_signed_out_finds_what_was_typed(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    type_and_be_signed_out(site, page)
    sign_in_again(site, page, "technician")
    page.wait_for_url(f"{site.address}{ASK}")
    expect(page.locator("[name=note]")).to_have_value("two of them")
    expect(page.get_by_label("In 30 min")).to_be_checked()
    expect(page.locator("#said")).to_contain_text("What you typed is here again, not sent yet")
    page.reload()
    expect(page.locator("[name=note]")).to_have_value("")


def test_nobody_else_finds_what_was_typed(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    type_and_be_signed_out(site, page)
    sign_in_again(site, page, "coordinator")
    page.wait_for_url(f"{site.address}{ASK}")
    expect(page.locator("[name=note]")).to_have_value("")


def test_what_was_typed_is_put_over_nothing_that_changed_meanwhile(
    site: Site, page: Page, coordinator: Page
) -> None:
    edit = f"{site.address}/instruments/HF-1357/edit/"
    coordinator.goto(edit)
    coordinator.fill("[name=notes]", "Mine")
    coordinator.context.clear_cookies(name="sessionid")
    site.sign_in(page, "coordinator")
    page.goto(edit)
    page.fill("[name=notes]", "Theirs")
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url(f"{site.address}/instruments/HF-1357/")
    coordinator.get_by_role("button", name="Save", exact=True).click()
    sign_in_again(site, coordinator, "coordinator")
    coordinator.wait_for_url(edit)
    expect(coordinator.locator("#said")).to_contain_text("changed meanwhile. You had typed: Mine")
    expect(coordinator.locator("[name=notes]")).to_have_value("Theirs")

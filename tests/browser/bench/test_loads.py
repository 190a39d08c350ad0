"""A load in a real browser: filled by scanner, refused, released, recalled; on a small screen."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import loads as do
from tests.browser.steps import single
from tests.browser.steps.looking import runs_out, violations
from tests.browser.steps.unseen import packed

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
ITEM = "HF-1021"
"""Not what other tests ask for: here it comes to lie on the shelf."""


def test_a_load_from_the_bench_to_the_shelf(site: Site, page: Page) -> None:
    site.sign_in(page, "technician", at=f"/instruments/{ITEM}/")
    code, method = single.pack(page), do.cycle_of(page)
    do.begin(page, site, do.sterilizer_for(method), method)
    do.put_in(page, code)
    do.start_and_release(page)
    page.goto(f"{site.address}/shelf/")
    for words in ("A1", code):
        page.fill("#scan", words)
        page.press("#scan", "Enter")
    expect(page.locator("#said")).to_contain_text("put away to A1")


def test_what_was_not_released_is_not_put_away(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    code, _ = packed(page, site, ITEM)
    page.goto(f"{site.address}/shelf/")
    for words in ("A1", code):
        page.fill("#scan", words)
        page.press("#scan", "Enter")
    expect(page.locator("#said")).to_contain_text(f"{code} is in no load")


def test_scans_faster_than_the_server_are_all_put_in(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    all_three = [packed(page, site, ITEM) for _ in range(3)]
    method = all_three[0][1]
    do.begin(page, site, do.sterilizer_for(method), method)
    expect(page.locator("#scan")).to_be_focused()
    for code, _ in all_three:
        page.keyboard.type(code, delay=2)
        page.keyboard.press("Enter")
    expect(page.locator("#inside tbody tr")).to_have_count(3)


def test_a_package_goes_in_with_one_press_from_its_page(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    _, method = packed(page, site, ITEM)
    do.begin(page, site, do.sterilizer_for(method), method)
    code, _ = packed(page, site, ITEM)
    page.goto(f"{site.address}/packages/{code}/")
    page.get_by_role("button", name="Put it into load").first.click()
    page.wait_for_url("**/loads/*/")
    expect(page.get_by_role("link", name=code)).to_be_visible()


def test_a_check_answered_no_keeps_the_load_and_enter_in_the_reason_does_not_release_it(
    site: Site, page: Page
) -> None:
    site.sign_in(page, "technician")
    code, method = packed(page, site, ITEM)
    do.begin(page, site, do.sterilizer_for(method), method)
    do.put_in(page, code)
    page.locator("button[value=start]").click()
    page.locator(".yes-no label:has(input[value=no])").nth(2).click()
    page.get_by_role("button", name="Release", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("A wet package is contaminated")
    do.all_yes(page)
    page.locator("summary", has_text="It is not released").click()
    page.fill("#held-reason", "a wet pouch found")
    page.press("#held-reason", "Enter")
    expect(page.locator(".notice .lead")).to_have_text("Not released")


def test_enter_in_the_reason_asks_what_became_of_it(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    code, _ = packed(page, site, ITEM)
    page.goto(f"{site.address}/packages/{code}/")
    page.locator("summary", has_text="Opened, damaged or recalled").click()
    page.fill("#off-reason", "recall notice 12")
    page.press("#off-reason", "Enter")
    expect(page.locator("#where-it-is")).to_contain_text("Not put away yet")


def test_the_pages_are_accessible_and_fit(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    code, method = packed(page, site, ITEM)
    page.goto(f"{site.address}/packages/{code}/")
    seen = [_looked_at(page)]
    do.begin(page, site, do.sterilizer_for(method), method)
    seen.append(_looked_at(page))
    do.put_in(page, code)
    page.locator("button[value=start]").click()
    seen.append(_looked_at(page))
    page.goto(f"{site.address}/loads/")
    seen.append(_looked_at(page))
    assert seen == [{1280: ([], True), 390: ([], True)}] * 4


def _looked_at(page: Page) -> dict[int, tuple[list[tuple[str, list[str]]], bool]]:
    """What axe finds, and whether nothing has to be scrolled sideways, at each width (px)."""
    found = {}
    for width in (390, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        found[width] = (violations(page), runs_out(page) <= 0)
    return found

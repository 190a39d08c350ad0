"""The head of every page: one row at every width, and a field that takes scans."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
WIDTHS = (1280, 390, 320)
ROW_PX = 64
PAGES = ("", "find/?q=forceps", "instruments/HF-1042/", "requests/", "policy/")
ROWS = """() => {
  const shown = [...document.querySelectorAll(".head-row > *, .head .words > a")]
    .filter((one) => one.getClientRects().length && !one.matches("[popover]"))
    .map((one) => one.getBoundingClientRect());
  const row = document.querySelector(".head-row").getBoundingClientRect();
  return { height: row.height, beyond: Math.max(...shown.map((one) => one.right)) - innerWidth,
    words: document.querySelectorAll(".head .words > a").length };
}"""


@pytest.mark.parametrize("account", ["technician", "liaison", "coordinator"])
def test_the_head_is_one_row_of_at_most_six_words(
    site: Site, screens: Screens, account: str
) -> None:
    found = []
    with do.another(screens, site, account) as page:
        for path in PAGES:
            page.goto(f"{site.address}/{path}")
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 800})
                head = page.evaluate(ROWS)
                if head["height"] > ROW_PX or head["beyond"] > 0 or head["words"] > 6:
                    found.append((path, width, head))
    assert found == []


def test_a_scan_on_any_page_opens_what_it_means(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/policy/")
    coordinator.evaluate("document.activeElement.blur()")
    do.scan(coordinator, "HF-1042")
    coordinator.wait_for_url("**/instruments/HF-1042/")


@pytest.mark.parametrize("typed", ["mosqito forcep", "Kely", "metzenbaun", "HF1042"])
def test_spelling_is_forgiven_on_every_page(site: Site, coordinator: Page, typed: str) -> None:
    coordinator.goto(f"{site.address}/loads/")
    coordinator.fill("#scan", typed)
    coordinator.press("#scan", "Enter")
    expect(coordinator.locator(".found a").first).to_be_visible()

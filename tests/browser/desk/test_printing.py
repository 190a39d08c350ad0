"""Print prints: the dialog of the very file opens, and no viewer of files is the page."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, Route

from tests.browser import site as sites
from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do
from tests.browser.steps import printing, rows
from tests.reports.examples import page_size_mm, word_boxes

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-printing")]


@pytest.fixture(scope="module")
def site(bench_site: Site) -> Site:
    return bench_site


@pytest.fixture(scope="module")
def screens(playwright: Playwright) -> Iterator[Screens]:
    """Of a browser with a viewer of PDFs, which most tests do without."""
    with sites.launched(playwright, viewer=True) as browser:
        yield Screens(browser)


@pytest.fixture
def technician(site: Site, page: Page) -> Page:
    assert page.evaluate("navigator.pdfViewerEnabled")
    site.sign_in(page, "technician")
    return page


def test_a_label_opens_its_own_print_dialog(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/instruments/HF-1042/label/")
    technician.get_by_role("link", name="Print", exact=True).click()
    assert printing.dialogs(technician, 1) == 1
    assert printing.papers(technician) == ["label.pdf"]
    assert technician.url.endswith("/instruments/HF-1042/label/")


def test_a_signed_set_prints_label_and_count_sheet_in_one_press(
    site: Site, technician: Page
) -> None:
    do.begin(site, technician, rows.SHORT)
    while left := technician.locator("[id^=all-]").count():
        technician.locator("[id^=all-]").first.click()
        expect(technician.locator("[id^=all-]")).to_have_count(left - 1)
    do.sign(technician)
    assert printing.dialogs(technician, 2) == 2
    assert printing.papers(technician) == ["label.pdf", "count-sheet.pdf"]
    assert technician.locator("iframe:not(.printing), object, embed").count() == 0
    assert technician.locator("iframe.printing").bounding_box()["width"] <= 1  # type: ignore[index]

    technician.reload()
    technician.wait_for_load_state("networkidle")
    assert printing.papers(technician) == ["label.pdf", "count-sheet.pdf"]


def answered(status: int, route: Route) -> None:
    route.fulfill(status=status)


def test_what_cannot_be_printed_says_why_and_what_to_do(site: Site, technician: Page) -> None:
    technician.goto(f"{site.address}/instruments/HF-1042/label/")
    said = technician.locator("#print-said")
    link = technician.get_by_role("link", name="Print", exact=True)
    link.evaluate("link => { link.search = '?stock=papyrus'; }")
    link.click()
    expect(said).to_contain_text("Not printed. “papyrus” is no label stock in use here. Choose")
    for status, why in ((403, "Ask a coordinator."), (500, "Print again; if it fails again")):
        technician.route("**/label.pdf*", partial(answered, status))
        link.click()
        expect(said).to_contain_text(why)
    technician.context.clear_cookies()
    technician.unroute("**/label.pdf*")
    link.click()
    expect(said).to_contain_text("sign in and print")
    assert printing.papers(technician) == ["label.pdf"] * 4


def test_the_workstation_keeps_its_stock_and_where_its_sheet_ended(
    site: Site, technician: Page
) -> None:
    technician.goto(f"{site.address}/instruments/HF-1042/label/?stock=a4-3x8")
    technician.get_by_role("button", name="Keep this stock").click()
    technician.wait_for_load_state()
    technician.goto(f"{site.address}/instruments/HF-1042/label/?start=24&copies=2")
    expect(technician.locator("#c-stock")).to_have_value("a4-3x8")
    for number, position in ((1, 24), (2, 2)):
        technician.get_by_role("link", name="Print", exact=True).click()
        assert printing.dialogs(technician, number) == number
        expect(technician.locator("#said")).to_contain_text(f"position {position} of 24")


def test_a_bench_prints_without_a_dialog(
    site: Site, playwright: Playwright, tmp_path: Path
) -> None:
    """As README tells: what the printer gets is the file, on its own paper, at actual size."""
    with sites.bench_browser(playwright, tmp_path) as bench:
        page = bench.new_page()
        site.enter(page, "technician")
        page.goto(f"{site.address}/instruments/HF-1042/label/?stock=roll-70x35")
        link = page.get_by_role("link", name="Print", exact=True)
        file = page.request.get(f"{site.address}{link.get_attribute('href')}").body()
        link.click()
        printed = printing.printed(page, tmp_path)
    assert page_size_mm(printed) == pytest.approx((70, 35), abs=0.1)
    [words], [expected] = word_boxes(printed), word_boxes(file)
    assert sorted(words) == [pytest.approx(box, abs=1) for box in sorted(expected)]


def test_without_a_script_a_paper_is_a_link_to_its_file(site: Site, screens: Screens) -> None:
    with do.another(screens, site, "technician", java_script_enabled=False) as page:
        page.goto(f"{site.address}/instruments/HF-1042/label/")
        link = page.get_by_role("link", name="Print", exact=True).get_attribute("href")
        answer = page.request.get(f"{site.address}{link}")
        assert answer.headers["content-type"] == "application/pdf"

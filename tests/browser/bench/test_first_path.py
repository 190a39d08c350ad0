"""The main job as a technician does it: sign in, find, read, print."""

from __future__ import annotations

import pypdfium2
import pytest
from playwright.sync_api import Page

from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def find(page: Page, words: str) -> None:
    page.fill("#scan", words)
    page.press("#scan", "Enter")


def fetched(page: Page, address: str) -> bytes:
    """What a signed-in person gets at an address."""
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/pdf", answer.text()[:500]
    return answer.body()


def test_the_focus_is_in_the_one_field(site: Site, page: Page) -> None:
    site.enter(page, "technician")
    assert page.evaluate("document.activeElement.id") == "scan"


def test_a_nickname_leads_to_the_recommendation(site: Site, page: Page) -> None:
    site.sign_in(page, "technician", at="/")
    find(page, "long Metz")
    page.wait_for_url("**/instruments/HF-1042/")
    assert "Pouch" in page.inner_text(".verdict")


def test_the_drawing_is_the_first_thing_on_the_page(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    page.goto(f"{site.address}/instruments/HF-1042/")
    drawing = page.locator("svg.scene").bounding_box()
    verdict = page.locator(".verdict").bounding_box()
    assert drawing and verdict and drawing["x"] < verdict["x"] and drawing["y"] < 300


def test_a_set_shows_its_weight_and_prints_its_count_sheet(site: Site, page: Page) -> None:
    site.sign_in(page, "technician", at="/")
    find(page, "HF-S03")
    page.wait_for_url("**/sets/HF-S03/")
    assert "Over the weight limit" in page.inner_text("main")
    page.locator("summary", has_text="Print").click()
    link = page.get_by_role("link", name="Count sheet", exact=True).get_attribute("href")
    text = pypdfium2.PdfDocument(fetched(page, f"{site.address}{link}"))[0]
    assert "Bone mallet 450 g" in text.get_textpage().get_text_range()

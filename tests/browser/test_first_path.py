"""The main job as a technician does it: sign in, find, read, print."""

from __future__ import annotations

import pypdfium2
import pytest
import zxingcpp
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
    site.sign_in(page, "technician")
    assert page.evaluate("document.activeElement.id") == "scan"


def test_a_nickname_leads_to_the_recommendation(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    find(page, "long Metz")
    page.wait_for_url("**/instruments/HF-1042/")
    assert "Take pouch" in page.inner_text(".verdict")


def test_the_drawing_is_the_first_thing_on_the_page(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    page.goto(f"{site.address}/instruments/HF-1042/")
    drawing = page.locator("svg.scene").bounding_box()
    verdict = page.locator(".verdict").bounding_box()
    assert drawing and verdict and drawing["x"] < verdict["x"] and drawing["y"] < 300


def test_the_label_of_a_found_instrument_decodes(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    find(page, "long Metz")
    link = page.get_by_role("link", name="Print label").get_attribute("href")
    pdf = fetched(page, f"{site.address}{link}")
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=300 / 72).to_pil()
    assert [code.text for code in zxingcpp.read_barcodes(image)] == ["HF-1042"]


def test_a_set_shows_its_weight_and_prints_its_count_sheet(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    find(page, "HF-S03")
    page.wait_for_url("**/sets/HF-S03/")
    assert "over the limit" in page.inner_text("main")
    link = page.get_by_role("link", name="Print count sheet").get_attribute("href")
    text = pypdfium2.PdfDocument(fetched(page, f"{site.address}{link}"))[0]
    assert "Bone mallet 450 g" in text.get_textpage().get_text_range()

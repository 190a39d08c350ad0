"""Typing as scanners type: fast, with Ctrl+] for the separator, with Enter at the end."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from reports.scanner_test import HEAD, PLAIN, TAIL
from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def burst(page: Page, text: str, end: str = "Enter") -> None:
    """Keys without a pause; GS as Ctrl+]."""
    for part, more in ((part, number) for number, part in enumerate(text.split("\x1d"))):
        if more:
            page.keyboard.press("Control+]")
        page.keyboard.type(part)
    if end:
        page.keyboard.press(end)


@pytest.fixture
def test_page(site: Site, page: Page) -> Page:
    site.sign_in(page, "technician")
    page.goto(f"{site.address}/scanner/")
    return page


def states(page: Page) -> list[str]:
    page.wait_for_selector(".verdict")
    return [text.strip("✓✕?–\n ") for text in page.locator(".points .state").all_inner_texts()]


def test_a_good_scan_of_the_gs1_code(test_page: Page) -> None:
    burst(test_page, f"]d2{HEAD}\x1d{TAIL}")
    assert states(test_page) == ["met"] * 4


def test_a_lost_separator_and_no_mark(test_page: Page) -> None:
    burst(test_page, HEAD + TAIL)
    assert states(test_page) == ["not met", "not met", "met", "met"]


@pytest.mark.parametrize(("end", "last"), [("Tab", "not met"), ("", "not met"), ("Enter", "met")])
def test_how_the_scan_ended(test_page: Page, end: str, last: str) -> None:
    burst(test_page, f"]d1{PLAIN}", end)
    if end != "Enter":
        test_page.get_by_role("button", name="Check").click()
    assert states(test_page)[-1] == last


def test_slow_typing_by_hand_is_no_scan(test_page: Page) -> None:
    test_page.keyboard.type(PLAIN, delay=120)
    test_page.keyboard.press("Enter")
    assert states(test_page)[-1] == "cannot tell"


def test_a_scan_replaces_what_an_earlier_one_left(test_page: Page) -> None:
    test_page.fill("#scan", "left over")
    test_page.locator("#scan").select_text()
    burst(test_page, f"]d1{PLAIN}")
    assert states(test_page)[2] == "met"


def test_another_ctrl_key_within_a_scan_does_nothing(test_page: Page) -> None:
    test_page.keyboard.type("abcd")
    test_page.keyboard.press("Control+a")
    test_page.keyboard.type("ef")
    assert test_page.input_value("#scan") == "abcdef"


LISTEN = """() => {
  window.heard = [];
  const field = document.getElementById("scan");
  field.addEventListener("scan", (e) => { heard.push("scan"); e.preventDefault(); });
  field.addEventListener("scan-repeated", () => heard.push("repeated"));
}"""


def test_the_same_code_at_once_again_is_ignored(test_page: Page) -> None:
    test_page.evaluate(LISTEN)
    burst(test_page, "HF-1042")
    test_page.fill("#scan", "")
    burst(test_page, "HF-1042")
    assert test_page.evaluate("heard") == ["scan", "repeated"]


def test_another_code_at_once_is_not_ignored(test_page: Page) -> None:
    test_page.evaluate(LISTEN)
    burst(test_page, "HF-1042")
    test_page.fill("#scan", "")
    burst(test_page, "HF-1043")
    assert test_page.evaluate("heard") == ["scan", "scan"]


def test_the_same_code_later_counts(test_page: Page) -> None:
    test_page.evaluate(LISTEN)
    burst(test_page, "HF-1042")
    test_page.fill("#scan", "")
    test_page.evaluate("Date.now = ((now) => () => now() + 1600)(Date.now)")
    burst(test_page, "HF-1042")
    assert test_page.evaluate("heard") == ["scan", "scan"]


def test_a_scan_with_the_focus_lost_is_caught(test_page: Page) -> None:
    test_page.evaluate("document.activeElement.blur()")
    burst(test_page, f"]d1{PLAIN}")
    assert states(test_page)[0] == "met"


def test_a_click_beside_it_brings_the_focus_back(test_page: Page) -> None:
    test_page.locator("h1").click()
    assert test_page.evaluate("document.activeElement.id") == "scan"


def test_a_scanned_code_goes_on_to_where_it_was_found(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/instruments/HF-1042/")
    page.focus("#code")
    burst(page, "]d2010064316900176310L1\x1d21A1")
    assert page.evaluate("document.activeElement.id") == "where_found"


def test_a_code_put_on_record_finds_its_instrument(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/instruments/HF-1042/")
    page.focus("#code")
    burst(page, "]d20109501101530003\x1d21A1")
    page.keyboard.type("on the box")
    page.get_by_role("button", name="Put on record").click()
    page.get_by_role("cell", name="09501101530003", exact=True).wait_for()
    page.get_by_role("button", name="Take off 09501101530003").click()
    assert "no longer leads" in page.inner_text("main .notice")


@pytest.mark.parametrize("size", [(1280, 900), (390, 800)])
def test_the_verdict_is_accessible(test_page: Page, size: tuple[int, int]) -> None:
    test_page.set_viewport_size({"width": size[0], "height": size[1]})
    burst(test_page, HEAD + TAIL)
    test_page.wait_for_selector(".verdict")
    found = Axe().run(test_page).response["violations"]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"][:3]]) for v in found] == []


def test_the_form_for_codes_is_accessible(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/instruments/HF-1042/")
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"][:3]]) for v in found] == []

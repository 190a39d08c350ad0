"""Typing as scanners type: fast, with Ctrl+] for the separator, with Enter at the end."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from reports.pages.scanner_test import HEAD, PLAIN, TAIL
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.looking import violations

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def burst(page: Page, text: str, end: str = "Enter") -> None:
    """Keys without a pause; GS as Ctrl+]. Enter goes with the last of them, in one message."""
    first, *more = f"{text}\n".split("\x1d") if end == "Enter" else text.split("\x1d")
    page.keyboard.type(first)
    for part in more:
        page.keyboard.press("Control+]")
        page.keyboard.type(part)
    if end and end != "Enter":
        page.keyboard.press(end)


@pytest.fixture
def scanner(site: Site, page: Page) -> Page:
    site.sign_in(page, "technician")
    page.goto(f"{site.address}/scanner/")
    return page


def states(page: Page) -> list[str]:
    page.wait_for_selector(".verdict")
    return [text.strip("✓✕?–\n ") for text in page.locator(".points .state").all_inner_texts()]


def test_a_good_scan_of_the_gs1_code(scanner: Page) -> None:
    burst(scanner, f"]d2{HEAD}\x1d{TAIL}")
    assert states(scanner) == ["met"] * 4


def test_a_lost_separator_and_no_mark(scanner: Page) -> None:
    burst(scanner, HEAD + TAIL)
    assert states(scanner) == ["not met", "not met", "met", "met"]


@pytest.mark.parametrize(("end", "last"), [("Tab", "not met"), ("", "not met"), ("Enter", "met")])
def test_how_the_scan_ended(scanner: Page, end: str, last: str) -> None:
    burst(scanner, f"]d1{PLAIN}", end)
    if end != "Enter":
        scanner.get_by_role("button", name="Check").click()
    assert states(scanner)[-1] == last


def test_slow_typing_by_hand_is_no_scan(scanner: Page) -> None:
    scanner.keyboard.type(PLAIN, delay=120)
    scanner.keyboard.press("Enter")
    assert states(scanner)[-1] == "cannot tell"


def test_a_scan_replaces_what_an_earlier_one_left(scanner: Page) -> None:
    scanner.fill("#scan", "left over")
    scanner.locator("#scan").select_text()
    burst(scanner, f"]d1{PLAIN}")
    assert states(scanner)[2] == "met"


def test_another_ctrl_key_within_a_scan_does_nothing(scanner: Page) -> None:
    scanner.keyboard.type("abcd")
    scanner.keyboard.press("Control+a")
    scanner.keyboard.type("ef")
    assert scanner.input_value("#scan") == "abcdef"


LISTEN = """() => {
  window.heard = [];
  window.clock = 1e12;
  Date.now = () => window.clock;
  const field = document.getElementById("scan");
  field.addEventListener("scan", (e) => { heard.push("scan"); e.preventDefault(); });
  field.addEventListener("scan-repeated", () => heard.push("repeated"));
}"""


def test_the_same_code_at_once_again_is_ignored(scanner: Page) -> None:
    scanner.evaluate(LISTEN)
    burst(scanner, "HF-1042")
    scanner.fill("#scan", "")
    burst(scanner, "HF-1042")
    assert scanner.evaluate("heard") == ["scan", "repeated"]


def test_another_code_at_once_is_not_ignored(scanner: Page) -> None:
    scanner.evaluate(LISTEN)
    burst(scanner, "HF-1042")
    scanner.fill("#scan", "")
    burst(scanner, "HF-1043")
    assert scanner.evaluate("heard") == ["scan", "scan"]


def test_the_same_code_later_counts(scanner: Page) -> None:
    scanner.evaluate(LISTEN)
    burst(scanner, "HF-1042")
    scanner.fill("#scan", "")
    scanner.evaluate("clock += 1600")
    burst(scanner, "HF-1042")
    assert scanner.evaluate("heard") == ["scan", "scan"]


def test_a_scan_with_the_focus_lost_is_caught(scanner: Page) -> None:
    scanner.evaluate("document.activeElement.blur()")
    burst(scanner, f"]d1{PLAIN}")
    assert states(scanner)[0] == "met"


def test_a_click_beside_it_brings_the_focus_back(scanner: Page) -> None:
    scanner.locator("h1").click()
    assert scanner.evaluate("document.activeElement.id") == "scan"


def to_its_codes(site: Site, page: Page) -> None:
    """An instrument's page with its record unfolded and the field for a code in the focus."""
    page.goto(f"{site.address}/instruments/HF-1042/")
    page.locator("details:has(#code) > summary").click()
    page.focus("#code")


def test_a_scanned_code_goes_on_to_where_it_was_found(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    to_its_codes(site, page)
    burst(page, "]d2010064316900176310L1\x1d21A1")
    assert page.evaluate("document.activeElement.id") == "where_found"


def test_a_code_put_on_record_finds_its_instrument(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    to_its_codes(site, page)
    burst(page, "]d20109501101530003\x1d21A1")
    page.keyboard.type("on the box")
    page.get_by_role("button", name="Put on record").click()
    expect(page.locator("#said")).to_contain_text("leads to HF-1042")
    to_its_codes(site, page)
    page.get_by_role("cell", name="09501101530003", exact=True).wait_for()
    page.get_by_role("button", name="Take off 09501101530003").click()
    expect(page.locator("#said")).to_contain_text("no longer leads")


@pytest.fixture
def piece(site: Site, page: Page) -> Iterator[Page]:
    """One piece of HF-1042 is on record by the serial that stands behind its lot, and only so."""
    site.sign_in(page, "coordinator")
    to_its_codes(site, page)
    burst(page, "]d2010950110153000310A1\x1d21B2")
    page.keyboard.type("on the instrument")
    page.select_option("#scope", "piece")
    page.get_by_role("button", name="Put on record").click()
    expect(page.locator("#said")).to_contain_text("leads to HF-1042")
    yield page
    to_its_codes(site, page)
    page.get_by_role("row").filter(has_text="B2").get_by_role("button").click()


def test_the_bench_finds_a_piece_by_what_stands_behind_the_separator(
    site: Site, piece: Page
) -> None:
    piece.goto(f"{site.address}/")
    burst(piece, "010950110153000310A1\x1d21B2")
    piece.wait_for_url("**/instruments/HF-1042/")


def type_alt_029(page: Page) -> None:
    page.keyboard.down("Alt")
    for digit in "029":
        page.keyboard.press(f"Numpad{digit}")
    page.keyboard.up("Alt")


RAW = """new KeyboardEvent("keydown", {key: "\\u001d", bubbles: true, cancelable: true})"""


@pytest.mark.parametrize("focused", [True, False])
def test_a_separator_typed_as_alt_029_arrives_once(scanner: Page, focused: bool) -> None:
    if not focused:
        scanner.evaluate("document.activeElement.blur()")
    scanner.keyboard.type("10A1")
    type_alt_029(scanner)
    if focused:
        scanner.keyboard.insert_text("\x1d")  # as a browser may do by itself
    scanner.keyboard.type("21B2")
    expect(scanner.locator("#scan")).to_have_value("10A1\x1d21B2")


def test_the_sign_itself_typed_as_a_key_arrives(scanner: Page) -> None:
    scanner.keyboard.type("10A1")
    scanner.evaluate(f"document.activeElement.dispatchEvent({RAW})")
    assert scanner.input_value("#scan") == "10A1\x1d"


def test_a_scan_with_the_focus_lost_keeps_its_separator(scanner: Page) -> None:
    scanner.evaluate("document.activeElement.blur()")
    burst(scanner, f"]d2{HEAD}\x1d{TAIL}")
    assert states(scanner) == ["met"] * 4


def test_the_key_that_zooms_on_another_keyboard_puts_nothing_in(scanner: Page) -> None:
    plus = "new KeyboardEvent('keydown', {key: '+', code: 'BracketRight', ctrlKey: true})"
    scanner.evaluate(f"document.activeElement.dispatchEvent({plus})")
    assert scanner.input_value("#scan") == ""


@pytest.mark.parametrize("size", [(1280, 900), (390, 800)])
def test_the_verdict_is_accessible(scanner: Page, size: tuple[int, int]) -> None:
    scanner.set_viewport_size({"width": size[0], "height": size[1]})
    burst(scanner, HEAD + TAIL)
    scanner.wait_for_selector(".verdict")
    assert violations(scanner) == []

"""A set from its code to its papers: the actions counted, by keys alone, without a script."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from playwright.sync_api import Page

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do
from tests.browser.steps import printing, rows
from tests.browser.steps.looking import runs_out

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-sets")]
MOST_WORDS = 350
MOST_OTHER_ACTIONS = 7
"""What a set of 16 pieces may take beside its 16 scans, print dialogs counted."""


@pytest.fixture(scope="module")
def site(bench_site: Site) -> Site:
    return bench_site


@dataclass
class Hands:
    """A scanner and one key at a time, counted."""

    page: Page
    scans: int = 0
    others: int = 0

    def scan(self, code: str) -> None:
        do.scan(self.page, code)
        self.scans += 1

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.others += 1


def in_turn(lines: list[tuple[str, int]]) -> list[str]:
    """Every piece of every line, never the same code twice in a row: of none are there five."""
    pieces = [number for number, wanted in lines for _ in range(wanted)]
    return [number for first in range(4) for number in pieces[first::4]]


def sheet_of(page: Page) -> list[tuple[str, int]]:
    """The lines of the count sheet on a set's page."""
    return [
        (row.locator(".small").inner_text().split()[0], int(row.locator("strong").inner_text()))
        for row in page.locator(".sheet tbody tr").all()
    ]


def test_sixteen_pieces_take_sixteen_scans_and_seven_other_actions(site: Site, page: Page) -> None:
    """By keys alone, from the set's code to both papers."""
    site.sign_in(page, "technician", at="/")
    hands = Hands(page)
    hands.scan("HF-S02")
    hands.scans, hands.others = 0, 1  # the set's own code is one of the other actions
    page.wait_for_url("**/sets/HF-S02/")
    codes = in_turn(sheet_of(page))
    expect(page.locator("#build-it")).to_be_focused()
    hands.press("Enter")
    page.wait_for_url("**/builds/*/")
    for count, code in enumerate(codes, start=1):
        hands.scan(code)
        expect(page.locator("#progress b")).to_have_text(f"{count} of 16")
    expect(page.locator("#said[data-ready] :focus")).to_contain_text("Pack it")
    hands.press("Enter")
    page.wait_for_url("**/pack/")
    for group in ("The pieces", "In the package"):
        expect(page.locator(".main-act:visible")).to_contain_text(f"{group}: all yes")
        hands.press("y")
    page.wait_for_url("**/packages/**")
    hands.others += printing.dialogs(page, 2)
    assert printing.papers(page) == ["label.pdf", "count-sheet.pdf"]
    assert (hands.scans, hands.others) == (16, MOST_OTHER_ACTIONS)


def test_enter_held_down_after_a_code_begins_no_assembly(site: Site, page: Page) -> None:
    site.sign_in(page, "technician", at="/")
    page.keyboard.type("HF-S02", delay=do.HAND_DELAY_MS)
    page.keyboard.down("Enter")
    page.wait_for_url("**/sets/HF-S02/")
    expect(page.locator("#build-it")).to_be_focused()
    page.keyboard.down("Enter")
    page.keyboard.up("Enter")
    page.goto(f"{site.address}/sets/HF-S02/")
    expect(page.locator("#build-it")).to_be_visible()


def test_no_press_answers_both_groups(site: Site, page: Page) -> None:
    site.sign_in(page, "technician")
    do.begin(site, page, rows.SHORT)
    for left in (1, 0):
        page.locator("[id^=all-]").first.click()
        expect(page.locator("[id^=all-]")).to_have_count(left)
    page.click("#pack-it")
    page.locator(".main-act:visible").click()
    answered = "fieldset.check:has(input[value=yes]:checked)"
    assert page.locator(f"[data-group=piece] {answered}").count() > 0
    assert page.locator(f"[data-group=package] {answered}").count() == 0


def test_without_a_script_a_whole_set_is_counted_packed_and_signed(
    site: Site, screens: Screens
) -> None:
    with do.another(screens, site, "technician", java_script_enabled=False) as page:
        do.begin(site, page, rows.CODE)
        for code in in_turn(rows.WANTED):
            page.fill("#scan", code)
            page.press("#scan", "Enter")
        page.locator("#pack-it").click()
        page.get_by_role("button", name="The pieces: all yes").click()
        page.get_by_role("button", name="In the package: all yes").click()
        page.wait_for_url("**/packages/**")
        assert "15 pieces" in page.inner_text("h1")


def test_without_a_script_letters_mark_and_a_press_counts(site: Site, screens: Screens) -> None:
    with do.another(screens, site, "technician", java_script_enabled=False) as page:
        do.begin(site, page, rows.CODE)
        page.fill("#scan", "forceps no. 10")
        page.press("#scan", "Enter")
        do.pieces_in(page, 0)
        page.get_by_role("button", name="Count 1", exact=False).first.click()
        do.pieces_in(page, 1)


def test_a_set_says_what_matters_on_the_first_screen_in_few_words(site: Site, page: Page) -> None:
    page.set_viewport_size({"width": 1280, "height": 800})
    site.sign_in(page, "technician")
    for code in ("HF-S01", "HF-S02", "HF-S03", "HF-S04", "HF-S05"):
        page.goto(f"{site.address}/sets/{code}/")
        for part in (".verdict .big", ".set-sheet", ".set-acts", ".bar"):
            box = page.locator(part).first.bounding_box()
            assert box and 0 <= box["y"] < 740, (code, part, box)
        words = page.inner_text("main").split()
        assert len(words) - len(page.inner_text(".set-sheet").split()) <= MOST_WORDS, code


def test_a_set_that_cannot_pass_says_so_before_the_first_count_and_asks(
    site: Site, page: Page, screens: Screens
) -> None:
    site.sign_in(page, "technician")
    do.begin(site, page, "HF-S03")
    expect(page.locator("#trouble")).to_contain_text("Over the weight limit")
    expect(page.locator("#trouble")).to_contain_text("A coordinator can")
    page.get_by_role("button", name="Ask", exact=True).click()
    expect(page.locator("#said")).to_contain_text("Asked.")
    expect(page.locator("#ask")).to_contain_text("asked a coordinator")
    with do.another(screens, site, "coordinator") as coordinator:
        coordinator.goto(page.url)
        coordinator.get_by_label("Your answer").fill("Leave the mallets out")
        coordinator.get_by_role("button", name="Answer").click()
        page.reload()
        expect(page.locator("#ask")).to_contain_text("Leave the mallets out")


@pytest.mark.parametrize("width", [390, 320])
def test_nothing_runs_out_of_a_small_screen(site: Site, page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 700})
    site.sign_in(page, "technician")
    for path in ("/sets/HF-S01/", "/sets/HF-S03/"):
        page.goto(f"{site.address}{path}")
        assert runs_out(page) <= 0
    do.begin(site, page, rows.CODE)
    do.write(page, "bench")
    do.said(page, "Which one?")
    assert runs_out(page) <= 0

"""A single package in a real browser: the actions counted, dialogs too; by keyboard; without a
script; several alike, each sealed by the scan of its label."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Page, Route

from tests.browser.screens import Screens
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do
from tests.browser.steps import printing, single

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser-single")]
ORDINARY = "HF-1112"
"""Mosquito forceps, all on record that a decision asks for."""
FIRST_SCREEN = {"width": 1280, "height": 800}
MOST_WORDS = 250


@dataclass
class Counted:
    """A technician's hands: each scan, press and dialog is one action."""

    page: Page
    actions: int = 0

    def scan(self, words: str) -> None:
        self.actions += 1
        self.page.keyboard.type(words, delay=do.KEY_DELAY_MS)
        self.page.keyboard.press("Enter")

    def press(self, name: str) -> None:
        self.actions += 1
        self.page.get_by_role("button", name=name).click()

    def key(self, key: str) -> None:
        self.actions += 1
        self.page.keyboard.press(key)

    def dialog(self) -> None:
        """The browser's own: one press of its button."""
        dialogs = printing.dialogs(self.page, 1)
        self.actions += dialogs


@pytest.fixture
def hands(site: Site, screens: Screens) -> Iterator[Counted]:
    """At the Bench, on a screen of 1280 by 800."""
    with do.another(screens, site, "technician", size=FIRST_SCREEN) as page:
        page.goto(f"{site.address}/bench/")
        expect(page.locator("#scan")).to_be_focused()
        yield Counted(page)


def test_from_the_hand_to_paper_is_a_scan_and_three_presses(hands: Counted) -> None:
    hands.scan(ORDINARY)
    hands.press("The piece: all yes")
    hands.press("Record and print")
    hands.dialog()
    assert hands.actions == 4
    assert printing.papers(hands.page) == ["label.pdf"]
    hands.press("It is sealed")
    expect(hands.page.locator("#seal")).to_have_count(0)
    assert hands.actions == 5


def test_a_scan_names_the_container_and_packs_nothing(site: Site, screens: Screens) -> None:
    with do.another(screens, site, "coordinator", size=FIRST_SCREEN) as page:
        page.goto(f"{site.address}/containers/")
        page.locator("#number").fill("C-1")
        page.locator("#kind").select_option("RC-FULL")
        page.get_by_role("button", name="Take into use").click()
        page.wait_for_url("**/containers/C-1/")
        page.goto(f"{site.address}/instruments/HF-1000/?take=container:RC-FULL")
        hands, record = Counted(page), page.get_by_role("button", name="Record and print")
        hands.key("y")
        expect(record).to_be_visible()
        hands.scan("C-2")
        expect(page.get_by_role("alert")).to_contain_text("“C-2” is no container on record")
        expect(page.locator("#container")).to_have_value("C-2")
        expect(record).to_be_visible()


def test_all_of_it_by_keyboard_alone(hands: Counted) -> None:
    hands.scan(ORDINARY)
    for words in ("The piece: all yes", "Record and print", "It is sealed"):
        shown = hands.page.get_by_role("button", name=words)
        expect(shown.locator("kbd")).to_have_text("Y")
        hands.page.wait_for_load_state("load")
        hands.key("y")
        if words == "Record and print":
            hands.dialog()  # it stands before the page until it is answered
    expect(hands.page.locator("#seal")).to_have_count(0)
    assert hands.actions == 5


@pytest.fixture
def early(hands: Counted) -> Route:
    """The label that is still on its way, and the key of the seal pressed before it is there."""
    labels: list[Route] = []

    def keep(route: Route) -> None:
        labels.append(route)

    hands.page.route("**/label.pdf*", keep)
    hands.scan(ORDINARY)
    single.record(hands.page)
    hands.page.wait_for_load_state("load")
    hands.key("y")
    expect(hands.page.locator("#said")).to_contain_text("Printing first")
    return labels[0]


def test_the_seals_key_waits_for_the_print_dialog(hands: Counted, early: Route) -> None:
    expect(hands.page.locator("#seal")).to_have_count(1)
    early.continue_()
    expect(hands.page.locator("#seal")).to_have_count(0)
    assert printing.dialogs(hands.page, 1) == 1


def test_where_no_dialog_can_open_the_press_says_so(hands: Counted, early: Route) -> None:
    early.fulfill(status=422, content_type="text/plain", body="The name is too long.")
    expect(hands.page.locator("#print-said")).to_contain_text("The name is too long.")
    expect(hands.page.locator("#said")).to_contain_text("nothing else was done")
    hands.key("y")
    expect(hands.page.locator("#seal")).to_have_count(0)


def test_a_scan_of_its_label_says_that_it_is_sealed(hands: Counted) -> None:
    hands.scan(ORDINARY)
    code = single.record(hands.page)
    hands.page.wait_for_load_state("load")
    hands.scan(code)
    expect(hands.page.locator("#seal")).to_have_count(0)
    assert hands.page.url.endswith(f"/packages/{code}/")


def test_all_of_it_stands_on_the_first_screen_in_few_words(site: Site, hands: Counted) -> None:
    hands.page.goto(f"{site.address}/instruments/{ORDINARY}/")
    for part in ("h1", ".verdict", "svg.scene", ".check-group >> nth=-1", ".main-act:visible"):
        box = hands.page.locator(part).bounding_box()
        assert box and box["y"] + box["height"] <= FIRST_SCREEN["height"], part
    assert hands.page.locator(".check").count() == 6
    assert len(hands.page.inner_text("body").split()) <= MOST_WORDS


def test_one_press_answers_one_group(site: Site, hands: Counted) -> None:
    hands.page.goto(f"{site.address}/instruments/{ORDINARY}/")
    hands.press("The piece: all yes")
    answered = hands.page.locator("[data-group=package] input:checked")
    expect(answered).to_have_count(0)
    expect(hands.page.locator("[data-group=piece] input[value=yes]:checked")).to_have_count(3)


def test_what_does_not_work_goes_to_repair_with_one_press(site: Site, hands: Counted) -> None:
    hands.page.goto(f"{site.address}/instruments/{ORDINARY}/")
    hands.page.locator(".check", has_text="Works").locator("label:has([value=no])").click()
    hands.press("Bent or broken")
    expect(hands.page.locator("#said")).to_contain_text("to repair, because: Bent or broken")


def test_five_alike_are_one_strip_and_each_is_sealed_by_its_label(
    site: Site, hands: Counted
) -> None:
    hands.page.goto(f"{site.address}/instruments/{ORDINARY}/")
    hands.page.fill("#copies", "5")
    hands.press("The piece: all yes")
    hands.press("Record and print")
    hands.page.wait_for_url("**/alike/**")
    assert printing.dialogs(hands.page, 1) == 1
    assert printing.papers(hands.page) == ["labels.pdf"]
    codes = hands.page.locator(".strip a").all_inner_texts()
    assert len(set(codes)) == 5
    for code in codes:
        hands.scan(code)
    expect(hands.page.locator("#strip .lead")).to_contain_text("All are sealed")


def test_without_a_script_it_is_recorded_and_sealed_all_the_same(
    site: Site, screens: Screens
) -> None:
    with do.another(screens, site, "technician", java_script_enabled=False) as page:
        page.goto(f"{site.address}/instruments/{ORDINARY}/")
        single.pack(page)
        expect(page.locator("main")).to_contain_text("is in no load")

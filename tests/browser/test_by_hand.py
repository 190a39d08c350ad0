"""The coordinator's pages: the count sheet editor by keyboard alone, and every new page
accessible."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.site import Site

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


@pytest.fixture
def draft(site: Site, page: Page) -> str:
    """The address of a new draft, a copy of the one in force, open in the editor."""
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/sets/HF-S05/new-draft/")
    page.get_by_role("button", name=re.compile("Start from revision")).press("Enter")
    page.wait_for_url("**/edit/")
    expect(page.locator("#weight .big")).to_be_visible()
    return page.url


def names(page: Page) -> list[str]:
    return page.locator(".line .what strong").all_inner_texts()


def said(page: Page, words: str) -> None:
    expect(page.locator("#said")).to_contain_text(words)


def focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.id"))


def add(page: Page, words: str) -> None:
    page.keyboard.type(words)
    page.keyboard.press("Enter")
    said(page, "Added")


class TestByKeyboardAlone:
    def test_the_search_has_the_focus(self, page: Page, draft: str) -> None:
        assert focused(page) == "add-q"

    def test_a_number_and_enter_add_a_line(self, page: Page, draft: str) -> None:
        add(page, "HF-1042")
        assert names(page)[-1] == "Metzenbaum scissors, curved 230 mm"

    def test_after_adding_the_search_is_empty_and_has_the_focus(
        self, page: Page, draft: str
    ) -> None:
        add(page, "HF-1042")
        expect(page.locator("#add-q")).to_have_value("")
        assert focused(page) == "add-q"

    def test_a_few_letters_an_arrow_and_enter_add_a_line(self, page: Page, draft: str) -> None:
        page.keyboard.type("metz")
        expect(page.locator("#found button").first).to_be_visible()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        said(page, "Added 1 × HF-10")
        assert names(page)[-1].startswith("Metzenbaum")

    def test_alt_and_arrow_move_the_line_and_the_focus_goes_with_it(
        self, page: Page, draft: str
    ) -> None:
        first, second, *_ = names(page)
        page.locator("input[name=quantity]").first.focus()
        held = focused(page)
        page.keyboard.press("Alt+ArrowDown")
        said(page, "Moved")
        assert (names(page)[:2], focused(page)) == ([second, first], held)

    def test_a_count_is_saved_when_it_is_left(self, page: Page, draft: str) -> None:
        page.locator("input[name=quantity]").first.focus()
        page.keyboard.press("Control+a")
        page.keyboard.type("7")
        page.keyboard.press("Tab")
        said(page, "Saved 7 ×")
        page.reload()
        expect(page.locator("input[name=quantity]").first).to_have_value("7")

    def test_a_wrong_count_stays_as_typed_and_is_said(self, page: Page, draft: str) -> None:
        page.locator("input[name=quantity]").first.focus()
        page.keyboard.press("Control+a")
        page.keyboard.type("two")
        page.keyboard.press("Tab")
        expect(page.locator(".problem [role=alert]")).to_contain_text("whole number")
        expect(page.locator("input[name=quantity]").first).to_have_value("two")

    def test_a_section_is_typed_and_heads_the_line(self, page: Page, draft: str) -> None:
        page.locator(".line .more summary").first.press("Enter")
        page.locator("input[name=section]").first.focus()
        page.keyboard.type("Basins")
        page.keyboard.press("Tab")
        expect(page.locator(".section-head h2")).to_have_text("Basins")

    def test_a_substitute_is_added(self, page: Page, draft: str) -> None:
        page.locator(".line .subs summary").first.press("Enter")
        page.get_by_label("May be replaced by").first.focus()
        page.keyboard.type("HF-1042")
        page.keyboard.press("Enter")
        expect(page.locator(".stand-in span").first).to_contain_text("HF-1042")

    def test_the_weight_follows_at_once(self, page: Page, draft: str) -> None:
        before = page.inner_text("#weight .big")
        page.locator("#how-many").focus()
        page.keyboard.press("Control+a")
        page.keyboard.type("20")
        page.keyboard.press("Tab")
        add(page, "HF-1042")
        expect(page.locator("#weight .big")).not_to_have_text(before)

    def test_a_change_is_compared_and_approved(self, page: Page, draft: str) -> None:
        add(page, "HF-1042")
        page.get_by_role("link", name="Compare and approve").press("Enter")
        expect(page.locator("tr.added")).to_contain_text("HF-1042")
        page.get_by_role("button", name=re.compile("Approve revision")).press("Enter")
        expect(page.locator("main")).to_contain_text("is in force")


def test_what_is_not_saved_is_said(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/instruments/HF-1042/edit/")
    page.fill("#id_notes", "something")
    expect(page.locator(".unsaved")).to_have_text("Not saved yet.")


def test_after_an_error_the_focus_is_on_what_is_wrong(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/new-instrument/")
    page.fill("#id_length_mm", "14-16 cm")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#wrong")).to_be_focused()


def test_after_an_error_what_was_typed_is_there(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/new-instrument/")
    page.fill("#id_length_mm", "14-16 cm")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#wrong")).to_be_visible()
    expect(page.locator("#id_length_mm")).to_have_value("14-16 cm")


PAGES = [
    "/new-instrument/", "/instruments/HF-1042/edit/", "/instruments/HF-1042/retire/",
    "/instruments/HF-1042/photo/", "/instruments/HF-1042/", "/what-is-missing/", "/records/",
    "/new-set/", "/sets/HF-S01/edit/", "/sets/HF-S01/", "/sets/HF-S01/new-draft/",
    "/sets/HF-S01/retire/", "/sets/HF-S03/count-sheets/4/", "/sets/HF-S03/count-sheets/4/compare/",
    "/supplies/", "/supplies/pouch/PF-100x200/", "/supplies/pouch/PF-100x200/edit/",
    "/new-supply/roll/", "/new-supply/wrap/", "/new-supply/container/", "/new-supply/basket/",
    "/new-supply/protector/", "/new-supply/programme/",
]  # fmt: skip


def violations(page: Page) -> list[tuple[str, list[str]]]:
    found = Axe().run(page).response["violations"]
    return [(each["id"], [node["html"][:120] for node in each["nodes"][:3]]) for each in found]


@pytest.mark.parametrize("path", PAGES)
def test_pages_are_accessible(site: Site, page: Page, path: str) -> None:
    site.sign_in(page, "coordinator")
    answer = page.goto(f"{site.address}{path}")
    assert answer and answer.status == 200
    assert violations(page) == []


def test_the_editor_is_accessible(page: Page, draft: str) -> None:
    page.locator(".line .more summary").first.click()
    page.locator(".line .subs summary").first.click()
    page.fill("#add-q", "metz")
    expect(page.locator("#found button").first).to_be_visible()
    assert violations(page) == []


def test_a_page_of_errors_is_accessible(site: Site, page: Page) -> None:
    site.sign_in(page, "coordinator")
    page.goto(f"{site.address}/new-instrument/")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#wrong")).to_be_visible()
    assert violations(page) == []


@pytest.mark.parametrize("path", [*PAGES, "/instruments/", "/sets/"])
def test_no_page_is_wider_than_a_telephone(site: Site, page: Page, path: str) -> None:
    site.sign_in(page, "coordinator")
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{site.address}{path}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

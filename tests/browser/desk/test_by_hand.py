"""The coordinator's pages: the count sheet editor by keyboard alone, and every new page
accessible."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps.looking import violations
from tests.browser.steps.unseen import sent

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


@pytest.fixture
def draft(site: Site, coordinator: Page) -> str:
    """The address of a new draft, a copy of the one in force, open in the editor."""
    coordinator.goto(site.address + sent(coordinator, site, "/sets/HF-S05/new-draft/"))
    expect(coordinator.locator("#weight .big")).to_be_visible()
    return coordinator.url


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
    def test_a_draft_is_begun_and_the_search_has_the_focus(
        self, site: Site, coordinator: Page
    ) -> None:
        coordinator.goto(f"{site.address}/sets/HF-S05/new-draft/")
        coordinator.get_by_role("button", name=re.compile("Start from")).press("Enter")
        coordinator.wait_for_url("**/edit/")
        assert focused(coordinator) == "add-q"

    def test_a_number_and_enter_add_a_line(self, coordinator: Page, draft: str) -> None:
        add(coordinator, "HF-1042")
        assert names(coordinator)[-1] == "Metzenbaum scissors, curved 230 mm"

    def test_after_adding_the_search_is_empty_and_has_the_focus(
        self, coordinator: Page, draft: str
    ) -> None:
        add(coordinator, "HF-1042")
        expect(coordinator.locator("#add-q")).to_have_value("")
        assert focused(coordinator) == "add-q"

    def test_a_few_letters_an_arrow_and_enter_add_a_line(
        self, coordinator: Page, draft: str
    ) -> None:
        coordinator.keyboard.type("metz")
        expect(coordinator.locator("#found button").first).to_be_visible()
        coordinator.keyboard.press("ArrowDown")
        coordinator.keyboard.press("Enter")
        said(coordinator, "Added 1 × HF-10")
        assert names(coordinator)[-1].startswith("Metzenbaum")

    def test_enter_in_a_count_saves_it_and_moves_nothing(
        self, coordinator: Page, draft: str
    ) -> None:
        before, errors = names(coordinator), list[str]()
        coordinator.on("console", lambda one: errors.append(one.text) if one.type == "error" else 0)
        count = coordinator.locator("input[name=quantity]").nth(2)
        count.fill("3")
        count.press("Enter")
        said(coordinator, "Saved 3 ×")
        coordinator.reload()
        assert (names(coordinator), count.input_value(), errors) == (before, "3", [])

    def test_alt_and_arrow_move_the_line_and_the_focus_goes_with_it(
        self, coordinator: Page, draft: str
    ) -> None:
        first, second, *_ = names(coordinator)
        coordinator.locator("input[name=quantity]").first.focus()
        held = focused(coordinator)
        coordinator.keyboard.press("Alt+ArrowDown")
        said(coordinator, "Moved")
        assert (names(coordinator)[:2], focused(coordinator)) == ([second, first], held)

    def test_a_count_is_saved_when_it_is_left(self, coordinator: Page, draft: str) -> None:
        coordinator.locator("input[name=quantity]").first.focus()
        coordinator.keyboard.press("Control+a")
        coordinator.keyboard.type("7")
        coordinator.keyboard.press("Tab")
        said(coordinator, "Saved 7 ×")
        coordinator.reload()
        expect(coordinator.locator("input[name=quantity]").first).to_have_value("7")

    def test_a_wrong_count_stays_as_typed_and_is_said(self, coordinator: Page, draft: str) -> None:
        coordinator.locator("input[name=quantity]").first.focus()
        coordinator.keyboard.press("Control+a")
        coordinator.keyboard.type("two")
        coordinator.keyboard.press("Tab")
        expect(coordinator.locator(".problem [role=alert]")).to_contain_text("whole number")
        expect(coordinator.locator("input[name=quantity]").first).to_have_value("two")

    def test_a_section_is_typed_and_heads_the_line(self, coordinator: Page, draft: str) -> None:
        coordinator.locator(".line .more summary").first.press("Enter")
        coordinator.locator("input[name=section]").first.focus()
        coordinator.keyboard.type("Basins")
        coordinator.keyboard.press("Tab")
        expect(coordinator.locator(".section-head h2")).to_have_text("Basins")

    def test_a_substitute_is_added(self, coordinator: Page, draft: str) -> None:
        coordinator.locator(".line .subs summary").first.press("Enter")
        coordinator.get_by_label("May be replaced by").first.focus()
        coordinator.keyboard.type("HF-1042")
        coordinator.keyboard.press("Enter")
        expect(coordinator.locator(".stand-in span").first).to_contain_text("HF-1042")

    def test_the_weight_follows_at_once(self, coordinator: Page, draft: str) -> None:
        before = coordinator.inner_text("#weight .big")
        coordinator.locator("#how-many").focus()
        coordinator.keyboard.press("Control+a")
        coordinator.keyboard.type("20")
        coordinator.keyboard.press("Tab")
        add(coordinator, "HF-1042")
        expect(coordinator.locator("#weight .big")).not_to_have_text(before)

    def test_a_change_is_compared_and_approved(self, coordinator: Page, draft: str) -> None:
        add(coordinator, "HF-1042")
        coordinator.get_by_role("link", name="Compare and approve").press("Enter")
        expect(coordinator.locator("tr.added")).to_contain_text("HF-1042")
        coordinator.get_by_role("button", name=re.compile("Approve revision")).press("Enter")
        expect(coordinator.locator("#said")).to_contain_text("is in force")


def test_what_is_not_saved_is_said(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/instruments/HF-1042/edit/")
    coordinator.fill("#id_notes", "something")
    expect(coordinator.locator(".unsaved")).to_have_text("Not saved yet.")


def test_after_an_error_the_focus_is_on_what_is_wrong(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/new-instrument/")
    coordinator.fill("#id_length_mm", "14-16 cm")
    coordinator.get_by_role("button", name="Save", exact=True).click()
    expect(coordinator.locator("#wrong")).to_be_focused()


def test_after_an_error_what_was_typed_is_there(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/new-instrument/")
    coordinator.fill("#id_length_mm", "14-16 cm")
    coordinator.get_by_role("button", name="Save", exact=True).click()
    expect(coordinator.locator("#wrong")).to_be_visible()
    expect(coordinator.locator("#id_length_mm")).to_have_value("14-16 cm")


def test_the_editor_is_accessible(coordinator: Page, draft: str) -> None:
    coordinator.locator(".line .more summary").first.click()
    coordinator.locator(".line .subs summary").first.click()
    coordinator.fill("#add-q", "metz")
    expect(coordinator.locator("#found button").first).to_be_visible()
    assert violations(coordinator) == []


def test_a_page_of_errors_is_accessible(site: Site, coordinator: Page) -> None:
    coordinator.goto(f"{site.address}/new-instrument/")
    coordinator.get_by_role("button", name="Save", exact=True).click()
    expect(coordinator.locator("#wrong")).to_be_visible()
    assert violations(coordinator) == []

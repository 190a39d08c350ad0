"""A single package, from the instrument's page until its seal was looked at."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.soon import expect


def record(page: Page) -> str:
    """Both groups of checks answered yes, recorded, its label out; the package's code."""
    page.get_by_role("button", name="The piece: all yes").click()
    page.get_by_role("button", name="Record and print").click()
    page.wait_for_url("**/packages/**")
    return page.url.split("/packages/")[1].split("/")[0]


def seal(page: Page) -> None:
    """The package on the screen was looked at when it was closed."""
    page.get_by_role("button", name="It is sealed").click()
    expect(page.locator("#seal")).to_have_count(0)


def pack(page: Page) -> str:
    """Recorded and sealed; the package's code."""
    code = record(page)
    seal(page)
    return code

"""Asking as a person does on a phone: where it is for, once."""

from __future__ import annotations

from playwright.sync_api import Page


def say_where(page: Page) -> int:
    """Taps the first place, or writes one where nobody asked before; nothing where it is known.

    How many actions it took.
    """
    if page.locator(".for-where .choice").first.is_visible():
        page.locator(".for-where .choice").first.click()
        return 1
    if not page.locator("#where").is_visible():
        return 0
    page.fill("#where", "OR 3")
    page.fill("#department", "Main ORs")
    return 2

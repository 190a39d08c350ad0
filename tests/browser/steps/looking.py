"""What axe finds on a page, and whether the page fits its window."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

AXE = Axe().axe_script
VIOLATIONS = "axe.run({resultTypes: ['violations']}).then((found) => found.violations)"
"""By every rule; what passed is neither told in full nor sent from the browser."""


def violations(page: Page) -> list[tuple[str, list[str]]]:
    """What axe finds, with the first places where it does."""
    page.evaluate(AXE)
    found = page.evaluate(VIOLATIONS)
    return [(each["id"], [node["html"][:120] for node in each["nodes"][:3]]) for each in found]


def runs_out(page: Page) -> int:
    """How many px would have to be scrolled sideways."""
    return int(page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))

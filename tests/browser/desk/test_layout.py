"""The layout of a basket with its script: a piece marked by a tap, moved by a tap and by keys."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.soon import expect

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def tap(page: Page, x: float, y: float) -> None:
    """A tap on the lowest layer, so far from its left and its back (mm)."""
    at = page.evaluate(
        """([x, y]) => {
          const { left, top } = document.getElementById("layout").dataset;
          const to = document.querySelector("[data-layer='1'] svg").getScreenCTM();
          const from = new DOMPoint((Number(left) + x) * 10, (Number(top) + y) * 10);
          const at = from.matrixTransform(to);
          return [at.x, at.y];
        }""",
        [x, y],
    )
    page.mouse.click(*at)


def marked(page: Page) -> tuple[str, list[float]]:
    """The marked piece, and where it is with its sizes (mm)."""
    value, box = page.locator("#piece").evaluate(
        "one => [one.value, one.selectedOptions[0].dataset.box]"
    )
    return value, [float(each) for each in box.split()]


def test_a_piece_is_marked_and_moved_by_taps_and_by_keys(site: Site, coordinator: Page) -> None:
    page = coordinator
    page.goto(f"{site.address}/sets/HF-S02/layout/")
    boxes = page.locator("#piece option").evaluate_all("all => all.map((one) => one.dataset.box)")
    x, y, long, wide = (float(each) for each in boxes[-1].split())
    tap(page, x + long / 2, y + wide / 2)
    expect(page.locator("#layout path.chosen")).to_have_count(1)
    _, before = marked(page)
    assert before == [x, y, long, wide]
    tap(page, 440, 235)
    expect(page.locator("#piece option:checked")).not_to_have_attribute("data-box", boxes[-1])
    _, there = marked(page)
    page.keyboard.press("ArrowLeft")
    expect(page.locator("#x")).to_have_value(f"{there[0] - 10:.1f}")
    page.keyboard.press("r")
    expect(page.locator("[name=across]")).to_be_checked()
    assert marked(page)[1][2:] == [wide, long]

"""How many actions, and how long: a single pouch and a set of ten lines, in a real browser.

An action is a scan, a tap or a press; what is typed is as fast as a scanner types. Run as
``PYTHONPATH=. python -m tests.bench.desk.actions``. Goals: a single pouch in 5 actions, a
line of a set in 1.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page

from tests.browser import site as sites
from tests.browser.site import Site
from tests.browser.soon import expect
from tests.browser.steps import bench as do
from tests.browser.steps import rows, single

POUCH_GOAL, LINE_GOAL = 5, 1


def single_pouch(site: Site, page: Page) -> tuple[int, float]:
    """From the instrument in the hand to its label in the print dialog, the dialog counted, and
    until it is sealed: actions and seconds."""
    page.goto(f"{site.address}/")
    expect(page.locator("#scan")).to_be_focused()
    start = time.perf_counter()
    do.scan(page, "HF-1042")
    page.wait_for_url("**/instruments/HF-1042/")
    single.pack(page)
    return 5, time.perf_counter() - start


def ten_lines(site: Site, page: Page) -> tuple[int, int, float]:
    """A set of ten lines: actions to count them, actions in all, and seconds."""
    start = time.perf_counter()
    page.goto(f"{site.address}/")
    expect(page.locator("#scan")).to_be_focused()
    do.scan(page, rows.CODE)
    page.wait_for_url(f"**/sets/{rows.CODE}/")
    page.click("#build-it, #build-another")
    page.wait_for_url("**/builds/*/")
    counted = 0
    while left := page.locator("[id^=all-]").count():
        page.locator("[id^=all-]").first.click()
        counted += 1
        expect(page.locator("[id^=all-]")).to_have_count(left - 1)
    do.sign(page)
    around = 2 + 3 + 2  # scan the set, assemble it; pack it, a press a group; two dialogs
    return counted, counted + around, time.perf_counter() - start


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        sites.served(Path(folder), added=rows.SCRIPT) as site,
        sites.browser() as browser,
    ):
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        site.sign_in(page, "technician", at="/")
        actions, seconds = single_pouch(site, page)
        print(f"single pouch: {actions} actions (goal {POUCH_GOAL}), {seconds:.1f} s")
        counted, every, seconds = ten_lines(site, page)
        print(
            f"set of 10 lines: {counted / 10:.1f} actions a line (goal {LINE_GOAL}), "
            f"{every} from the set's code to both papers, {seconds:.1f} s"
        )


if __name__ == "__main__":
    main()

"""How a person fills a sterilizer: begins a load, scans what goes in, starts it, releases it."""

from __future__ import annotations

import html
import re
from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import Page

from tests.browser.site import Site
from tests.browser.soon import expect

STERILIZERS = {"steam": "ST1", "ethylene oxide": "EO1", "hydrogen peroxide": "VP1"}


def sterilizer_for(method: str) -> str:
    """The demo's sterilizer that runs what a package's method names."""
    return next(code for word, code in STERILIZERS.items() if word in method)


def cycle_of(page: Page) -> str:
    """A cycle that serves the package on the screen: the first where several do."""
    return cycle_in(page.content())


def cycle_in(package: str) -> str:
    """The same, in the text of its page."""
    told = dict(re.findall(r"<dt>([^<]+)</dt>\s*<dd[^>]*>(.*?)</dd>", package, re.DOTALL))
    return html.unescape(told.get("Cycles that serve") or told["Method"]).split(";")[0].strip()


def begin(page: Page, site: Site, sterilizer: str, programme: str) -> None:
    """From the page of loads to a load being gathered, the test that stops it on record."""
    page.goto(f"{site.address}/loads/")
    form = page.locator("form.panel", has_text=sterilizer)
    code = programme.split(" ")[0]
    form.locator("select").select_option(code)
    form.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/loads/*/")
    stops = page.locator("#tests.bad")
    if stops.count():
        stops.get_by_role("button", name="Passed").first.click()
        expect(stops).to_have_count(0)


def put_in(page: Page, code: str) -> None:
    """A scan of a package's label, wherever the focus is; waits until it is in."""
    expect(page.locator("#scan")).to_be_focused()
    page.keyboard.type(code, delay=2)
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text(f"{code}")


def all_yes(page: Page, biological: str = "No growth, its control grew") -> None:
    """Every check before the release answered yes, and no implant inside."""
    for yes in page.locator(".yes-no label:has(input[value=yes])").all():
        yes.click()
    page.locator(".choice", has_text="No implant").click()
    page.locator(".choice", has_text=biological).click()


def type_the_record(page: Page) -> None:
    """The sterilizer's record of a cycle that ran an hour ago, and was pressed here only now."""
    page.locator("summary", has_text="Type what the sterilizer's record shows").click()
    now = timezone.localtime()
    for name, ago in (("started", 60), ("ended", 2)):
        page.fill(f"#{name}", f"{now - timedelta(minutes=ago):%H:%M}")
    page.fill("#why", "it ran before it was put in here")


def start_and_release(page: Page, biological: str = "No growth, its control grew") -> None:
    """Started; every check answered yes, no implant, the record typed, and released."""
    page.locator("button[value=start]").click()
    release(page, biological)


def release(page: Page, biological: str = "No growth, its control grew") -> None:
    """Every check of a load that runs answered yes, the record typed, and released."""
    expect(page.get_by_role("heading", name="Before it is released")).to_be_visible()
    all_yes(page, biological)
    type_the_record(page)
    page.get_by_role("button", name="Release", exact=True).click()
    expect(page.locator(".notice .lead")).to_have_text("Released")

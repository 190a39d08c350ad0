"""The pictures of the pages *How*: each step of each role, out of the demo's day in progress."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

from PIL import Image
from playwright.sync_api import Browser, Page

from tests.browser import site as sites

FOLDER = sites.ROOT / "config" / "static" / "how"
QUALITY = 60
WIDE, PHONE = {"width": 1000, "height": 640}, {"width": 390, "height": 640}


def take(site: sites.Site, browser: Browser) -> None:
    """Every picture, made anew."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for account, role, size, steps in (
        ("technician", "technician", WIDE, TECHNICIAN),
        ("liaison", "liaison", PHONE, LIAISON),
        ("coordinator", "coordinator", WIDE, COORDINATOR),
    ):
        page = browser.new_page(viewport=size)
        page.emulate_media(reduced_motion="reduce")
        site.sign_in(page, account, at="/")
        for number, step in enumerate(steps, start=1):
            step(site, page)
            page.wait_for_load_state("networkidle")
            save(page, f"{role}-{number}")
        page.close()


def save(page: Page, name: str) -> None:
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    picture.save(FOLDER / f"{name}.webp", quality=QUALITY, method=6)


Step = Callable[[sites.Site, Page], None]


def at(path: str) -> Step:
    """A page as it opens; it must be there."""

    def go(site: sites.Site, page: Page) -> None:
        answer = page.goto(f"{site.address}{path}")
        assert answer is not None and answer.ok, f"{path} is not there"

    return go


def counting(site: sites.Site, page: Page) -> None:
    """The technician's open set, with a wrong piece told."""
    page.goto(f"{site.address}/bench/")
    page.click(".go-on")
    page.fill("#scan", "HF-1378")
    page.keyboard.press("Enter")
    page.wait_for_selector("#said .said.wrong")


def running(site: sites.Site, page: Page) -> None:
    """The load in the sterilizer."""
    page.goto(f"{site.address}/loads/")
    page.locator("a[href^='/loads/']:has-text('ST2')").first.click()


def followed(site: sites.Site, page: Page) -> None:
    """The request whose package waits for a load."""
    page.goto(f"{site.address}/")
    page.click(".card a:has-text('Crile forceps')")


def draft(site: sites.Site, page: Page) -> None:
    """A draft of a count sheet, just started."""
    page.goto(f"{site.address}/sets/HF-S05/new-draft/")
    page.locator("main form button").first.click()
    page.wait_for_url("**/edit/")


TECHNICIAN: tuple[Step, ...] = (
    at("/"), at("/find/?q=forceps"), at("/instruments/HF-1042/"), counting, running,
)  # fmt: skip
LIAISON: tuple[Step, ...] = (
    at("/"),
    at("/requests/ask/?q=metz&where=OR+4&department=Main+OR&when=30"),
    at("/requests/ask/?item=HF-1042&where=OR+4&department=Main+OR&when=30"),
    followed,
    at("/requests/ask/?q=HF-S02&where=OR+4&department=Main+OR&when=30"),
)
COORDINATOR: tuple[Step, ...] = (
    at("/"),
    at("/instruments/HF-2001/propose/"),
    at("/spreadsheets/"),
    draft,
    at("/policy/"),
)

"""Make the pictures of README and of *How*: ``python -m tests.browser.pictures``."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2
from playwright.sync_api import Page

from tests.browser import how_pictures
from tests.browser import site as sites
from tests.browser.steps import bench as do
from tests.browser.steps import loads, single

PICTURES = sites.ROOT / "docs" / "pictures"
PAGES = {
    "bench": "/",
    "instrument": "/instruments/HF-1042/",
    "set": "/sets/HF-S03/",
}
PAPERS = {
    "count-sheet": "/sets/HF-S02/count-sheet.pdf",
}


def bench_pictures(site: sites.Site, page: Page) -> None:
    """A set half counted, and a single package that waits for its seal."""
    page.emulate_media(reduced_motion="reduce")
    do.begin(site, page, "HF-S02")
    for code in ("HF-1000", "HF-1049", "HF-1042"):
        do.scan(page, code)
        page.wait_for_selector("#said .said")
        page.wait_for_load_state("networkidle")
    do.said(page, "does not belong in this set")
    page.screenshot(path=PICTURES / "build.png")
    page.goto(f"{site.address}/instruments/HF-1042/")
    single.record(page)
    page.screenshot(path=PICTURES / "pack.png")


def load_picture(site: sites.Site, page: Page) -> None:
    """A load in the sterilizer, half of its checks answered, and the label of what is in it."""
    page.goto(f"{site.address}/instruments/HF-1042/")
    code = single.pack(page)
    paper_picture(site, page, "label", f"/packages/{code}/label.pdf")
    method = loads.cycle_of(page)
    loads.begin(page, site, loads.sterilizer_for(method), method)
    loads.put_in(page, code)
    page.locator("button[value=start]").click()
    for yes in page.locator(".yes-no label:has(input[value=yes])").all()[:3]:
        yes.click()
    page.screenshot(path=PICTURES / "load.png")


def paper_picture(site: sites.Site, page: Page, name: str, path: str) -> None:
    """The first page of a paper."""
    pdf = page.request.get(f"{site.address}{path}").body()
    pypdfium2.PdfDocument(pdf)[0].render(scale=1.5).to_pil().save(PICTURES / f"{name}.png")


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        sites.served(Path(folder), day=True) as site,
        sites.browser() as browser,
    ):
        how_pictures.take(site, browser)
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        site.sign_in(page, "technician", at="/")
        for name, path in PAGES.items():
            page.goto(f"{site.address}{path}")
            page.wait_for_load_state("networkidle")
            page.screenshot(path=PICTURES / f"{name}.png")
        bench_pictures(site, page)
        load_picture(site, page)
        for name, path in PAPERS.items():
            paper_picture(site, page, name, path)


if __name__ == "__main__":
    main()

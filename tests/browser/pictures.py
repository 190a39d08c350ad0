"""Make the README's pictures: ``python -m tests.browser.pictures``."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2

from tests.browser import site as sites

PICTURES = sites.ROOT / "docs" / "pictures"
PAGES = {
    "bench": "/?q=forceps",
    "instrument": "/instruments/HF-1042/",
    "set": "/sets/HF-S03/",
    "instruments": "/instruments/",
}
PAPERS = {
    "label": "/instruments/HF-1042/label.pdf",
    "count-sheet": "/sets/HF-S03/count-sheet.pdf",
}


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        sites.served(Path(folder)) as site,
        sites.browser() as browser,
    ):
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        site.sign_in(page, "technician")
        for name, path in PAGES.items():
            page.goto(f"{site.address}{path}")
            page.wait_for_load_state("networkidle")
            page.screenshot(path=PICTURES / f"{name}.png")
        for name, path in PAPERS.items():
            pdf = page.request.get(f"{site.address}{path}").body()
            pypdfium2.PdfDocument(pdf)[0].render(scale=1.5).to_pil().save(PICTURES / f"{name}.png")


if __name__ == "__main__":
    main()

"""Print dialogs, as a browser without a printer counts them."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, Page

COUNTED = """
window.print = () => {
  const kept = JSON.parse(sessionStorage.getItem("printed") ?? "[]");
  sessionStorage.setItem("printed", JSON.stringify([...kept, location.protocol]));
};
const fetched = window.fetch;
window.fetch = async (address, ...more) => {
  const paper = String(address).includes(".pdf");
  if (paper) {
    const kept = JSON.parse(sessionStorage.getItem("papers") ?? "[]");
    sessionStorage.setItem("papers", JSON.stringify([...kept, String(address)]));
  }
  const answer = await fetched(address, ...more);
  if (paper && !navigator.pdfViewerEnabled) {
    answer.blob = async () => new Blob(["A paper"], { type: "text/html" });
  }
  return answer;
};
"""
"""Instead of a dialog, which nobody could close here: that one opened is kept, with its paper.

A browser without a viewer of PDFs puts a page into the frame; ``desk/test_printing.py`` has one.
"""


STEP_MS, PATIENCE = 100, 300


def count_dialogs(page: Page) -> None:
    """From the next page on nothing is printed: :func:`dialogs` and :func:`papers` say what was
    to be. Whoever signs in is counted: a browser without a screen does not survive a dialog."""
    page.add_init_script(COUNTED)


def dialogs(page: Page, least: int) -> int:
    """How many print dialogs opened since the session began, once there are so many."""
    for _ in range(PATIENCE):
        with suppress(Error):  # the page is being left for the next
            if (opened := len(_kept(page, "printed"))) >= least:
                return opened
        page.wait_for_timeout(STEP_MS)
    return len(_kept(page, "printed"))


def printed(page: Page, folder: Path) -> bytes:
    """What was printed into a file of the folder, once it is there."""
    for _ in range(PATIENCE):
        for file in folder.glob("*.pdf"):
            if (data := file.read_bytes()).rstrip().endswith(b"%%EOF"):
                return data
        page.wait_for_timeout(STEP_MS)
    raise AssertionError("Nothing was printed.")


def papers(page: Page) -> list[str]:
    """The files that were put into print dialogs, by their names, in their order."""
    return [address.split("?")[0].rsplit("/", 1)[1] for address in _kept(page, "papers")]


def _kept(page: Page, name: str) -> Any:
    return page.evaluate("name => JSON.parse(sessionStorage.getItem(name) ?? '[]')", name)

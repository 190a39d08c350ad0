"""Expected page images, kept small: ``python -m tests.reports.drawing.page_images`` remakes them.

Look at each one after a change before you keep it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops

from reports.documents.count_sheets import CountSheetSection, Substitute
from reports.drawing.cards.cards import draw_card
from reports.drawing.labels.labels import draw_label, draw_labels
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.lists import draw_list
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import stock
from tests.reports.drawing.card_examples import card, listing, scene
from tests.reports.examples import draw_count_sheets, label, line, sheet

FOLDER = Path(__file__).parent / "expected"
DPI = 60
NOISE = 40
"""How much one pixel may differ (of 255): the edges of letters, drawn by another renderer."""

COUNTED = (
    CountSheetSection(
        "",
        (
            line(1, quantity=1, inside=0, missing=1, name="Péan"),
            line(2, quantity=2, inside=1, instead=(Substitute(1, "Scissors, Mayo", "HF-9"),)),
            line(3, quantity=4, inside=4, details=("protector vented, small",)),
        ),
    ),
)

PAGES: dict[str, Callable[[], bytes]] = {
    "count-sheet": lambda: draw_count_sheet(sheet(9)),
    "count-sheet-draft-letter": lambda: draw_count_sheet(
        sheet(5, revision_state="draft", sections=COUNTED), "letter"
    ),
    "contents": lambda: draw_count_sheets([sheet(2), sheet(3, set_code="HFH-S-0043")]),
    "label-100x50": lambda: draw_label(label(flags=("LOANER",)), stock("label-100x50")),
    "label-70x35": lambda: draw_label(label(), stock("roll-70x35")),
    "label-void": lambda: draw_label(label(void="reprinted"), stock("label-100x50")),
    "label-code-128": lambda: draw_label(
        label(symbol="code 128", barcode_text="HFP0000123"), stock("roll-100x60")
    ),
    "labels-a4": lambda: draw_labels([label()] * 3, stock("a4-3x8"), start_at=5),
    "ruler-letter": lambda: draw_ruler(stock("letter-3x7")),
    "work-card": lambda: draw_card(card(scenes=(scene(),))),
    "list": lambda: draw_list(listing()),
}


def image(pdf: bytes) -> Image.Image:
    """The first page, in grey, at the size that is kept."""
    page = pypdfium2.PdfDocument(pdf)[0]
    found: Image.Image = page.render(scale=DPI / 72, grayscale=True).to_pil()
    return found


def difference(name: str, found: Image.Image) -> int:
    """How many pixels differ by more than noise; the differences are left as an image."""
    left = FOLDER / f"{name}-difference.png"
    with Image.open(FOLDER / f"{name}.png") as kept:
        expected = kept.copy()
    if expected.size != found.size:
        found.save(left)
        return found.width * found.height
    apart = ImageChops.difference(expected, found).point(lambda shade: 255 * (shade > NOISE))
    wrong = apart.histogram()[255]
    if wrong:
        Image.merge("RGB", (expected, found, found)).save(left)
    else:
        left.unlink(missing_ok=True)
    return wrong


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, draw in PAGES.items():
        image(draw()).quantize(32).convert("L").save(FOLDER / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()

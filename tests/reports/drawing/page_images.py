"""Expected page images, kept small: ``python -m tests.reports.drawing.page_images`` remakes them.

Look at each one after a change before you keep it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import reduce
from pathlib import Path

from PIL import Image, ImageChops, ImageFilter

from reports.documents.count_sheets import CountSheetSection, Substitute
from reports.documents.labels import ShelfLabelDocument
from reports.drawing.boards import draw_board
from reports.drawing.cards.cards import draw_card
from reports.drawing.cards.work import draw_work_card
from reports.drawing.labels.labels import draw_labels
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.lists import draw_list
from reports.drawing.posters.pages import draw_poster
from reports.drawing.records import draw_record
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import stock
from tests.reports.drawing.card_examples import (
    board,
    card,
    in_container,
    listing,
    poster,
    record,
    scene,
    skills,
    wrapped,
)
from tests.reports.examples import draw_count_sheets, draw_label, label, line, rendered, sheet

FOLDER = Path(__file__).parent / "expected"
DPI, FINER = 60, 3
"""What is kept, and how much finer a page is drawn first: how thin lines and edges come out then
counts for little."""
INK = 200
"""Darker than this (of 255) is ink."""
CLEARER, STEP = (1, 110, 255), 85
"""How white a pixel is of 255 to be kept as a little, clearly, all over white, each a step more."""
REACH = 3
"""Pixels: ink is looked for in a square so wide, 0.4 mm to each side."""

INKED = [255 * (shade < 3 * STEP) for shade in range(256)]
WHITE = [255 * (shade >= STEP) for shade in range(256)]
CLEARLY_WHITE = [255 * (shade >= 2 * STEP) for shade in range(256)]

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

SHELF = ShelfLabelDocument("NH-1804", "Needle holder, Mayo-Hegar", "NH-1804", "Pouch P-150x300")

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
    "shelf-label": lambda: draw_label(SHELF, stock("roll-70x35")),
    "labels-a4": lambda: draw_labels([label()] * 3, stock("a4-3x8"), start_at=5),
    "ruler-letter": lambda: draw_ruler(stock("letter-3x7")),
    "work-card": lambda: draw_work_card(card(scenes=(scene(),))),
    "work-card-wrap": lambda: draw_work_card(card(scenes=(wrapped(),))),
    "work-card-container": lambda: draw_work_card(card(scenes=(in_container(),))),
    "poster": lambda: draw_poster(poster()),
    "skills": lambda: draw_card(skills(), "letter"),
    "record": lambda: draw_record(record(), datetime(2026, 3, 6, 14, 5), "T. Birkett"),
    "list": lambda: draw_list(listing()),
    "board": lambda: draw_board(board()),
}


def image(pdf: bytes) -> Image.Image:
    """The first page at the size that is kept."""
    return reduced(rendered(pdf, DPI * FINER))


def reduced(page: Image.Image) -> Image.Image:
    """A page drawn finer, as it is kept: black where all is ink, white where none is."""
    white = page.point(lambda shade: 255 * (shade >= INK)).reduce(FINER)
    return white.point(lambda share: STEP * sum(share >= least for least in CLEARER))


def difference(name: str, found: Image.Image) -> int:
    """How many pixels have ink, or white in what is black, with none near on the other image,
    because it is new or gone; the differences are left as an image."""
    left = FOLDER / f"{name}-difference.png"
    with Image.open(FOLDER / f"{name}.png") as kept:
        expected = kept.convert("L")
    if expected.size != found.size:
        found.save(left)
        return found.width * found.height
    alone = [
        _alone(one.point(clear), other.point(any_))
        for clear, any_ in ((INKED, INKED), (CLEARLY_WHITE, WHITE))
        for one, other in ((found, expected), (expected, found))
    ]
    wrong = reduce(ImageChops.lighter, alone).histogram()[255]
    if wrong:
        Image.merge("RGB", (expected, found, found)).save(left)
    else:
        left.unlink(missing_ok=True)
    return wrong


def _alone(one: Image.Image, other: Image.Image) -> Image.Image:
    """White where ``one`` is and ``other`` is not, nor near."""
    return ImageChops.subtract(one, other.filter(ImageFilter.MaxFilter(REACH)))


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, draw in PAGES.items():
        image(draw()).quantize(4).save(FOLDER / f"{name}.png", optimize=True, bits=2)


if __name__ == "__main__":
    main()

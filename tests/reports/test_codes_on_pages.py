"""Codes on rendered pages, held against encoders and a reader that did not draw them."""

from __future__ import annotations

import pytest
from ppf.datamatrix import DataMatrix

from reports.drawing.barcodes import data_matrix
from reports.drawing.cards import draw_card
from reports.drawing.count_sheets import draw_count_sheet
from reports.drawing.labels import draw_label
from reports.drawing.stocks import stock
from tests.reports.card_examples import card, scene
from tests.reports.examples import label, rendered, sheet

ON = stock("label-100x50")
DPI = 600
PAGES = {
    "HFH-P-000123": lambda: draw_label(label(), ON),
    "HFH-P-000200": lambda: draw_count_sheet(sheet(set_code="HFH-P-000200")),
    "SET-0042": lambda: draw_card(card(scene=scene(), code="SET-0042")),
}
MODULE_MM = {"HFH-P-000123": 4 * 25.4 / 203, "HFH-P-000200": 0.5, "SET-0042": 0.5}


def sampled(text: str) -> tuple[tuple[bool, ...], ...]:
    """The modules as they stand on the page: found by its dark left and lower edge, then
    looked up in the middle of each. No barcode library has a part in it."""
    image = rendered(PAGES[text](), DPI).point(lambda shade: 255 * (shade > 127))
    size = len(DataMatrix(text).matrix)
    module = MODULE_MM[text] * DPI / 25.4
    side = size * module
    left, top = _corner(image, side)
    return tuple(
        tuple(
            image.getpixel((int(left + (x + 0.5) * module), int(top + (y + 0.5) * module))) == 0
            for x in range(size)
        )
        for y in range(size)
    )


def _corner(image, side: float) -> tuple[float, float]:
    """Left and top of the first unbroken dark column that is as high as the code."""
    pixels = image.load()
    for x in range(image.width // 2, image.width):
        run = 0
        for y in range(image.height // 3):
            run = run + 1 if pixels[x, y] == 0 else 0
            if run >= side - 2 and (y + 1 == image.height or pixels[x, y + 1] != 0):
                return x, y + 1 - side
    raise AssertionError("no code on the page")


@pytest.mark.parametrize("text", PAGES)
def test_the_page_bears_what_a_second_encoder_makes(text):
    other = tuple(tuple(bool(module) for module in row) for row in DataMatrix(text).matrix)
    assert sampled(text) == other


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("text", PAGES)
def test_a_second_reader_reads_the_page(text, dpi):
    reader = pytest.importorskip("arbez_dmtx", reason="a second Data Matrix reader by pip")
    page = rendered(PAGES[text](), dpi)
    mm = dpi / 25.4
    image = page.crop((int(page.width - 32 * mm), 0, page.width, int(26 * mm)))
    image = image.resize((image.width * 3, image.height * 3), 0).convert("RGB")
    found = reader.decode(image, max_count=1, timeout=20_000)
    assert [one.data.decode() for one in found] == [text]


def test_a_code_of_another_text_is_another_code():
    assert data_matrix("HFH-P-000123").rows != data_matrix("HFH-P-000124").rows

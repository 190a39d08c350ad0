"""Codes on rendered pages, held against an encoder and readers that did not draw them."""

from __future__ import annotations

import io
from operator import attrgetter
from typing import Any

import pytest
from ppf.datamatrix import DataMatrix
from reportlab.pdfgen.canvas import Canvas

from reports.drawing.barcodes import (
    Symbol,
    code_128,
    data_matrix,
    draw,
    gs1_data_matrix,
)
from reports.drawing.cards.work import draw_work_card
from reports.drawing.measures import dots_mm, points
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import stock
from tests.reports.drawing.card_examples import card, scene
from tests.reports.drawing.labels.second_readers import (
    FNC1,
    code_128_texts,
    data_matrix_texts,
    gs1_bytes,
)
from tests.reports.examples import codes, draw_label, label, rendered, sheet

ON = stock("label-100x50")
DPI = 600
DPIS = pytest.mark.parametrize("dpi", [203, 300])
KEY = attrgetter("key")
PAGES = {
    "HFH-P-000123": lambda: draw_label(label(), ON),
    "HFH-P-000200": lambda: draw_count_sheet(sheet(set_code="HFH-P-000200")),
    "SET-0042": lambda: draw_work_card(card(scenes=(scene(),), code="SET-0042")),
}
MODULE_MM = {"HFH-P-000123": 7 * 25.4 / 203, "HFH-P-000200": 0.5, "SET-0042": 0.5}


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
    """Left and top of the first unbroken dark column at the right that is as high as the code."""
    pixels = image.load()
    for x in range(image.width * 3 // 4, image.width):
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


def printed(pdf: bytes, dpi: int) -> Any:
    """The first page in black and white, as a thermal printer has it."""
    return rendered(pdf, dpi).point(lambda shade: 255 * (shade > 127))


def corner(page: Any, dpi: int) -> Any:
    """The top right of a page, 32 mm by 26 mm, where a Data Matrix stands."""
    mm = dpi / 25.4
    return page.crop((int(page.width - 32 * mm), 0, page.width, int(26 * mm)))


@DPIS
@pytest.mark.parametrize("text", PAGES)
def test_a_second_reader_reads_the_page(text, dpi):
    page = rendered(PAGES[text](), dpi)
    assert data_matrix_texts(corner(page, dpi)) == [text]


@pytest.mark.needs("ZBar")
@DPIS
@pytest.mark.parametrize("on", [ON, stock("roll-100x60"), stock("roll-70x35")], ids=KEY)
def test_a_second_reader_reads_the_code_128_of_a_label(on, dpi):
    document = label(symbol="code 128", barcode_text="HFP0000123", package="", department="")
    assert code_128_texts(printed(draw_label(document, on), dpi)) == ["HFP0000123"]


@DPIS
@pytest.mark.parametrize("on", [ON, stock("roll-100x60")], ids=KEY)
def test_a_second_reader_reads_the_gs1_code_of_a_label_as_gs1(on, dpi):
    document = label(gs1_prefix="0614141", barcode_text="HFP0000123")
    image = corner(printed(draw_label(document, on), dpi), dpi)
    assert gs1_bytes(image) == FNC1 + b"80040614141HFP0000123"


@DPIS
@pytest.mark.parametrize("prefix", ["9501101", "95011015", "950110153"])
@pytest.mark.parametrize("key", ["label-100x50", "roll-70x35", "roll-100x60", "a4-3x8"])
def test_prefixes_of_every_length_print_on_every_stock(key, prefix, dpi):
    document = label(gs1_prefix=prefix, barcode_text="PK-0000017")
    read = [one.text.strip("()") for one in codes(rendered(draw_label(document, stock(key)), dpi))]
    assert [text.replace(")", "") for text in read] == [f"8004{prefix}PK-0000017"]


@DPIS
def test_a_plain_code_is_not_gs1_to_a_second_reader(dpi):
    assert gs1_bytes(corner(printed(draw_label(label(), ON), dpi), dpi)) == b"HFH-P-000123"


@DPIS
def test_a_second_reader_finds_the_separator_between_two_gs1_elements(dpi):
    symbol = gs1_data_matrix("[01]09501101530003[10]LOT-7[21]A1")
    read = gs1_bytes(printed(page_of(symbol, dpi), dpi))
    assert read == FNC1 + b"010950110153000310LOT-7" + FNC1 + b"21A1"


@pytest.mark.needs("ZBar")
@pytest.mark.parametrize(
    "text", ["A1", "20012345", "HFH-P-000123", "1234567890123456", "a-b 12/34567.8", "~!()[]"]
)
def test_a_second_reader_reads_any_code_128_whole(text):
    assert code_128_texts(printed(page_of(code_128(text), 300, bar=points(12)), 300)) == [text]


def page_of(symbol: Symbol, dpi: int, bar: float = 0.0) -> bytes:
    """A page with nothing but ``symbol``, four printer dots to a module, on whole dots."""
    module = points(dots_mm(4, dpi))
    out = io.BytesIO()
    width = (symbol.across + 20) * module
    height = (bar or len(symbol.rows) * module) + 20 * module
    canvas = Canvas(out, pagesize=(width, height))
    left, top = (symbol.quiet + 10) * module, height - 10 * module
    draw(canvas, symbol, left, top, module, bar or module)
    canvas.save()
    return out.getvalue()


def test_a_code_of_another_text_is_another_code():
    assert data_matrix("HFH-P-000123").rows != data_matrix("HFH-P-000124").rows

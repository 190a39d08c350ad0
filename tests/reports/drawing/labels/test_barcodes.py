from __future__ import annotations

import io

import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from ppf.datamatrix import DataMatrix
from reportlab.pdfgen.canvas import Canvas

from reports.drawing.barcodes import (
    Symbol,
    code_128,
    data_matrix,
    draw,
    module_dots,
)
from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import dots_mm, points
from reports.drawing.stocks import ModuleLimits
from tests.reports.examples import codes, rendered

LIMITS = ModuleLimits(
    preferred_mm=0.5, most_mm=0.99, share_of_height=0.018, least_dots=3, least_mm=0.254,
    bars_share=0.15, source="test",
)  # fmt: skip


def picture(symbol: Symbol, scale: int = 4, bar: int = 1) -> Image.Image:
    edge = symbol.quiet + 2
    width = len(symbol.rows[0]) + 2 * edge
    image = Image.new("L", (width, len(symbol.rows) * bar + 2 * edge), 255)
    for y, row in enumerate(symbol.rows):
        for x, black in enumerate(row):
            if black:
                image.paste(0, (x + edge, y * bar + edge, x + edge + 1, (y + 1) * bar + edge))
    return image.resize((image.width * scale, image.height * scale), Image.Resampling.NEAREST)


@pytest.mark.parametrize("text", ["SET-0042", "HFH-P-000123", "20012345", "A1"])
def test_a_second_encoder_makes_the_same_data_matrix(text):
    other = tuple(tuple(bool(module) for module in row) for row in DataMatrix(text).matrix)
    assert data_matrix(text).rows == other


@given(st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=30))
def test_any_plain_code_reads_back_as_a_plain_square_data_matrix(text):
    symbol = data_matrix(text)
    (read,) = codes(picture(symbol))
    assert (read.text, read.symbology_identifier) == (text, "]d1")
    assert len(symbol.rows) == len(symbol.rows[0])


def test_code_128_reads_back_plain():
    (read,) = codes(picture(code_128("HFH-P-000123"), bar=30))
    assert (read.text, read.format) == ("HFH-P-000123", zxingcpp.BarcodeFormat.Code128)


def test_code_128_drawn_on_a_page_reads_back():
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(points(80), points(25)))
    module = points(dots_mm(3, 203))
    draw(canvas, code_128("HFH-P-000123"), 12 * module, points(20), module, points(12))
    canvas.save()
    assert [code.text for code in codes(rendered(out.getvalue(), 203))] == ["HFH-P-000123"]


@pytest.mark.parametrize("text", ["", "  ", "Größe", "A\x1dB", "A\nB", "A" * 4000])
def test_a_code_that_cannot_be_printed_is_refused_by_field(text):
    with pytest.raises(PrintRefused) as refusal:
        data_matrix(text, "set code")
    assert refusal.value.field == "set code"


@pytest.mark.parametrize(
    ("room_mm", "dpi", "dots"), [(8.1, 203, 4), (7.9, 203, 3), (6.1, 203, 3), (4.1, 300, 3)]
)
def test_modules_are_as_wide_as_the_room_allows(room_mm, dpi, dots):
    assert module_dots(data_matrix("SET-0042"), room_mm, dpi, LIMITS).most == dots


@pytest.mark.parametrize(("room_mm", "dpi"), [(5.9, 203), (4.0, 300), (4.0, 600)])
def test_modules_never_fall_under_three_dots_or_the_floor(room_mm, dpi):
    with pytest.raises(PrintRefused, match="SET-0042"):
        module_dots(data_matrix("SET-0042"), room_mm, dpi, LIMITS)

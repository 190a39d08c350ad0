"""The label of a shelf or a bin, and how high the bars of a linear code are, on every stock."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pypdfium2
import pytest

from reports.documents.labels import ShelfLabelDocument
from reports.documents.papers import MissingElement
from reports.drawing.fitting import PrintRefused
from reports.drawing.stocks import shipped, stock
from tests.reports.examples import codes, draw_label, label, page_texts, rendered, squeezed

SHELF = ShelfLabelDocument(
    "HF-1042", "Scissors, Metzenbaum, curved, 180 mm", "HF-1042", "Usually: pouch PF-100x300"
)
STOCKS = pytest.mark.parametrize("on", shipped().by_key.values(), ids=lambda on: on.key)


def paths(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each path on the first page, in points."""
    page = pypdfium2.PdfDocument(pdf)[0]
    boxes = [one.get_bounds() for one in page.get_objects(filter=[2])]
    return [(right - left, top - bottom) for left, bottom, right, top in boxes]


@STOCKS
def test_it_says_number_name_code_and_usual_package_and_is_read(on: Any) -> None:
    pdf = draw_label(SHELF, on)
    said = squeezed(page_texts(pdf)[0])
    assert all(squeezed(words) in said for words in (SHELF.number, SHELF.name, SHELF.note))
    image = rendered(pdf, 203).point(lambda shade: 255 * (shade > 127))
    assert [code.text for code in codes(image)] == [SHELF.code]


@STOCKS
@pytest.mark.parametrize("symbol", ["data matrix", "code 128"])
def test_no_package_looks_like_it(on: Any, symbol: str) -> None:
    """A black band over the whole width at the top, which no label of a package has."""
    banded = rendered(draw_label(replace(SHELF, symbol=symbol), on), 100)
    plain = rendered(draw_label(label(), on), 100)
    left, top = (round(mm / 25.4 * 100) for mm in (on.grid.corner_mm(0) if on.grid else (0, 0)))
    across = range(left + 8, left + round(on.width_mm / 25.4 * 100) - 8)
    row = top + round((on.margin_mm + 0.4) / 25.4 * 100)
    assert all(banded.getpixel((x, row)) < 90 for x in across)
    assert any(plain.getpixel((x, row)) > 200 for x in across)


def test_one_without_a_code_is_none() -> None:
    with pytest.raises(MissingElement, match="the code"):
        ShelfLabelDocument("A1", "shelf", "")


@STOCKS
def test_bars_are_at_least_fifteen_hundredths_of_their_width_high(on: Any) -> None:
    document = label(symbol="code 128", barcode_text="PK-000001T")
    if on.key == "roll-50x25":
        with pytest.raises(PrintRefused, match="needs 58 mm at the least"):
            draw_label(document, on)
        return
    width, height = max(paths(draw_label(document, on)), key=lambda one: one[0] * one[1])
    assert width > 80 and height / width >= 0.15 - 1e-6


def test_the_smallest_stock_prints_contents_and_code_to_be_read_at_arms_length() -> None:
    """9 pt bold and 7.5 pt semibold at the least: our own bounds, no source."""
    on = stock("roll-50x25")
    page = pypdfium2.PdfDocument(draw_label(label(barcode_text="PK-000001T"), on))[0]
    found = page.get_objects(filter=[1], textpage=page.get_textpage())
    sizes = {one.extract().strip(): one.get_font_size() for one in found}
    assert sizes["PK-000001T"] >= 7.5 and sizes["Needle holder,"] >= 9

from __future__ import annotations

import pytest

from catalog.data_files import DataError
from reports.drawing.stocks import DATA, load, shipped, stock

GOOD = DATA.read_text(encoding="utf-8")


@pytest.mark.parametrize(("key", "size"), [("roll-70x35", (70, 35)), ("label-100x50", (100, 50))])
def test_the_shipped_stocks_have_the_sizes_in_their_names(key, size):
    assert (stock(key).width_mm, stock(key).height_mm) == size


def test_no_shipped_stock_goes_under_three_dots():
    assert {one.modules.least_dots for one in shipped().by_key.values()} == {3}


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ("width_mm = 70.0\n", "", "stock 1.width_mm"),
        ("width_mm = 70.0", "width_mm = 70.0\ncolour = 'red'", "stock 1.colour"),
        ("width_mm = 70.0", "width_mm = '70'", "stock 1.width_mm"),
        ("width_mm = 70.0", "width_mm = -70.0", "stock 1.width_mm"),
        ("width_mm = 70.0", "width_mm = nan", "stock 1.width_mm"),
        ("margin_mm = 1.5", "margin_mm = 0.5", "stock 1.margin_mm"),
        ("margin_mm = 1.5", "margin_mm = 20.0", "stock 1.margin_mm"),
        ("printer_dpi = 203", "printer_dpi = 100", "stock 1.printer_dpi"),
        ("name_pt = [15.0, 9.0]", "name_pt = [9.0, 15.0]", "stock 1.name_pt"),
        ("name_pt = [15.0, 9.0]", "name_pt = [9.0]", "stock 1.name_pt"),
        ('name = "Roll, 70 x 35 mm"', 'name = " "', "stock 1.name"),
        ('key = "label-100x50"', 'key = "roll-70x35"', "stock 2.key"),
        ("preferred_mm = 0.5", "preferred_mm = 0.2", "barcode.preferred_mm"),
        ("last_checked = 2026-03-02", "last_checked = 'today'", "last_checked"),
        ("last_checked = 2026-03-02", "last_checked =", "(whole file)"),
    ],
)
def test_a_broken_file_is_refused_with_its_place(tmp_path, old, new, place):
    assert old in GOOD
    path = tmp_path / "stocks.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataError) as refusal:
        load(path)
    assert (refusal.value.file, refusal.value.place) == ("stocks.toml", place)


def test_an_unknown_stock_is_refused_with_the_known_ones():
    with pytest.raises(DataError, match="roll-70x35"):
        stock("roll-1x1")

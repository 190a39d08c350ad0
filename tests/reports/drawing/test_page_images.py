"""Each kind of page looks as it did when somebody last looked at it.

What counts is that nothing moved by a millimetre, came or went; how a machine draws the edge of a
letter does not.
"""

from __future__ import annotations

from functools import cache

import pytest
from PIL import Image, ImageChops, ImageDraw, ImageStat

from tests.reports.drawing import page_images
from tests.reports.drawing.page_images import (
    DPI,
    FINER,
    FOLDER,
    PAGES,
    difference,
    image,
    reduced,
)
from tests.reports.examples import rendered, word_boxes

each_page = pytest.mark.parametrize("name", PAGES)
MM = DPI / 25.4
MOSTLY_BLACK = 130


@cache
def page(name: str) -> bytes:
    return PAGES[name]()


@cache
def drawn(name: str) -> Image.Image:
    return image(page(name))


@pytest.fixture
def apart(tmp_path, monkeypatch):
    """The folder of what is expected, with nothing but copies in it."""
    monkeypatch.setattr(page_images, "FOLDER", tmp_path)
    for name in PAGES:
        (tmp_path / f"{name}.png").write_bytes((FOLDER / f"{name}.png").read_bytes())
    return tmp_path


@each_page
def test_a_page_looks_as_expected(name):
    assert difference(name, drawn(name)) == 0


@each_page
def test_what_moved_by_a_millimetre_is_seen(name, apart):
    one = drawn(name)
    box = (0, one.height // 3, one.width, one.height)
    moved = one.copy()
    moved.paste(ImageChops.offset(one.crop(box), 0, round(MM + 0.5)), box[:2])
    assert difference(name, moved) > 0
    with Image.open(apart / f"{name}-difference.png") as left:
        assert left.size == one.size


def pixels(name: str) -> list[tuple[float, float, float, float]]:
    """The words of a page as boxes on its image: left, top, right, bottom."""
    scale, high = DPI / 72, drawn(name).height
    return [
        (left * scale, high - top * scale, right * scale, high - bottom * scale)
        for left, bottom, right, top in word_boxes(page(name))[0]
    ]


@each_page
def test_a_word_that_is_gone_is_seen(name, apart):
    words, gone = pixels(name), drawn(name).copy()
    ImageDraw.Draw(gone).rectangle(words[len(words) // 2], fill=255)
    assert difference(name, gone) > 0


@pytest.mark.parametrize(
    "name", ["record", "count-sheet-draft-letter", "label-100x50", "shelf-label"]
)
def test_a_word_that_is_gone_from_a_black_box_is_seen(name, apart):
    one = drawn(name)
    white = [box for box in pixels(name) if ImageStat.Stat(one.crop(box)).mean[0] < MOSTLY_BLACK]
    assert white
    gone = one.copy()
    ImageDraw.Draw(gone).rectangle(white[0], fill=0)
    assert difference(name, gone) > 0


@pytest.mark.parametrize("name", ["count-sheet", "label-70x35", "work-card"])
def test_another_machine_may_draw_the_edges_otherwise(name, apart):
    fine = rendered(page(name), DPI * FINER * 2)
    usual = rendered(page(name), DPI * FINER)
    assert difference(name, reduced(fine.resize(usual.size, Image.Resampling.BICUBIC))) == 0

"""Each kind of page looks as it did when somebody last looked at it.

What counts is that nothing moved by a millimetre, came or went; how a machine draws the edge of a
letter does not.
"""

from __future__ import annotations

from functools import cache

import pytest
from PIL import Image, ImageChops, ImageDraw

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


@each_page
def test_a_word_that_is_gone_is_seen(name, apart):
    words = word_boxes(page(name))[0]
    left, bottom, right, top = (at * DPI / 72 for at in words[len(words) // 2])
    gone = drawn(name).copy()
    high = gone.height
    ImageDraw.Draw(gone).rectangle((left, high - top, right, high - bottom), fill=255)
    assert difference(name, gone) > 0


@pytest.mark.parametrize("name", ["count-sheet", "label-70x35", "work-card"])
def test_another_machine_may_draw_the_edges_otherwise(name, apart):
    fine = rendered(page(name), DPI * FINER * 2)
    size = tuple(side // 2 for side in fine.size)
    other = reduced(fine.resize(size, Image.Resampling.BICUBIC)).resize(drawn(name).size)
    assert difference(name, other) == 0

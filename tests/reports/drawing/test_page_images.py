"""Each kind of page looks as it did when somebody last looked at it."""

from __future__ import annotations

import pytest
from PIL import Image, ImageChops

from tests.reports.drawing import page_images
from tests.reports.drawing.page_images import FOLDER, PAGES, difference, image


@pytest.mark.parametrize("name", PAGES)
def test_a_page_looks_as_expected(name):
    assert difference(name, image(PAGES[name]())) == 0


def test_a_moved_line_is_seen(tmp_path, monkeypatch):
    found = image(PAGES["list"]())
    (tmp_path / "list.png").write_bytes((FOLDER / "list.png").read_bytes())
    monkeypatch.setattr(page_images, "FOLDER", tmp_path)
    assert difference("list", ImageChops.offset(found, 0, 1)) > 0
    with Image.open(tmp_path / "list-difference.png") as left:
        assert left.size == found.size
